"""All that a run missed on one plan: how much lies behind each door, and where was looked."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import chain

from drills.engine.drawing import FaceDrawing
from drills.engine.layout import Layout
from drills.rigs.showing import marked_faces
from drills.runs.told import Told

# One miss is on a plan of its own already.
FEWEST = 2


@dataclass(frozen=True, slots=True)
class DoorMissed:
    """A door: of how many misses a place lies behind it, and how often it was said for another."""

    name: str
    behind: int
    said: int


@dataclass(frozen=True, slots=True)
class Whole:
    """The faces with a number on their doors, and both as a list, most missed first."""

    drawings: tuple[FaceDrawing, ...]
    doors: tuple[DoorMissed, ...]
    misses: int


def whole_of(missed: Collection[Told], layout: Layout) -> Whole | None:
    """The plan of what was missed; none where fewer than two of it have a place."""
    placed = [told for told in missed if told.codes]
    if len(placed) < FEWEST:
        return None
    behind = _counted(layout, [{*told.codes} for told in placed])
    said = _counted(layout, [{*told.own} - {*told.codes} for told in placed])
    doors = [DoorMissed(layout.path(code), behind[code], said[code]) for code in {**behind, **said}]
    return Whole(
        marked_faces(layout, found=behind, own={each: said[each] for each in {*said} - {*behind}}),
        tuple(sorted(doors, key=lambda door: (-door.behind, -door.said, door.name))),
        len(placed),
    )


def _counted(layout: Layout, places: Iterable[set[str]]) -> Counter[str]:
    """How many of some sets of places have one behind each door, by its code."""
    doors = ({layout.chain(code)[0].code for code in codes} for codes in places)
    return Counter(chain.from_iterable(doors))
