"""The sheet of rules: who each is for, how much, and where it is from."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal

from drills.engine.formulary_workbook.amounts import choice, strength, volume, written
from drills.engine.formulary_workbook.book import Known, Packed, ProblemOf, Rule
from drills.engine.formulary_workbook.columns import (
    AMOUNT_LENGTH,
    CODE_LENGTH,
    CONFIRMED,
    FROM_MEMORY,
    KEY_LENGTH,
    LISTED,
    MAX_AGE_Y,
    MAX_MINUTES,
    MAX_TIMES,
    MAX_WEIGHT_KG,
    NAME_LENGTH,
    NOTES_LENGTH,
    STATUSES,
    TEXT_LENGTH,
    USUAL_ERROR_LIMIT,
    WORD_LENGTH,
)
from drills.engine.formulary_workbook.doses import read_dose
from drills.engine.formulary_workbook.medicines import KEY, Keys, is_one, named, refuse_doubles
from drills.engine.formulary_workbook.mixing import check_mixing, check_presentations, taken
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import quote

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
PROBLEM = re.compile(r"([a-z0-9]+(?:-[a-z0-9]+)*)((?:[ ,]+[0-9]{1,2})*)")
NOT_APPROVABLE = "so the rule cannot be approved"
PLACES = 3  # decimals of an age or a weight


def read_rules(
    rows: list[Row], keys: tuple[Keys, Keys], packed: Iterable[Packed], to: Known
) -> tuple[Rule, ...]:
    """The rules. `keys` are those that rows of the medicines and of the presentations have, and
    `packed` the presentations that could be read."""
    by_key = {each.key: each for each in packed if each.key}
    found = tuple(_rule(row, keys, by_key, to) for row in rows)
    refuse_doubles(rows, "code", [each.code for each in found])
    return found


def _rule(row: Row, keys: tuple[Keys, Keys], packed: Mapping[str, Packed], to: Known) -> Rule:
    medicines, presentations = keys
    dose = read_dose(row)
    rule = Rule(
        code=_code(row),
        medicine=named(row, "medicine", medicines, "a key of the medicines sheet", required=True),
        presentations=_presentations(row, presentations),
        level=_level(row, to),
        indication=row.text("indication", limit=TEXT_LENGTH, required=True),
        problems=_problems(row, to),
        population=row.text("population", limit=WORD_LENGTH),
        age_from_y=_bound(row, "age_from_y", MAX_AGE_Y),
        age_below_y=_bound(row, "age_below_y", MAX_AGE_Y),
        weight_from_kg=_bound(row, "weight_from_kg", MAX_WEIGHT_KG),
        weight_below_kg=_bound(row, "weight_below_kg", MAX_WEIGHT_KG),
        route=row.text("route", limit=AMOUNT_LENGTH, required=True),
        basis=dose.basis,
        dose=written(dose.low),
        dose_high=written(dose.high),
        minimum=written(dose.minimum),
        maximum=written(dose.maximum),
        max_total=written(dose.total),
        repeat_min=_whole(row, "repeat_min", 1, MAX_MINUTES),
        repeat_times=_whole(row, "repeat_times", 0, MAX_TIMES),
        repeat_note=row.text("repeat_note", limit=TEXT_LENGTH),
        over_min=_whole(row, "over_min", 1, MAX_MINUTES),
        over_note=row.text("over_note", limit=TEXT_LENGTH),
        dilution=row.text("dilution", limit=TEXT_LENGTH),
        take=written(taken(row)),
        diluent=row.text("diluent", limit=WORD_LENGTH),
        diluent_volume=volume(row, "diluent_volume"),
        final_strength=_short(row, strength(row, "final_strength")),
        mixed=row.yes("mixed"),
        error_limit=_whole(row, "error_limit", 1, USUAL_ERROR_LIMIT - 1),
        source=row.text("source", limit=TEXT_LENGTH),
        version=row.text("version", limit=WORD_LENGTH),
        page=row.text("page", limit=WORD_LENGTH),
        date=row.day("date"),
        status=_status(row),
        reviewed_by=row.text("reviewed_by", limit=NAME_LENGTH),
        notes=row.text("notes", limit=NOTES_LENGTH),
    )
    _refuse_windows(row, rule)
    check_presentations(row, rule, packed)
    check_mixing(row, rule, packed)
    _remark_source(row, rule)
    return rule


def _code(row: Row) -> str:
    text = row.text("code", limit=CODE_LENGTH, required=True)
    if text and not CODE.fullmatch(text):
        row.refuse("code", quote(text), "letters, digits, hyphens and points, such as D001")
        return ""
    return text


def _presentations(row: Row, keys: Keys) -> tuple[str, ...]:
    named_here = row.listed("presentations", limit=KEY_LENGTH, most=LISTED)
    return tuple(
        each.lower()
        for each in named_here
        if is_one(row, "presentations", each.lower(), keys, "keys of the presentations sheet")
    )


def _level(row: Row, to: Known) -> str:
    level = row.text("level", limit=KEY_LENGTH, required=True).lower().replace(" ", "-")
    if level and level not in to.levels:
        row.refuse("level", quote(level), f"one of {', '.join(to.levels)}")
        return ""
    return level


def _problems(row: Row, to: Known) -> tuple[ProblemOf, ...]:
    """`hypoglycaemia 2 3; arrest-child`: keys, each with its severities where not all are meant."""
    found: dict[str, tuple[int, ...]] = {}
    for each in row.listed("problems", limit=KEY_LENGTH, most=LISTED):
        match = PROBLEM.fullmatch(each.lower())
        if match is None or not KEY.fullmatch(match[1]):
            accepted = "keys of problems with their severities, such as hypoglycaemia 2 3; seizure"
            row.refuse("problems", quote(each), accepted)
            continue
        severities = tuple(sorted({int(part) for part in re.findall("[0-9]+", match[2])}))
        if match[1] in found:
            row.refuse("problems", f"{quote(match[1])} for the second time", "each problem once")
        elif match[1] not in to.problems:
            row.remark("problems", f"no rule here spoke of {quote(match[1])} before")
        found[match[1]] = severities
    return tuple(found.items())


def _bound(row: Row, column: str, most: int) -> Decimal | None:
    found = row.decimal(column, most, zero=True)
    if found is not None and -int(found.as_tuple().exponent) > PLACES:
        row.refuse(column, quote(row.text(column)), f"a number with at most {PLACES} decimals")
        return None
    return found


def _whole(row: Row, column: str, least: int, most: int) -> int | None:
    return row.whole(column, least, most) if row.given(column) else None


def _short(row: Row, text: str) -> str:
    if len(text) <= AMOUNT_LENGTH:
        return text
    row.refuse("final_strength", quote(text), f"at most {AMOUNT_LENGTH} characters")
    return ""


def _refuse_windows(row: Row, rule: Rule) -> None:
    for start, below, unit in (
        ("age_from_y", "age_below_y", "years"),
        ("weight_from_kg", "weight_below_kg", "kg"),
    ):
        first, last = getattr(rule, start), getattr(rule, below)
        if first is not None and last is not None and last <= first:
            row.refuse(below, f"{last}, and {start} is {first}", f"more {unit} than {start} says")
        elif first is None and last == 0:
            row.refuse(below, "0, which nobody is below", f"more than 0 {unit}")


def _status(row: Row) -> str:
    found = choice(row, "status", STATUSES)
    if not found and not row.given("status"):
        row.remark("status", f"nothing is said, which counts as {FROM_MEMORY}")
    return found or FROM_MEMORY


def _remark_source(row: Row, rule: Rule) -> None:
    """What an approval will ask for is only remarked: a draft may still be worked on."""
    lacks = [name for name in ("source", "version", "page", "date") if not getattr(rule, name)]
    if lacks:
        row.remark(lacks[0], f"no {' and no '.join(lacks)}, {NOT_APPROVABLE}")
    elif rule.status != CONFIRMED:
        row.remark("status", f"{rule.status}, {NOT_APPROVABLE}")
