"""Doors, seats and the cot as they are drawn on a face.

Outlets and controls are asked for, so they are none of these (drills.engine.signs).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH, Layout, Point, Rect
from drills.engine.points import points_of

_FIXED_SIZES = {"door": (5, 9), "seat": (5, 3), "cot": (12, 4)}
# How a fixed thing fills the room round it: left, up, right, down by one, in turn.
_GROWTH = ((0, 0, 1, 0), (1, 0, 0, 0), (0, 0, 0, 1), (0, 1, 0, 0))
_LETTERS_A_UNIT = 2  # of a name on a phone


@dataclass(frozen=True, slots=True)
class Fixed:
    """A door, a seat or the cot: drawn, but no compartment."""

    kind: str
    name: str
    rect: Rect

    @property
    def label(self) -> str:
        """Its name up to the first comma where that has room, else what it is."""
        short = self.name.partition(",")[0]
        longest = max(map(len, short.split()), default=0)
        return short if longest <= _LETTERS_A_UNIT * self.rect.w else self.kind

    @property
    def spot(self) -> str:
        """The classes that place it on the grid of its face."""
        return spot_of(self.rect)


def fixed_on(layout: Layout, face: str, cells: Iterable[Rect]) -> tuple[Fixed, ...]:
    """What is fixed to a face, in the room that its compartments leave."""
    taken = {unit for rect in cells for unit in _units(rect)}
    return tuple(
        Fixed(point.kind, point.name, rect)
        for point in points_of(layout)
        if point.face == face and (rect := _room_for(point, taken))
    )


def spot_of(rect: Rect) -> str:
    """The classes that place a rectangle on the grid of a face."""
    return f"x{rect.x} y{rect.y} w{rect.w} h{rect.h}"


def _room_for(point: Point, taken: set[tuple[int, int]]) -> Rect | None:
    """The free room round a fixed thing, up to its usual size; None where a compartment is."""
    x, y = min(int(point.x), GRID_WIDTH - 1), min(int(point.y), GRID_HEIGHT - 1)
    if point.kind not in _FIXED_SIZES or (x, y) in taken:
        return None
    widest, highest = _FIXED_SIZES[point.kind]
    rect = Rect(x, y, 1, 1)
    for left, up, right, down in _GROWTH * max(widest, highest):
        wider = Rect(rect.x - left, rect.y - up, rect.w + left + right, rect.h + up + down)
        if wider.w <= widest and wider.h <= highest and _is_free(wider, taken):
            rect = wider
    taken.update(_units(rect))
    return rect


def _is_free(rect: Rect, taken: set[tuple[int, int]]) -> bool:
    inside = rect.x >= 0 and rect.y >= 0 and rect.x + rect.w <= GRID_WIDTH
    return inside and rect.y + rect.h <= GRID_HEIGHT and taken.isdisjoint(_units(rect))


def _units(rect: Rect) -> list[tuple[int, int]]:
    return [(x, y) for x in range(rect.x, rect.x + rect.w) for y in range(rect.y, rect.y + rect.h)]
