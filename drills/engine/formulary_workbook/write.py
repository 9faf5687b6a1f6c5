"""A formulary to a workbook, in the form it is read from.

The same formulary always gives the same bytes, and reading them gives back an equal one.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from drills.engine.formulary_workbook.book import Book
from drills.engine.formulary_workbook.columns import COLUMNS, FORMAT, KEYS
from drills.engine.workbook.archive import pack
from drills.engine.workbook.cells import shortest
from drills.engine.workbook.csvtext import write_files
from drills.engine.workbook.sheets import Value, write_blank, write_sheets

Rows = list[tuple[Value, ...]]


def to_csv(book: Book) -> Mapping[str, bytes]:
    """The workbook as CSV files by name."""
    return write_files(sheets_of(book))


def to_zip(book: Book) -> bytes:
    """The workbook as an archive of its CSV files."""
    return pack(to_csv(book))


def to_xlsx(book: Book) -> bytes:
    """The workbook as a spreadsheet: texts as text, numbers as numbers, never a formula."""
    return write_sheets(sheets_of(book))


def blank_book() -> bytes:
    """The spreadsheet with every sheet and header, the format filled in and nothing else."""
    return write_blank(COLUMNS, about="formulary", keys=KEYS, told=FORMAT)


def sheets_of(book: Book) -> dict[str, Rows]:
    """The rows of each sheet, its header first."""
    about: Rows = [(key, FORMAT if key == "format" else _cell(getattr(book, key))) for key in KEYS]
    rows: dict[str, Rows] = {"formulary": about}
    for sheet in ("medicines", "presentations", "rules"):
        rows[sheet] = [
            tuple(_cell(getattr(each, column)) for column in COLUMNS[sheet])
            for each in getattr(book, sheet)
        ]
    return {sheet: [COLUMNS[sheet], *below] for sheet, below in rows.items()}


def _cell(value: Any) -> Value:
    """A value as its column is read."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "; ".join(map(_part, value))
    if isinstance(value, Decimal):
        return shortest(value)
    if isinstance(value, date):
        return value.isoformat()
    return "" if value is None else value


def _part(of: str | tuple[str, tuple[int, ...]]) -> str:
    """One of a list: a key, or a problem with the severities that are meant."""
    if isinstance(of, str):
        return of
    problem, severities = of
    return " ".join((problem, *map(str, severities)))
