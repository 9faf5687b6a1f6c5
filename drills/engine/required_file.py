"""A list of required equipment as a CSV file: one row for each thing it asks, read and written.

The form is ours, written as `headed` reads it.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from drills.engine.headed import Headed, read_headed, write_headed
from drills.engine.required import (
    MANDATORY,
    MAX_QUANTITY,
    NOTATION,
    OPTIONAL,
    UNSAID,
    Requirement,
    Wanted,
    read_wanted,
    write_wanted,
)
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import Problem, Remark, Report, quote

SOURCE, LEVEL, ITEM, QUANTITY = "source", "level", "item", "min quantity"
UNIT, OBLIGATION, STATUS, NEEDS = "unit", "mandatory/optional", "status", "needs"
COLUMNS = (SOURCE, LEVEL, ITEM, QUANTITY, UNIT, OBLIGATION, STATUS, NEEDS)
NEEDED = (SOURCE, ITEM)

TEXT_LENGTH, ITEM_LENGTH, WORD_LENGTH, NEEDS_LENGTH = 160, 200, 60, 1_200
NO_NEED = "none"  # what a row says that nothing aboard can answer
MAX_ROWS = 2_000

_BY_NAME = {column: column for column in COLUMNS} | {
    "min qty": QUANTITY,
    "minimum quantity": QUANTITY,
    "mandatory": OBLIGATION,
    "mandatory or optional": OBLIGATION,
}
_FORM = Headed(
    by_name=_BY_NAME,
    needed=NEEDED,
    most=MAX_ROWS,
    of="in one list",
    empty=f"a header row with {', '.join(NEEDED)} and rows under it",
    overhang="a name with a comma stands in quotes",
    wants_rows=True,
)
_OBLIGATIONS = {
    "": UNSAID,
    "not said": UNSAID,
    "unknown": UNSAID,
    "mandatory": MANDATORY,
    "yes": MANDATORY,
    "optional": OPTIONAL,
    "no": OPTIONAL,
}


@dataclass(frozen=True, slots=True)
class RequiredFile:
    """A file as read. A row with a problem is among the rows too, so that all else in it can be
    checked as well; nothing may be stored while there is a problem.

    `ties` are the needs of the rows that name any, by the key of the row; of one that says that no
    need answers it, none.
    """

    rows: tuple[Requirement, ...]
    ties: Mapping[tuple[str, str], Wanted]
    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]


def read_required(data: bytes, need_of: Callable[[str], str]) -> RequiredFile:
    """Every row of the file, every problem and every remark.

    `need_of` gives the key of the need that some words name, or nothing. Raises nothing: whatever
    is wrong is a problem with its row and column.
    """
    report = Report()
    rows: list[Requirement] = []
    ties: dict[tuple[str, str], Wanted] = {}
    for line in read_headed(data, _FORM, report):
        rows.append(_requirement(line))
        wanted = _wanted(line, need_of)
        if wanted is not None:
            ties[rows[-1].key] = wanted
    _refuse_doubles(rows, report)
    return RequiredFile(tuple(rows), ties, report.problems, report.remarks)


def write_required(rows: Iterable[tuple[Requirement, Wanted | None]]) -> bytes:
    """Rows with their ties, None where nothing is decided, as `read_required` reads them back."""
    cells = (
        (
            *(row.source, row.level, row.item, row.quantity or "", row.unit),
            *("" if row.obligation == UNSAID else row.obligation, row.status),
            "" if wanted is None else write_wanted(wanted) or NO_NEED,
        )
        for row, wanted in rows
    )
    return write_headed(COLUMNS, cells)


def _requirement(row: Row) -> Requirement:
    obligation = _obligation(row)
    return Requirement(
        row=row.number,
        source=row.text(SOURCE, limit=TEXT_LENGTH, required=True),
        item=row.text(ITEM, limit=ITEM_LENGTH, required=True),
        level=row.text(LEVEL, limit=WORD_LENGTH),
        quantity=_quantity(row, obligation),
        unit=row.text(UNIT, limit=WORD_LENGTH),
        obligation=obligation,
        status=row.text(STATUS, limit=TEXT_LENGTH),
    )


def _obligation(row: Row) -> str:
    text = row.text(OBLIGATION)
    found = _OBLIGATIONS.get(text.casefold())
    if found is None:
        row.refuse(OBLIGATION, quote(text), "mandatory or optional, or nothing where it is unsaid")
    return found or UNSAID


def _quantity(row: Row, obligation: str) -> int | None:
    """Digits alone: a sign between them may part thousands as well as decimals."""
    text = row.text(QUANTITY)
    if not text or (obligation == OPTIONAL and text == "0"):
        return None
    if re.fullmatch("[0-9]{1,5}", text) and 1 <= int(text) <= MAX_QUANTITY:
        return int(text)
    row.refuse(
        QUANTITY,
        quote(text),
        f"a whole number from 1 to {MAX_QUANTITY} in digits alone, nothing where the list gives no "
        "number, or 0 of what is optional",
    )
    return None


def _wanted(row: Row, need_of: Callable[[str], str]) -> Wanted | None:
    text = row.text(NEEDS, limit=NEEDS_LENGTH)
    if not text:
        return None
    if text.casefold() == NO_NEED:
        return ()
    try:
        return read_wanted(text, need_of)
    except ValueError as refused:
        accepted = f"{NOTATION}, of needs that are here, or {NO_NEED}. {refused}"
        row.refuse(NEEDS, quote(text), accepted)
        return None


def _refuse_doubles(rows: list[Requirement], report: Report) -> None:
    first: dict[tuple[str, str], int] = {}
    for each in rows:
        if not each.item:
            continue
        if each.key in first:
            got = f"{quote(each.item)} of this level again, as in row {first[each.key]}"
            report.refuse("", each.row, ITEM, got, "each item once at a level")
        first.setdefault(each.key, each.row)
