"""Outlets and controls put on a drawing that is looked at.

They are things one is asked to find: a drawing that is answered on never has them.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from string import ascii_lowercase

from drills.engine.drawing import FaceDrawing
from drills.engine.layout import (
    FIXTURE_CATEGORIES,
    GRID_HEIGHT,
    GRID_WIDTH,
    Layout,
    Point,
    Rect,
    item_key,
)
from drills.engine.points import Sign

_SIGN = 2  # units that a sign is wide, on a phone
_MOST_IN_A_ROW = GRID_WIDTH // _SIGN
_WRITTEN = 6  # units from the top of a compartment that its code and name may take


def with_signs(
    drawn: Collection[FaceDrawing], layout: Layout, *, found: Collection[str] = ()
) -> tuple[FaceDrawing, ...]:
    """The faces with the outlets and controls on them; `found` are keys of things to light up.

    Letters run on from face to face, so that one letter is one thing of the rig.
    """
    letters = _letters()
    return tuple(_signed(face, layout, letters, found) for face in drawn)


def _signed(
    face: FaceDrawing, layout: Layout, letters: Iterator[str], found: Collection[str]
) -> FaceDrawing:
    points = [
        each for each in layout.points if each.face == face.key and each.kind in FIXTURE_CATEGORIES
    ]
    signs: dict[tuple[int, int], Sign] = {}
    for point, (x, y) in zip(points, _apart([_unit(p, face) for p in points]), strict=True):
        is_found = item_key(point.name) in found
        name, door = point.name, _door_of(layout, point)
        signs[x, y] = Sign(next(letters), name, door, x, y, is_found)
    cells = tuple(
        replace(cell, is_signed=True) if _stands_at_foot(cell.rect, signs) else cell
        for cell in face.cells
    )
    return replace(face, cells=cells, signs=tuple(signs.values()))


def _unit(point: Point, face: FaceDrawing) -> tuple[int, int]:
    """The unit it is in; on a compartment not where code and name of that are written."""
    x, y = min(int(point.x), GRID_WIDTH - 1), min(int(point.y), GRID_HEIGHT - 1)
    for cell in face.cells:
        if cell.rect and cell.rect.overlaps(Rect(x, y, 1, 1)):
            return x, max(y, cell.rect.y + min(_WRITTEN, cell.rect.h) - 1)
    return x, y


def _apart(units: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Units of signs, those of a row moved so far apart that none lies on another.

    What a row cannot hold stands at the start of the next.
    """
    found = list(units)
    for row in range(GRID_HEIGHT):
        there = sorted((x, n) for n, (x, y) in enumerate(found) if y == row)
        for x, (_, n) in zip(_spread([x for x, _ in there[:_MOST_IN_A_ROW]]), there, strict=False):
            found[n] = (x, row)
        for _, n in there[_MOST_IN_A_ROW:]:
            found[n] = (0, (row + 1) % GRID_HEIGHT)
    return found


def _spread(wanted: Sequence[int]) -> list[int]:
    """Units of a row from left to right, none nearer to the next than a sign is wide."""
    most, found = GRID_WIDTH - 1, []
    for x in reversed(wanted):
        found.append(min(x, most))
        most = found[-1] - _SIGN
    return [max(x, place * _SIGN) for place, x in enumerate(reversed(found))]


def _stands_at_foot(rect: Rect | None, signs: Collection[tuple[int, int]]) -> bool:
    """Whether a sign is on the last units of a compartment, which keeps room for it there."""
    return rect is not None and any(
        y == rect.y + rect.h - 1 and rect.x <= x < rect.x + rect.w for x, y in signs
    )


def _door_of(layout: Layout, point: Point) -> str:
    code = next((code for code in point.serves if code in layout.by_code), "")
    return layout.chain(code)[0].code if code else ""


def _letters() -> Iterator[str]:
    """a to z, then aa to zz, and so on."""
    said = [""]
    while True:
        said = [before + letter for before in said for letter in ascii_lowercase]
        yield from said
