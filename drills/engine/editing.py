"""Changes to a layout, one row at a time, by the rules of the workbook.

A compartment, a point or a stock line is changed as the row it would be in a workbook: by the
names of its columns, in text. What a workbook could not say no change can make, and every problem
is named by its column. Each function gives a new layout, or raises `EditError`.
"""

import csv
from collections.abc import Sequence
from io import StringIO

from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH, Layout, Rect, StockLine, item_key, joined
from drills.engine.rows import (
    PLACES,
    POINTS,
    STOCK,
    Cells,
    EditError,
    Sheets,
    cells_of,
)
from drills.engine.workbook.cells import as_word
from drills.engine.workbook.columns import COLUMNS
from drills.engine.workbook.csvtext import delimiter_of, unguard
from drills.engine.workbook.problems import quote
from drills.engine.workbook.stock import OF_THE_ITEM

USUAL_SIZE = 4, 3  # of a compartment that came without one, in units of the grid

# Cells elsewhere that name a compartment: its code may change, and they go with it.
_NAMED_IN = ((PLACES, "inside"), (STOCK, "compartment"), (POINTS, "serves"))
_OF_A_LINE = tuple(column for column in COLUMNS[STOCK] if column != "compartment")
_SIDES = ("x", "y", "w", "h")
_DIGITS = 4  # more than the grid has


def add_place(layout: Layout, cells: Cells) -> Layout:
    """Add a compartment; one at the top without a rectangle gets a free spot of its face."""
    sheets = Sheets.of(layout)
    row = _blank(PLACES) | dict(cells) | {"place": _key_beside(layout, cells.get("code", ""))}
    _put_somewhere(layout, row)
    at = _after_siblings(sheets.rows[PLACES], row["inside"])
    sheets.rows[PLACES].insert(at, row)
    return sheets.read(PLACES, at)


def change_place(layout: Layout, code: str, cells: Cells) -> Layout:
    """Change what a compartment is and where; whatever names its code goes with it, and what is
    drawn within moves along with its corner."""
    sheets = Sheets.of(layout)
    at = sheets.at(PLACES, code)
    row = sheets.rows[PLACES][at]
    was = dict(row)
    row |= cells
    if row["inside"].strip() != was["inside"]:
        _let_go(row, was)
    elif row["face"] == was["face"]:
        _move_within(sheets, layout, code, x=_step(was["x"], row["x"]), y=_step(was["y"], row["y"]))
    _put_somewhere(layout, row)
    if row["code"] != code:
        _rename(sheets, code, row["code"])
    return sheets.read(PLACES, at)


def shift_place(
    layout: Layout, code: str, *, x: int = 0, y: int = 0, w: int = 0, h: int = 0
) -> Layout:
    """Move a rectangle or stretch it, in units of the grid; what is drawn within moves along."""
    if layout.by_code.get(code) is None or layout.by_code[code].rect is None:
        raise EditError({"": f"{quote(code)} has no rectangle to move. Give it one first."})
    sheets = Sheets.of(layout)
    at = sheets.at(PLACES, code)
    _shift(sheets.rows[PLACES][at], x=x, y=y, w=w, h=h)
    _move_within(sheets, layout, code, x=x, y=y)
    return sheets.read(PLACES, at)


def put_rect(layout: Layout, code: str, sides: Cells) -> Layout:
    """Give a rectangle whole; what is drawn within moves along as far as the corner moves."""
    sheets = Sheets.of(layout)
    was = sheets.rows[PLACES][sheets.at(PLACES, code)]
    for side in _SIDES:
        text = sides.get(side, "")
        if not (text.isascii() and text.isdecimal() and len(text) <= _DIGITS):
            wanted = "whole numbers for x, y, w and h, on a grid of 24 by 12"
            raise EditError({"": f"{quote(text)} came in for {side}; accepted are {wanted}."})
    if not was["x"]:
        return change_place(layout, code, {side: sides[side] for side in _SIDES})
    return shift_place(layout, code, **{side: int(sides[side]) - int(was[side]) for side in _SIDES})


def remove_place(layout: Layout, code: str) -> Layout:
    """Take a compartment out, with all that lies in it; points no longer serve it."""
    sheets = Sheets.of(layout)
    sheets.at(PLACES, code)
    gone = {
        each.code
        for each in layout.compartments
        if any(above.code == code for above in layout.chain(each.code))
    }
    kept = [row for row in sheets.rows[PLACES] if row["code"] not in gone]
    sheets.rows[PLACES] = kept
    sheets.rows[STOCK] = [row for row in sheets.rows[STOCK] if row["compartment"] not in gone]
    for row in sheets.rows[POINTS]:
        row["serves"] = ";".join(each for each in row["serves"].split(";") if each not in gone)
    return sheets.read()


