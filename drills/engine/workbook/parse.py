"""A workbook to a layout: every sheet is read to its end, then the layout stands or falls."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path

from drills.engine.layout import Layout, Point, StockLine
from drills.engine.workbook.cells import Row, Table
from drills.engine.workbook.columns import (
    KEY_LENGTH,
    LAYOUT_KEYS,
    MAX_LENGTH_M,
    NOTES_LENGTH,
    RESERVED_SLUGS,
    SHEETS,
)
from drills.engine.workbook.compartments import codes_of, read_compartments
from drills.engine.workbook.keyed import keyed, refuse_format, rows_in
from drills.engine.workbook.points import read_points, seats_of
from drills.engine.workbook.problems import Parsed, Report, quote
from drills.engine.workbook.stock import read_stock
from drills.engine.workbook.tables import Tables, read_tables
from drills.engine.workbook.tree import settle

SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
ASSUMED = "there are no points: a side door, a rear door, the cot and one seat are assumed"


def read_workbook(source: Path | bytes, *, name: str = "") -> Parsed:
    """A workbook of the form `readiness-layout/1` as a layout, with every problem at once.

    `source` is the path of an `.xlsx` file, a `.zip` or a folder of CSV files, or the bytes of
    such a file; `name` is the file name that came with the bytes. Whatever comes in, nothing is
    raised: the layout is None where there are problems.
    """
    report = Report()
    tables = read_tables(source, name, report)
    layout = _layout(tables, report) if tables is not None else None
    return Parsed(None if report.count else layout, report.problems, report.remarks)


def read_sheets(sheets: Mapping[str, Sequence[Sequence[str]]]) -> Parsed:
    """Sheets that are rows of text already, each under its header, by the rules of a workbook."""
    report = Report()
    tables = {
        sheet: Table(sheet, tuple(enumerate(map(tuple, rows), start=1)))
        for sheet, rows in sheets.items()
    }
    layout = _layout(tables, report)
    return Parsed(None if report.count else layout, report.problems, report.remarks)


def _layout(tables: Tables, report: Report) -> Layout:
    rows = {sheet: _rows(sheet, tables, report) for sheet in SHEETS}
    found = read_compartments(rows["compartments"])
    codes = codes_of(found)
    points = read_points(rows["points"], codes)
    seats = seats_of(rows["points"], points)
    compartments = settle(found, codes, seats)
    stock = read_stock(rows["stock"], codes)
    codes.tell()
    seats.codes.tell()
    _remark_gaps(points, stock, report)
    about = keyed(rows["layout"], "layout", LAYOUT_KEYS, report)
    refuse_format(about)
    name = about["name"].text("name", required=True)
    return Layout(
        name=name,
        slug=_slug(about["slug"], about["name"], name),
        body=about["body"].text("body"),
        length_m=_length_m(about["length_m"], "length_m"),
        width_m=_length_m(about["width_m"], "width_m"),
        height_m=_length_m(about["height_m"], "height_m"),
        notes=about["notes"].text("notes", limit=NOTES_LENGTH, lines=True),
        compartments=compartments,
        stock=stock,
        points=points,
    )


def _remark_gaps(points: tuple[Point, ...], stock: tuple[StockLine, ...], report: Report) -> None:
    if not points:
        report.remark("points", 0, "", ASSUMED)
    if not stock:
        report.remark("stock", 0, "", "there is no stock line, so there is nothing to ask for")


def _rows(sheet: str, tables: Tables, report: Report) -> list[Row]:
    rows = rows_in(tables, sheet, report, optional=sheet == "points")
    table = tables.get(sheet)
    if sheet == "compartments" and table and table.rows and not rows:
        report.refuse(sheet, 0, "", "no compartment", "at least one")
    return rows


def _slug(row: Row, name_row: Row, name: str) -> str:
    """The slug as given, or made from the name; refused where it is the address of a page."""
    if row.given("slug"):
        slug = row.text("slug", limit=KEY_LENGTH).lower()
        if slug and not SLUG.fullmatch(slug):
            row.refuse("slug", quote(slug), "letters a to z and digits with hyphens between")
    else:
        row, slug = name_row, slug_from(name)
        if name and not slug:
            accepted = "a row with the key slug, since none can be made from this name"
            row.refuse("name", quote(name), accepted)
    if slug in RESERVED_SLUGS:
        row.refuse("slug", quote(slug), f"any slug but {', '.join(RESERVED_SLUGS)}")
    return slug


def slug_from(name: str) -> str:
    """The name in plain lower-case letters and digits with hyphens between, possibly empty."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:KEY_LENGTH].strip("-")


def _length_m(row: Row, key: str) -> Decimal | None:
    return row.decimal(key, MAX_LENGTH_M)
