"""The points sheet: doors, seats, the cot, outlets and controls."""

from dataclasses import dataclass
from decimal import Decimal

from drills.engine.layout import FACES, GRID_HEIGHT, GRID_WIDTH, POINT_KINDS, Point
from drills.engine.workbook.cells import ABSENT, Row, as_word
from drills.engine.workbook.codes import Coded, Codes
from drills.engine.workbook.columns import CODE_LENGTH, LISTED
from drills.engine.workbook.compartments import code_of


@dataclass(frozen=True, slots=True)
class Seats:
    """The codes of the points, and which of them, in their form without case, are seats."""

    codes: Codes
    sitting: frozenset[str]


def read_points(rows: list[Row], codes: Codes) -> tuple[Point, ...]:
    """The points of a layout; `codes` are those of its compartments."""
    return tuple(_point(row, codes) for row in rows)


def seats_of(rows: list[Row], points: tuple[Point, ...]) -> Seats:
    """The seats among the points; the second of two points with one code is a problem."""
    coded = (
        Coded(row, each.code, each.name)
        for row, each in zip(rows, points, strict=True)
        if row.cells.get("code") is not ABSENT
    )
    may_sit = ("seat", "")  # a kind that could not be read may have meant a seat
    sitting = (each.code.casefold() for each in points if each.kind in may_sit)
    return Seats(Codes(coded), frozenset(sitting))


def _point(row: Row, codes: Codes) -> Point:
    return Point(
        code=code_of(row, "code", required=True),
        kind=_needed_word(row, "kind", POINT_KINDS),
        name=row.text("name", required=True),
        face=_needed_word(row, "face", FACES),
        x=_coordinate(row, "x", GRID_WIDTH),
        y=_coordinate(row, "y", GRID_HEIGHT),
        serves=_served(row, codes),
    )


def _needed_word(row: Row, column: str, words: tuple[str, ...]) -> str:
    if not row.given(column):
        row.refuse(column, "no value", f"one of {', '.join(words)}")
    return row.word(column, words)


def _coordinate(row: Row, column: str, most: int) -> float:
    if not row.given(column):
        row.refuse(column, "no value", f"a number at least 0 and at most {most}")
    return float(row.decimal(column, most, zero=True) or Decimal(0))


def _served(row: Row, codes: Codes) -> tuple[str, ...]:
    """Faces and compartments; a word that is both means the face for a door only."""
    is_door = as_word(row.text("kind")) == "door"
    served = []
    for part in row.listed("serves", limit=CODE_LENGTH, most=LISTED):
        face, code = as_word(part), codes.find(part)
        if face in FACES and (is_door or not code):
            served.append(face)
        elif code:
            served.append(code)
        else:
            codes.miss(row, "serves", part, "faces, or codes of the compartments sheet")
    return tuple(served)