def add_lines(layout: Layout, code: str, lines: Sequence[Cells]) -> Layout:
    """Put items in a compartment, all of them or none.

    One that the layout carries already keeps what belongs to it.
    """
    sheets = Sheets.of(layout)
    sheets.at(PLACES, code)
    stock = sheets.rows[STOCK]
    at = max(
        (n for n, row in enumerate(stock, 1) if row["compartment"] == code), default=len(stock)
    )
    known = {line.key: n for n, line in reversed(list(enumerate(layout.stock)))}
    new = []
    for cells in lines:
        row = _blank(STOCK) | dict(cells) | {"compartment": code}
        first = known.get(item_key(row["item"]))
        if first is not None:
            row |= {column: stock[first][column] for column in OF_THE_ITEM}
        new.append(row)
    stock[at:at] = new
    return sheets.read(STOCK, at if len(new) == 1 else -1)


def change_line(layout: Layout, name: str, cells: Cells) -> Layout:
    """Change a stock line. What belongs to the item changes on all its lines; one that is called
    as another item from now on is that item, with what belongs to it."""
    sheets = Sheets.of(layout)
    at = sheets.at(STOCK, name)
    stock = sheets.rows[STOCK]
    key, now = item_key(stock[at]["item"]), item_key(cells.get("item", stock[at]["item"]))
    of_item = {column: cells[column] for column in OF_THE_ITEM if column in cells}
    if now != key and now in layout.things:
        of_item |= next(
            {column: row[column] for column in OF_THE_ITEM}
            for row in stock
            if item_key(row["item"]) == now
        )
    for row in stock:
        if item_key(row["item"]) == key:
            row |= of_item
    stock[at] |= dict(cells) | of_item
    return sheets.read(STOCK, at)


def move_line(layout: Layout, key: str, from_code: str, to_code: str) -> Layout:
    """Put the stock line of an item elsewhere; where some lie there already, the two
    are one line by the rule of `joined`."""
    sheets = Sheets.of(layout)
    at = sheets.at(STOCK, f"{from_code}/{key}")
    sheets.at(PLACES, to_code)
    if from_code == to_code:
        return layout
    row = sheets.rows[STOCK].pop(at)
    there = f"{to_code}/{key}"
    if like := cells_of(layout, STOCK, there):
        one, other = (
            next(each for each in layout.lines_in[code] if each.key == key)
            for code in (to_code, from_code)
        )
        like |= _of_the_line(joined(one, other))
        sheets.rows[STOCK][sheets.at(STOCK, there)] = like
        return sheets.read()
    sheets.rows[STOCK].insert(at, row | {"compartment": to_code})
    return sheets.read(STOCK, at)


def _of_the_line(line: StockLine) -> dict[str, str]:
    """The cells that belong to a line and not to its item."""
    expires = line.expires.isoformat() if line.expires else ""
    critical = "yes" if line.critical else "no"
    return {"par": str(line.par), "critical": critical, "expires": expires, "notes": line.notes}


def remove_line(layout: Layout, key: str, code: str) -> Layout:
    """Take the stock line of an item out of a compartment."""
    sheets = Sheets.of(layout)
    del sheets.rows[STOCK][sheets.at(STOCK, f"{code}/{key}")]
    return sheets.read()


def add_point(layout: Layout, cells: Cells) -> Layout:
    """Add a door, seat, cot, outlet or control."""
    sheets = Sheets.of(layout)
    sheets.rows[POINTS].append(_blank(POINTS) | dict(cells))
    return sheets.read(POINTS, len(sheets.rows[POINTS]) - 1)


def change_point(layout: Layout, code: str, cells: Cells) -> Layout:
    """Change a point; places that are reached from a seat go with its code."""
    sheets = Sheets.of(layout)
    at = sheets.at(POINTS, code)
    sheets.rows[POINTS][at] |= cells
    now = sheets.rows[POINTS][at]["code"]
    for row in sheets.rows[PLACES]:
        row["reach_from"] = _renamed(row["reach_from"], code, now)
    return sheets.read(POINTS, at)


def remove_point(layout: Layout, code: str) -> Layout:
    """Take a point out; no place is reached from it any more."""
    sheets = Sheets.of(layout)
    del sheets.rows[POINTS][sheets.at(POINTS, code)]
    for row in sheets.rows[PLACES]:
        row["reach_from"] = ";".join(c for c in row["reach_from"].split(";") if c != code)
    return sheets.read()


