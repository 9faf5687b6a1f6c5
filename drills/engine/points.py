"""Doors, seats and the cot of a layout; assumed from its faces where the workbook has none."""

from drills.engine.layout import Layout, Point

# Where most ambulances have them, common practice, no source: two doors to the patient room, the
# cot in its middle, one seat at the head of the cot.
_PATIENT_ROOM = ("interior-street", "interior-curb", "bulkhead", "floor")
_ASSUMED = (
    Point("DOOR-SIDE", "door", "Side door, assumed", "curb", 17, 6, _PATIENT_ROOM),
    Point("DOOR-REAR", "door", "Rear doors, assumed", "rear", 12, 8, _PATIENT_ROOM),
    Point("COT", "cot", "Cot, assumed", "floor", 12, 6),
    Point("ATTENDANT", "seat", "Attendant seat, assumed", "floor", 21, 6),
)


def points_of(layout: Layout) -> tuple[Point, ...]:
    """The points of the workbook, or those that are assumed; every name assumed says so."""
    return assumed_points(layout) if not layout.points else layout.points


def assumed_points(layout: Layout) -> tuple[Point, ...]:
    """What is assumed where a workbook has no points: nothing for a body without an inside."""
    if layout.points or not any(each.face in _PATIENT_ROOM for each in layout.compartments):
        return ()
    return _ASSUMED
