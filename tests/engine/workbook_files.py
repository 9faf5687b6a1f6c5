"""Workbooks built in code for the tests: a small good one, and every way of packing it."""

import csv
import zipfile
from collections.abc import Mapping
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook

LAYOUTS = Path(__file__).parents[2] / "fixtures" / "layouts"
DEMO = ("mesa-box", "mesa-box-rev2", "arroyo-van", "first-response-truck")
COMPARTMENT = (
    *("code", "name", "inside", "face", "x", "y", "w", "h", "also_face"),
    *("also_x", "also_y", "also_w", "also_h", "carried", "reach_from", "place"),
)
STOCK = (
    *("compartment", "item", "par", "unit", "category", "critical", "aliases"),
    *("presentation", "weight_kg", "need", "expires", "notes"),
)

Sheets = dict[str, list[list[Any]]]


def good() -> Sheets:
    """A small workbook with nothing wrong in it, as rows of cells by sheet."""
    return {
        "layout": [
            ["key", "value"],
            ["format", "readiness-layout/1"],
            ["name", "Test box"],
            ["body", "box"],
            ["length_m", "6.5"],
            ["notes", "first line\nsecond line"],
        ],
        "compartments": [
            list(COMPARTMENT),
            ["S1", "Street bay", "", "street", "0", "1", "4", "6", *[""] * 5, "no", "", "bay"],
            ["S2", "Street cabinet", "", "street", "4", "1", "4", "6", *[""] * 8],
            ["W1", "Wall cabinet", "", "interior-street", "0", "0", "12", "6", *[""] * 8],
            [
                *("BAG", "First-in bag", "W1", "", "0", "0", "4", "4"),
                *("curb", "0", "0", "4", "4", "one-hand", "ATT", ""),
            ],
            ["BAG-P", "Lid pocket", "BAG", *[""] * 13],
        ],
        "stock": [
            list(STOCK),
            ["S1", "Pry bar", "1", "each", "scene and incident", "no", "bar", "", "3.2", *[""] * 3],
            [
                *("BAG-P", "Naloxone", "2", "vial", "medicines", "yes", "", "2 mg / 2 mL"),
                *("", "naloxone", "2027-07-31", "two to a box"),
            ],
            ["W1", "Roller gauze", "6", "roll", "circulation and bleeding", *[""] * 7],
        ],
        "points": [
            ["code", "kind", "name", "face", "x", "y", "serves"],
            ["SIDE", "door", "Side door", "curb", "16", "6", "interior-street;floor"],
            ["ATT", "seat", "Attendant seat", "floor", "21.5", "5", ""],
            ["O2", "outlet", "Oxygen outlet", "interior-street", "3", "2", "W1"],
        ],
    }


def with_cell(sheet: str, row: int, column: str, value: object) -> Sheets:
    """The good workbook with one cell changed; rows count as a spreadsheet counts them."""
    sheets = good()
    rows = sheets[sheet]
    at = rows[0].index(column)
    rows[row - 1][at] = value
    return sheets


def with_row(sheet: str, *cells: object) -> Sheets:
    """The good workbook with one row more at the end of a sheet."""
    sheets = good()
    width = len(sheets[sheet][0])
    sheets[sheet].append([*cells, *[""] * (width - len(cells))])
    return sheets


def without(sheet: str) -> Sheets:
    """The good workbook with one sheet left out."""
    return {name: rows for name, rows in good().items() if name != sheet}


def as_csv(sheets: Sheets, *, delimiter: str = ",", newline: str = "\n") -> dict[str, bytes]:
    """The sheets as CSV files by name."""
    files = {}
    for name, rows in sheets.items():
        target = StringIO(newline="")
        csv.writer(target, delimiter=delimiter, lineterminator=newline).writerows(rows)
        files[f"{name}.csv"] = target.getvalue().encode()
    return files


def as_zip(files: Mapping[str, bytes], *, folder: str = "") -> bytes:
    """Files as an archive."""
    target = BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(folder + name), data, zipfile.ZIP_DEFLATED)
    return target.getvalue()


def csv_zip(sheets: Sheets) -> bytes:
    """The sheets as an archive of CSV files."""
    return as_zip(as_csv(sheets))


def as_xlsx(sheets: Sheets) -> bytes:
    """The sheets as a spreadsheet file; a text that starts with an equals sign is a formula."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append([None if cell == "" else cell for cell in row])
    target = BytesIO()
    workbook.save(target)
    return target.getvalue()


def parts_of(data: bytes) -> dict[str, bytes]:
    """The files of an archive by name."""
    with zipfile.ZipFile(BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def with_part(data: bytes, name: str, old: bytes, new: bytes) -> bytes:
    """A spreadsheet file with some bytes of one of its parts changed."""
    parts = parts_of(data)
    assert old in parts.get(name, b""), f"{name} holds no {old!r}"
    return as_zip({**parts, name: parts[name].replace(old, new)})
