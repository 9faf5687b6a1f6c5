"""What one row of a call type says, as it is kept, and the cells that say it.

One set of rules for a workbook and for a row that is written on a page: whatever is wrong is a
problem with its column, what came in and what would be accepted.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from string import Formatter
from typing import Any

from drills.engine.arriving.tables import HAZARDS, RESOURCES
from drills.engine.calls import ANY_SIZE, CALL, GRADES, PATIENT
from drills.engine.calls_workbook.columns import (
    ABOUT,
    ALWAYS,
    COLUMNS,
    DRAWN,
    FORM,
    HOLES,
    LISTED,
    MAX_AGE_Y,
    MOST_PATIENTS,
    MOST_QUANTITY,
    MOST_SHARE,
    NAME_LENGTH,
    NEEDS,
    OWNER_LENGTH,
    PATIENTS,
    PHRASE_LENGTH,
    PHRASES,
    PRIORITIES,
    ROADS,
    SCENE_LENGTH,
    SEVERITIES,
    SIZE_UP_LENGTH,
    TEXT_LENGTH,
    WORD_LENGTH,
    Known,
)
from drills.engine.staying import BUILT_IN
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import Problem, Report, quote

# A row of a call type as plain data, such as a column of the database holds.
Kept = dict[str, Any]

SHARE = re.compile(r"([a-z]+)\s*[ =]\s*([0-9]{1,4})")


def judged(sheet: str, cells: Mapping[str, str], known: Known) -> tuple[Kept, tuple[Problem, ...]]:
    """One row that was written on a page, and whatever is wrong with it, by column."""
    report = Report(FORM)
    kept = READERS[sheet](Row(sheet, 0, cells, report), known)
    return kept, report.problems


def cells_of(sheet: str, kept: Mapping[str, Any]) -> dict[str, str]:
    """The cells that say what is kept, by column, without the call type that it is of."""
    return {column: _cell(column, kept) for column in COLUMNS[sheet][1:]}


def _about(row: Row, known: Known) -> Kept:
    least = row.whole("patients_least", 1, MOST_PATIENTS)
    most = row.whole("patients_most", 1, MOST_PATIENTS)
    if least and most and most < least:
        row.refuse("patients_most", str(most), f"{least} or more, as patients_least says")
    date = row.day("date")
    if not row.given("date"):
        row.refuse("date", "no value", "the day its source is of, such as 2026-11-28")
    return {
        "name": row.text("name", limit=NAME_LENGTH, required=True),
        "priority": _one_of(row, "priority", PRIORITIES),
        "patients_least": least,
        "patients_most": most,
        "scene": row.text("scene", limit=SCENE_LENGTH, required=True),
        "size_up": row.text("size_up", limit=SIZE_UP_LENGTH, required=True),
        "hazards": list(row.listed("hazards", limit=WORD_LENGTH, most=LISTED)),
        **_pair(row, "hazards_here", "hazards_possible", HAZARDS),
        **_pair(row, "asks_for", "may_ask_for", RESOURCES),
        "road_kinds": _some_of(row, "road_kinds", ROADS),
        "source": row.text("source", limit=TEXT_LENGTH, required=True),
        "owner": row.text("owner", limit=OWNER_LENGTH, required=True),
        "date": date.isoformat() if date else "",
    }


def _phrase(row: Row, known: Known) -> Kept:
    text = row.text("phrase", limit=PHRASE_LENGTH, required=True)
    accepted = f"a sentence whose holes are {', '.join(f'{{{each}}}' for each in HOLES)}"
    try:
        holes = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        holes = [text]
    if strange := [each for each in holes if each not in HOLES]:
        row.refuse("phrase", quote(f"{{{strange[0]}}}"), accepted)
    severities = _severities(row)
    kept: Kept = {
        "text": text,
        "age_bands": _some_of(row, "age_bands", known.bands),
        "problems": _problems(row, "problems", known),
    }
    return kept | ({"severities": severities} if severities else {})


def _patient(row: Row, known: Known) -> Kept:
    is_always = _one_of(row, "presence", (ALWAYS, DRAWN), default=DRAWN) == ALWAYS
    first, last = _age(row, "age_from_y"), _age(row, "age_to_y")
    if first is not None and last is not None and last <= first:
        row.refuse("age_to_y", str(last), f"more years than {first}, which age_from_y says")
    weight = None if is_always else _number(row, "weight", 1, MOST_SHARE, default=1)
    return {
        "problem": _problem(row, "problem", known, required=True),
        "age_bands": _shares(row, known),
        "age_from_y": first,
        "age_to_y": last,
        "female_share": _share(row, "female_share"),
        "is_always": is_always,
        "weight": weight,
        "severities": _severities(row, required=True),
    }


def _need(row: Row, known: Known) -> Kept:
    severities = _severities(row)
    kept: Kept = {
        "problem": _problem(row, "problem", known),
        "size": _one_of(row, "size", (ANY_SIZE, *known.sizes), default=ANY_SIZE),
        "need": _need_named(row, known),
        "grade": _one_of(row, "grade", GRADES),
        "quantity": row.whole("quantity", 1, MOST_QUANTITY),
        "per": _one_of(row, "per", (CALL, PATIENT)),
        "level": _level(row, known),
        "serves_instead": _needs(row, "serves_instead", known),
        "wrong_grab": _needs(row, "wrong_grab", known),
        "why": row.text("why", limit=TEXT_LENGTH),
    }
    for column in ("serves_instead", "wrong_grab"):
        if kept["need"] and kept["need"] in kept[column]:
            row.refuse(column, quote(kept["need"]), "other needs than the one of this row")
    if both := sorted({*kept["serves_instead"]} & {*kept["wrong_grab"]}):
        row.refuse("wrong_grab", quote(both[0]), "needs that do not serve instead")
    return kept | ({"severities": severities} if severities else {})


READERS: Mapping[str, Callable[[Row, Known], Kept]] = {
    ABOUT: _about,
    PHRASES: _phrase,
    PATIENTS: _patient,
    NEEDS: _need,
}


def _one_of(row: Row, column: str, words: Iterable[str], *, default: str = "") -> str:
    """One word; an empty cell is a problem where there is no default."""
    words = tuple(words)
    if not row.given(column) and not default:
        row.refuse(column, "no value", f"one of {', '.join(words)}")
        return ""
    return row.word(column, words, default=default)


def _pair(row: Row, column: str, other: str, words: Collection[str]) -> Kept:
    """Two lists of the same words, none of them in both, in the order of the words."""
    found, others = (_some_of(row, each, words, most=len(words)) for each in (column, other))
    if both := [each for each in found if each in others]:
        row.refuse(other, quote(both[0]), f"none that stands under {column}")
    return {
        column: [each for each in words if each in found],
        other: [each for each in words if each in others],
    }


def _some_of(row: Row, column: str, words: Iterable[str], *, most: int = LISTED) -> list[str]:
    words = tuple(words)
    found = [each.casefold() for each in row.listed(column, limit=WORD_LENGTH, most=most)]
    if strange := [each for each in found if each not in words]:
        accepted = f"some of {', '.join(words)}, with semicolons between"
        row.refuse(column, quote(strange[0]), accepted)
    return found


def _problem(row: Row, column: str, known: Known, *, required: bool = False) -> str:
    key = row.text(column, limit=WORD_LENGTH, required=required).casefold()
    if key and key not in known.problems:
        row.refuse(column, quote(key), "the key of a problem, such as limb-bleed")
    return key


def _problems(row: Row, column: str, known: Known) -> list[str]:
    found = [each.casefold() for each in row.listed(column, limit=WORD_LENGTH, most=LISTED)]
    if strange := [each for each in found if each not in known.problems]:
        row.refuse(column, quote(strange[0]), "keys of problems, such as limb-bleed; amputation")
    return found


def _need_named(row: Row, known: Known) -> str:
    words = row.text("need", required=True)
    key = known.need_of(words) if words else ""
    if words and not key:
        row.refuse("need", quote(words), "the key or the name of a need that is here")
    _refuse_built_in(row, "need", words, key)
    return key


def _refuse_built_in(row: Row, column: str, words: str, key: str) -> None:
    if key in BUILT_IN:
        row.refuse(column, quote(words), f"a need that can be brought; {BUILT_IN[key].why}")


def _needs(row: Row, column: str, known: Known) -> list[str]:
    found = []
    for words in row.listed(column, limit=WORD_LENGTH * 2, most=LISTED):
        key = known.need_of(words)
        if not key:
            row.refuse(column, quote(words), "keys or names of needs that are here")
        elif column == "serves_instead" and key in BUILT_IN:
            _refuse_built_in(row, column, words, key)
        elif key not in found:
            found.append(key)
    return found


def _level(row: Row, known: Known) -> str:
    level = row.text("level", limit=WORD_LENGTH).casefold().replace(" ", "-")
    if level and level not in known.levels:
        row.refuse("level", quote(level), f"one of {', '.join(known.levels)}, or nothing")
    return level


def _severities(row: Row, *, required: bool = False) -> list[int]:
    accepted = "some of 1, 2 and 3 with semicolons between, 1 being mild"
    found = row.listed("severities", limit=WORD_LENGTH, most=LISTED)
    if strange := [each for each in found if each not in map(str, SEVERITIES)]:
        row.refuse("severities", quote(strange[0]), accepted)
        return []
    if required and not found and not row.given("severities"):
        row.refuse("severities", "no value", accepted)
    return sorted(map(int, found))


def _shares(row: Row, known: Known) -> dict[str, int]:
    accepted = f"age bands with their shares, such as adult 5; older 2, of {', '.join(known.bands)}"
    found: dict[str, int] = {}
    for each in row.listed("age_bands", limit=WORD_LENGTH, most=LISTED):
        match = SHARE.fullmatch(each.casefold())
        if match is None or match[1] not in known.bands or not int(match[2]):
            row.refuse("age_bands", quote(each), accepted)
        elif match[1] in found:
            row.refuse("age_bands", f"{quote(match[1])} for the second time", "each band once")
        else:
            found[match[1]] = int(match[2])
    if not row.given("age_bands"):
        row.refuse("age_bands", "no value", accepted)
    return found


def _age(row: Row, column: str) -> float | None:
    found = row.decimal(column, MAX_AGE_Y, zero=True)
    return None if found is None else _plain(found)


def _share(row: Row, column: str) -> float:
    if not row.given(column):
        return 0.5
    found = row.decimal(column, 1, zero=True)
    return 0.5 if found is None else float(found)


def _number(row: Row, column: str, least: int, most: int, *, default: int) -> int | None:
    return row.whole(column, least, most) if row.given(column) else default


def _plain(number: Any) -> float:
    return int(number) if number == int(number) else float(number)


def _cell(column: str, kept: Mapping[str, Any]) -> str:
    if column == "presence":
        return ALWAYS if kept["is_always"] else DRAWN
    value = kept.get({"phrase": "text"}.get(column, column))
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {share}" for key, share in value.items())
    if isinstance(value, list | tuple):
        return "; ".join(map(str, value))
    return "" if value is None else str(value)
