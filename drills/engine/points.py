"""Doors, seats and the cot of a layout; assumed from its faces where the workbook has none.

Outlets and controls are asked for like things: a drawing that is answered on has no sign of them.
"""

from dataclasses import dataclass

from drills.engine.layout import FIXTURE_CATEGORIES, Layout, Point

# Where most ambulances have them, common practice, no source: two doors to the patient room, the
# cot in its middle, one seat at the head of the cot.
_PATIENT_ROOM = ("interior-street", "interior-curb", "bulkhead", "floor")
_ASSUMED = (
    Point("DOOR-SIDE", "door", "Side door, assumed", "curb", 17, 6, _PATIENT_ROOM),
    Point("DOOR-REAR", "door", "Rear doors, assumed", "rear", 12, 8, _PATIENT_ROOM),
    Point("COT", "cot", "Cot, assumed", "floor", 12, 6),
    Point("ATTENDANT", "seat", "Attendant seat, assumed", "floor", 21, 6),
)


@dataclass(frozen=True, slots=True)
class Sign:
    """An outlet or a control as drawn: a letter in one unit of its face, told in the list beneath.

    `door` is the code of the top compartment it is on, empty where it is on none.
    """

    letter: str
    name: str
    door: str
    x: int
    y: int
    is_found: bool = False

    @property
    def spot(self) -> str:
        """The classes that place it on the grid of its face."""
        return f"x{self.x} y{self.y} w1 h1"


def points_of(layout: Layout) -> tuple[Point, ...]:
    """The points of the workbook, and those that are assumed; every name assumed says so."""
    return (*layout.points, *assumed_points(layout))


def transports(layout: Layout) -> bool:
    """Whether a rig takes a patient along: whether it has a cot, told or assumed."""
    return any(point.kind == "cot" for point in points_of(layout))


def assumed_points(layout: Layout) -> tuple[Point, ...]:
    """What is assumed where a workbook has no door, seat or cot, only outlets or nothing at all.

    Nothing is assumed for a body without an inside.
    """
    is_told = any(point.kind not in FIXTURE_CATEGORIES for point in layout.points)
    has_room = any(each.face in _PATIENT_ROOM for each in layout.compartments)
    return () if is_told or not has_room else _ASSUMED