def pasted_lines(text: str) -> list[dict[str, str]]:
    """Rows copied from a spreadsheet, as cells of stock lines.

    With a header row the columns are named as in the workbook, in any order; without one they are
    item, par and unit. Raises `EditError` on a header that lacks a column, and on no row at all.
    """
    raw = _split(text)
    header = [" ".join(cell.split()).casefold() for cell in raw[0]]
    if "item" not in header:
        return [dict(zip(_OF_A_LINE, cells, strict=False)) for cells in raw]
    if "par" not in header:
        raise EditError({"": "The header row has no column par. Item and par are needed."})
    used = {at: name for at, name in enumerate(header) if name in _OF_A_LINE}
    return [{used[at]: cell for at, cell in enumerate(cells) if at in used} for cells in raw[1:]]


def _split(text: str) -> list[list[str]]:
    """The rows that hold anything, split at tabs, with which spreadsheets copy, else as CSV."""
    delimiter = "\t" if "\t" in text else delimiter_of(text)
    try:
        rows = list(csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        raise EditError({"": "Text came in whose quotes are not closed."}) from None
    found = [[unguard(cell) for cell in row] for row in rows if any(map(str.strip, row))]
    if not found:
        raise EditError({"": "No row came in. Copy rows of a spreadsheet: item, par, unit."})
    return found


def free_spot(layout: Layout, face: str, size: tuple[int, int]) -> Rect | None:
    """The first rectangle of a size that is free on a face, row by row; None when it is full."""
    taken = [
        rect
        for each in layout.children.get("", ())
        for on, rect in ((each.face, each.rect), (each.also_face, each.also_rect))
        if on == face and rect
    ]
    w, h = size
    for y in range(GRID_HEIGHT - h + 1):
        for x in range(GRID_WIDTH - w + 1):
            spot = Rect(x, y, w, h)
            if not any(spot.overlaps(each) for each in taken):
                return spot
    return None


def _put_somewhere(layout: Layout, row: dict[str, str]) -> None:
    """Give a compartment at the top that has a face and no rectangle the first free spot."""
    if row["inside"].strip() or not row["face"].strip():
        return
    if any(row[side].strip() for side in _SIDES):
        return
    face = as_word(row["face"].strip())
    if spot := free_spot(layout, face, USUAL_SIZE) or free_spot(layout, face, (1, 1)):
        row |= {"x": str(spot.x), "y": str(spot.y), "w": str(spot.w), "h": str(spot.h)}


def _let_go(row: dict[str, str], was: Cells) -> None:
    """What went into another compartment leaves its rectangle, unless it came with a new one.

    At the top it stands on the face it is given, inside it is on the face of what it is in.
    """
    if all(row[side].strip() == was[side] for side in _SIDES):
        row |= dict.fromkeys(_SIDES, "")
    if row["inside"].strip() and row["face"].strip() == was["face"]:
        row["face"] = ""


def _move_within(sheets: Sheets, layout: Layout, code: str, *, x: int, y: int) -> None:
    """Move what lies in a compartment and is drawn on its face."""
    for other, row in zip(layout.compartments, sheets.rows[PLACES], strict=True):
        is_within = other.code != code and layout.by_code[code] in layout.chain(other.code)
        if is_within and other.rect and layout.face_of(other.code) == layout.face_of(code):
            _shift(row, x=x, y=y)


def _step(was: str, now: str) -> int:
    """How far a side moved; what is no number is left to the reader to refuse."""
    now = now.strip()
    return int(now) - int(was) if was and now.isascii() and now.isdecimal() else 0


def _key_beside(layout: Layout, code: str) -> str:
    """A key for a new place where its code is the key of another, which had that code once."""
    taken = {each.key.casefold() for each in layout.compartments}
    key = code.strip()
    while key and key.casefold() in taken:
        key += "+"
    return "" if key == code.strip() else key


def _rename(sheets: Sheets, was: str, now: str) -> None:
    for sheet, column in _NAMED_IN:
        for row in sheets.rows[sheet]:
            row[column] = _renamed(row[column], was, now)


def _renamed(listed: str, was: str, now: str) -> str:
    return ";".join(now if each == was else each for each in listed.split(";"))


def _shift(row: dict[str, str], **by: int) -> None:
    for side, units in by.items():
        if row[side]:
            row[side] = str(int(row[side]) + units)


def _after_siblings(rows: list[dict[str, str]], inside: str) -> int:
    """Behind the last compartment in the same one, so that a workbook reads in order."""
    last = len(rows)
    for at, row in enumerate(rows, 1):
        if inside.strip() and inside.strip().casefold() in (
            row["inside"].casefold(),
            row["code"].casefold(),
        ):
            last = at
    return last


def _blank(sheet: str) -> dict[str, str]:
    return dict.fromkeys(COLUMNS[sheet], "")
