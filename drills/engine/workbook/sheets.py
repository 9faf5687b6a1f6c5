"""A spreadsheet file to rows of cells and back.

A formula is not a value: whoever reads it would have to trust a figure that some other program
worked out, so it is handed on as unreadable, and so is an error. A date becomes an ISO date.
"""

import re
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO
from itertools import islice
from typing import Any
from zipfile import ZIP_STORED, ZipFile

from openpyxl import Workbook, load_workbook

from drills.engine.workbook.archive import pack
from drills.engine.workbook.cells import Cell, Unreadable, number_text
from drills.engine.workbook.columns import MAX_COLUMNS
from drills.engine.workbook.csvtext import GUARDED
from drills.engine.workbook.parts import MAX_CELLS, TooLargeError, weigh
from drills.engine.workbook.problems import quote

Value = str | int | Decimal
Rows = Iterator[tuple[int, list[Cell]]]

MADE = b"2000-01-01T00:00:00Z"  # the moment every written file names
SAVED = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")
DIGITS = 15  # as many as a spreadsheet shows; further ones are noise of the binary fraction


@contextmanager
def opened(parts: Mapping[str, bytes]) -> Iterator[list[tuple[str, Rows]]]:
    """The sheets of an unpacked spreadsheet, each with its name and rows.

    Raises `TooLargeError`, and whatever the reading library raises on files that are not quite
    spreadsheets.
    """
    texts = _texts(parts)
    weigh(texts)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about features that are not read anyway
        source = BytesIO(pack(texts, method=ZIP_STORED))
        workbook = load_workbook(source, read_only=True, keep_links=False)
        try:
            yield [(str(sheet.title), _rows(sheet)) for sheet in workbook.worksheets]
        finally:
            workbook.close()


def write_blank(
    columns: Mapping[str, Sequence[str]], *, about: str, keys: Iterable[str], told: str
) -> bytes:
    """A spreadsheet with every sheet and header, what it is `told` as its format, and nothing else.

    `about` is the sheet that says something of the whole, a key in each row.
    """
    sheets: dict[str, list[Sequence[Value]]] = {name: [header] for name, header in columns.items()}
    sheets[about] = [columns[about], *((key, told if key == "format" else "") for key in keys)]
    return write_sheets(sheets)


def write_sheets(sheets: Mapping[str, Iterable[Iterable[Value]]]) -> bytes:
    """The sheets as a spreadsheet file; the same rows always give the same bytes."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, rows in sheets.items():
        sheet = workbook.create_sheet(title)
        sheet.freeze_panes = "A2"
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row, start=1):
                if value != "":
                    _fill(sheet.cell(number, column), value)
    return _without_clock(workbook)


def _texts(parts: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: part for name, part in parts.items() if name.endswith((".xml", ".rels"))}


def _rows(sheet: Any) -> Rows:
    """The rows of a sheet opened for reading only, a class that the library keeps to itself."""
    sheet.reset_dimensions()  # what a file says of its own size may be anything
    made = 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        made += len(cells)  # a cell far to the right makes all those before it
        if made > MAX_CELLS * 5:
            raise TooLargeError("a sheet with cells too far to the right", f"{MAX_COLUMNS} columns")
        read = [_cell(cell.value, cell.data_type) for cell in cells[:MAX_COLUMNS]]
        beyond = (cell for cell in cells[MAX_COLUMNS:] if cell.value is not None)
        yield number, read + [_cell(cell.value, cell.data_type) for cell in islice(beyond, 1)]


def _cell(value: object, kind: str) -> Cell:
    if kind == "f":
        return Unreadable(f"a formula ({quote(str(getattr(value, 'text', value)))})")
    if kind == "e":
        return Unreadable(f"an error ({value})")
    if isinstance(value, str):
        return ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)
    return _plain(value)


def _plain(value: object) -> str:
    if isinstance(value, bool | None):
        return {None: "", True: "yes", False: "no"}[value]
    if isinstance(value, float):
        exact = Decimal(f"{value:.{DIGITS}g}")
        return number_text(exact) if exact.is_finite() else str(value)
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value)


def _fill(cell: Any, value: Value) -> None:
    if not isinstance(value, str):
        cell.value = float(value)
        return
    cell.value = ESCAPED.sub(r"_x005F\g<0>", value)
    cell.data_type = "s"  # else a leading equals sign would make it a formula
    if GUARDED.match(value):
        cell.quotePrefix = True  # stays text even when somebody edits it


def _without_clock(workbook: Workbook) -> bytes:
    """The bytes of the workbook with the moment of saving taken out."""
    target = BytesIO()
    workbook.save(target)
    with ZipFile(target) as archive:
        parts = {entry.filename: archive.read(entry) for entry in archive.infolist()}
    parts["docProps/core.xml"] = SAVED.sub(rb"\g<1>" + MADE, parts["docProps/core.xml"])
    return pack(parts)
