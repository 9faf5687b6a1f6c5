"""The points sheet: doors, seats, the cot, outlets and controls."""

from collections.abc import Mapping
from decimal import Decimal

from drills.engine.layout import FACES, GRID_HEIGHT, GRID_WIDTH, POINT_KINDS, Point
from drills.engine.workbook.cells import Row, as_word
from drills.engine.workbook.columns import CODE_LENGTH, LISTED
from drills.engine.workbook.compartments import code_in, code_of
from drills.engine.workbook.problems import quote


def read_points(rows: list[Row], codes: Mapping[str, str] | None) -> tuple[Point, ...]:
    """The points of a layout; `codes` are its compartments by their form without case."""
    seen: dict[str, int] = {}
    return tuple(_point(row, codes, seen) for row in rows)


def seats_of(points: tuple[Point, ...]) -> Mapping[str, str] | None:
    """The codes of the seats by their form without case; None where there are no points."""
    if not points:
        return None
    may_sit = ("seat", "")  # a kind that could not be read may have meant a seat
    return {each.code.casefold(): each.code for each in points if each.kind in may_sit}


def _point(row: Row, codes: Mapping[str, str] | None, seen: dict[str, int]) -> Point:
    code = code_of(row, "code", required=True)
    if code and seen.setdefault(code.casefold(), row.number) != row.number:
        got = f"{quote(code)}, which row {seen[code.casefold()]} has too,"
        row.refuse("code", got, "a code of its own, whatever the case of its letters")
    return Point(
        code=code,
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


def _served(row: Row, codes: Mapping[str, str] | None) -> tuple[str, ...]:
    """Faces and compartments; a word that is both means the face for a door only."""
    is_door = as_word(row.text("kind")) == "door"
    served = []
    for part in row.listed("serves", limit=CODE_LENGTH, most=LISTED):
        face, code = as_word(part), code_in(codes, part)
        if face in FACES and (is_door or not code):
            served.append(face)
        elif code:
            served.append(code)
        else:
            row.refuse("serves", quote(part), "faces, or codes of the compartments sheet")
    return tuple(served)
