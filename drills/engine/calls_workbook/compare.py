"""What of a call type is other than before, row by row.

Two rows are the same row changed where they are of the same thing: a need with its problem and
size, the patients of a problem, a phrase most of whose words stayed. What is left came or went.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from drills.engine.calls_workbook.columns import ABOUT, COLUMNS, NEEDS, PATIENTS, PHRASES
from drills.engine.calls_workbook.rows import Kept, cells_of

PARTS = (PHRASES, PATIENTS, NEEDS)
ABOUT_COLUMNS = tuple(each for each in COLUMNS[ABOUT][1:] if each != "reviewed_by")
ADDED, GONE, CHANGED, MOVED = "added", "gone", "changed", "in another order"
# What a row is of, by sheet: the most alike first.
_OF: Mapping[str, tuple[tuple[str, ...], ...]] = {
    NEEDS: (("need", "problem", "size", "severities"), ("need", "problem", "size"), ("need",)),
    PATIENTS: (("problem",),),
    PHRASES: (("text",),),
}
_NAMED = {NEEDS: "need", PATIENTS: "problem", PHRASES: "phrase"}
_ALIKE = 0.6  # so much of a phrase stayed: ours


@dataclass(frozen=True, slots=True)
class Step:
    """One row that comes, goes or changes, or all of a sheet in another order.

    `of` is what the row is of. `cells` are column, what it said and what it says: of a row that
    comes the former is empty, of one that goes the latter.
    """

    sheet: str
    what: str
    of: str = ""
    cells: tuple[tuple[str, str, str], ...] = ()


def compared(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Step, ...]:
    """All that is other, what the call type says of itself first; nothing where nothing is."""
    steps = []
    told = _cells(_about(before), _about(after))
    if told:
        steps.append(Step(ABOUT, CHANGED, "", told))
    for sheet in PARTS:
        steps += _rows(sheet, before[sheet], after[sheet])
    return tuple(steps)


def _about(kept: Mapping[str, Any]) -> dict[str, str]:
    told = cells_of(ABOUT, kept)
    return {column: told[column] for column in ABOUT_COLUMNS}


def _rows(sheet: str, before: Sequence[Kept], after: Sequence[Kept]) -> list[Step]:
    gone, come = _without(before, after), _without(after, before)
    if not gone + come:
        return [] if before == after else [Step(sheet, MOVED)]
    pairs = [(_taken(sheet, row, gone), row) for row in come]
    changed = [_step(sheet, CHANGED, was, row) for was, row in pairs if was is not None]
    added = [_step(sheet, ADDED, None, row) for was, row in pairs if was is None]
    return changed + added + [_step(sheet, GONE, row, None) for row in gone]


def _without(rows: Sequence[Kept], others: Sequence[Kept]) -> list[Kept]:
    return [row for row in rows if row not in others]


def _taken(sheet: str, row: Kept, gone: list[Kept]) -> Kept | None:
    """The row that went in whose place another came, no longer among those that are gone."""
    was = _same(sheet, row, gone)
    if was is not None:
        gone.remove(was)
    return was


def _same(sheet: str, row: Kept, gone: Sequence[Kept]) -> Kept | None:
    """The row that went in whose place another came."""
    for columns in _OF[sheet]:
        for was in gone:
            if all(was.get(column) == row.get(column) for column in columns):
                return was
    if sheet != PHRASES:
        return None
    alike = [(SequenceMatcher(None, was["text"], row["text"]).ratio(), was) for was in gone]
    share, was = max(alike, key=lambda each: each[0], default=(0.0, row))
    return was if share >= _ALIKE else None


def _step(sheet: str, what: str, before: Kept | None, after: Kept | None) -> Step:
    was = cells_of(sheet, before) if before is not None else {}
    told = cells_of(sheet, after) if after is not None else {}
    named = _NAMED[sheet]
    of = (was or told)[named]
    cells = _cells(was, told)
    return Step(sheet, what, of, cells if what == CHANGED else _but(named, cells))


def _but(named: str, cells: tuple[tuple[str, str, str], ...]) -> tuple[tuple[str, str, str], ...]:
    return tuple(each for each in cells if each[0] != named)


def _cells(was: Mapping[str, str], told: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    columns = list(told or was)
    pairs = ((each, was.get(each, ""), told.get(each, "")) for each in columns)
    return tuple(each for each in pairs if each[1] != each[2])
