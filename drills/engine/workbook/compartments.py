"""The compartments sheet: each row on its own; `tree` looks at how they lie in one another."""

import re
from dataclasses import dataclass

from drills.engine.layout import (
    CARRIED,
    CLOSURES,
    FACES,
    GRID_HEIGHT,
    GRID_WIDTH,
    HEIGHTS,
    OPENS,
    Compartment,
    Rect,
)
from drills.engine.workbook.cells import ABSENT, Row
from drills.engine.workbook.codes import Coded, Codes
from drills.engine.workbook.columns import CODE_LENGTH, KEY_LENGTH, LISTED, NOTES_LENGTH
from drills.engine.workbook.problems import quote

CODE = re.compile(r"[^\s;/]*\w[^\s;/]*")
RECT = ("x", "y", "w", "h")


@dataclass(frozen=True, slots=True)
class Found:
    """A compartment with the row it was read from; its references are not yet looked up."""

    row: Row
    compartment: Compartment


def codes_of(found: list[Found]) -> Codes:
    """The codes of the compartments; the second of two alike is a problem."""
    return Codes(
        Coded(each.row, each.compartment.code, each.compartment.name)
        for each in found
        if each.row.cells.get("code") is not ABSENT
    )


def read_compartments(rows: list[Row]) -> list[Found]:
    """A compartment for every row; `opens` is empty where the row leaves it out."""
    return [Found(row, _compartment(row)) for row in rows]


def code_of(row: Row, column: str, *, limit: int = CODE_LENGTH, required: bool = False) -> str:
    """A code: no spaces, semicolons or slashes, with a letter or digit in it."""
    code = row.text(column, limit=limit, required=required)
    if code and not (CODE.fullmatch(code) and code.isprintable()):
        accepted = "a code with a letter or digit and without space, semicolon or slash"
        row.refuse(column, quote(code), accepted)
        return ""
    return code


def _compartment(row: Row) -> Compartment:
    return Compartment(
        code=code_of(row, "code", required=True),
        name=row.text("name", required=True),
        inside=row.text("inside"),
        face=row.word("face", FACES),
        rect=_rect(row, ""),
        also_face=row.word("also_face", FACES),
        also_rect=_rect(row, "also_"),
        opens=row.word("opens", OPENS),
        closure=row.word("closure", CLOSURES, default="none"),
        carried=row.word("carried", CARRIED, default="no"),
        locked=row.yes("locked"),
        sealed=row.yes("sealed"),
        reach_from=row.listed("reach_from", limit=CODE_LENGTH, most=LISTED),
        height=row.word("height", HEIGHTS),
        place=code_of(row, "place", limit=KEY_LENGTH),
        notes=row.text("notes", limit=NOTES_LENGTH, lines=True),
    )


def _rect(row: Row, prefix: str) -> Rect | None:
    """The rectangle of an opening, all four numbers of it or none."""
    if not any(row.given(prefix + each) for each in RECT):
        return None
    blank = [prefix + each for each in RECT if not row.given(prefix + each)]
    for column in blank:
        row.refuse(column, "no value", "all four of x, y, w and h, or none of them")
    if blank:
        return None
    across = _side(row, prefix, "x", "w", GRID_WIDTH)
    down = _side(row, prefix, "y", "h", GRID_HEIGHT)
    if across is None or down is None:
        return None
    return Rect(across[0], down[0], across[1], down[1])


def _side(row: Row, prefix: str, start: str, size: str, most: int) -> tuple[int, int] | None:
    """Where an opening starts in one direction, and how far it goes; it stays on the face."""
    at = row.whole(prefix + start, 0, most - 1)
    length = row.whole(prefix + size, 1, most)
    if at is None or length is None:
        return None
    if at + length > most:
        got = f"{start} {at} with {size} {length}, which leaves the face,"
        row.refuse(prefix + size, got, f"{start} + {size} of at most {most}")
        return None
    return at, length
