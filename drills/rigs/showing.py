"""What a page shows of a layout: things found, doors in reach, and what lies behind a door."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from drills.engine.drawing import (
    Block,
    Cell,
    FaceDrawing,
    faces,
    mark_cells,
    opened,
    reach_cells,
    reached_from,
)
from drills.engine.layout import (
    FIXTURE_CATEGORIES,
    Compartment,
    Layout,
    Point,
    StockLine,
    Thing,
    item_key,
)
from drills.engine.plan import PlanDrawing, plan_of
from drills.engine.points import points_of
from drills.engine.signs import with_signs

MOST_PLACES = 9
_MOST_STEPS = 6


@dataclass(frozen=True, slots=True)
class Found:
    """A place that a search found, with the things there and how many of each."""

    number: int
    code: str
    door: str
    face: str
    path: str
    is_locked: bool
    things: tuple[tuple[str, StockLine | None], ...]


@dataclass(frozen=True, slots=True)
class Look:
    """A layout drawn as it was asked for. `more` is how many places are not shown."""

    faces: tuple[FaceDrawing, ...]
    plan: PlanDrawing
    find: str
    seat: str
    open_code: str
    shown: str
    found: tuple[Found, ...]
    more: int


@dataclass(frozen=True, slots=True)
class PlaceContents:
    """One place with the lines that lie in it directly."""

    block: Block
    compartment: Compartment
    depth: int
    is_locked: bool
    lines: tuple[StockLine, ...]
    fixtures: tuple[Point, ...]

    @property
    def step(self) -> int:
        """How far it is set in: what lies deeper than some steps is set in no further."""
        return min(self.depth, _MOST_STEPS)


@dataclass(frozen=True, slots=True)
class Contents:
    """A door opened: how it is drawn, and place by place what is in it."""

    door: Compartment
    block: Block
    face: str
    places: tuple[PlaceContents, ...]

    @property
    def count(self) -> int:
        """How many stock lines are behind the door."""
        return sum(len(place.lines) for place in self.places)

    @property
    def critical(self) -> int:
        """How many of them are critical."""
        return sum(line.critical for place in self.places for line in place.lines)


def look_at(layout: Layout, *, find: str, seat: str, opened: str, face: str) -> Look:
    """The layout drawn with what was asked; what it does not have is left out."""
    found, more = _search(layout, find)
    drawn = _drawn(layout, found, reached_from(layout, seat) if seat else ())
    open_code = layout.chain(opened)[0].code if opened in layout.by_code else ""
    wanted = [face, *(each.face for each in found)]
    if open_code:
        wanted.append(layout.face_of(open_code))
    return Look(drawn, plan_of(drawn), find, seat, open_code, _first(drawn, wanted), found, more)


def _drawn(
    layout: Layout, found: Collection[Found], reached: Collection[str]
) -> tuple[FaceDrawing, ...]:
    """Every face with what was found, what is in reach, and the outlets and controls."""
    numbers = {each.code: each.number for each in found}
    marked = [
        reach_cells(mark_cells(each, found=numbers), codes=reached)
        for each in faces(layout, value_of=str)
    ]
    lit = {item_key(name) for each in found for name, _ in each.things}
    return with_signs(marked, layout, found=lit)


def marked_faces(
    layout: Layout, *, found: Mapping[str, int], own: Mapping[str, int]
) -> tuple[FaceDrawing, ...]:
    """The faces that carry a number, by compartment code; where a thing is found stands first.

    The second opening of a cabinet is not drawn again.
    """
    keys = {layout.chain(code)[0].face for code in (*found, *own)}
    drawn = [
        mark_cells(face, found=found, own=own) for face in faces(layout, value_of=str, keys=keys)
    ]
    marked = [face for face in drawn if any(_marks_first(cell) for cell in face.cells)]
    return tuple(sorted(marked, key=lambda face: not face.found))


def _marks_first(cell: Cell) -> bool:
    return bool(cell.inner_marks) and not cell.is_second


def _first(drawn: tuple[FaceDrawing, ...], wanted: list[str]) -> str:
    """The first face that is wanted and exists, else the one that is always first."""
    keys = [each.key for each in drawn]
    return next((key for key in [*wanted, *keys] if key in keys), "")


def seats_of(layout: Layout) -> tuple[tuple[str, str], ...]:
    """Seats something is reached from, as code and name."""
    names = {point.code: point.name for point in points_of(layout) if point.kind == "seat"}
    used = {code for each in layout.compartments for code in each.reach_from}
    ordered = [*names, *sorted(used - names.keys())]
    return tuple((code, names.get(code, code)) for code in ordered if code in used)


def contents_of(layout: Layout, code: str, *, found: Collection[Found] = ()) -> Contents:
    """All that is behind a door, the door itself first, then place by place as drawn."""
    block = opened(layout, code, found={each.code: each.number for each in found})
    places = tuple(_places(layout, block, 0))
    return Contents(layout.by_code[code], block, layout.face_of(code), places)


def doors_with_places(layout: Layout) -> list[tuple[str, list[tuple[str, str]]]]:
    """Every place of a layout to choose from: by door, as code and path."""
    found: dict[str, list[tuple[str, str]]] = {
        f"{top.code} {top.name}": [] for top in layout.children.get("", ())
    }
    for each in layout.compartments:
        top = layout.chain(each.code)[0]
        found[f"{top.code} {top.name}"].append((each.code, layout.path(each.code)))
    return list(found.items())


def _places(layout: Layout, block: Block, depth: int) -> Iterator[PlaceContents]:
    fixtures = tuple(
        point
        for point in layout.points
        if point.kind in FIXTURE_CATEGORIES and block.code in point.serves
    )
    yield PlaceContents(
        block,
        layout.by_code[block.code],
        depth,
        layout.is_locked(block.code),
        layout.lines_in.get(block.code, ()),
        fixtures,
    )
    for row in block.rows:
        for each in row:
            yield from _places(layout, each, depth + 1)


def _search(layout: Layout, find: str) -> tuple[tuple[Found, ...], int]:
    """Places of the things whose name or alias holds every word, the closest names first.

    The closest thing has all of its places, however many.
    """
    words = find.casefold().split()
    if not words:
        return (), 0
    hits = [thing for thing in layout.things.values() if _fits(thing, words)]
    hits.sort(key=lambda thing: _how_far(thing, words))
    places: dict[str, list[Thing]] = {}
    for thing in hits:
        for code in thing.places:
            places.setdefault(code, []).append(thing)
    most = max([MOST_PLACES, *(len(thing.places) for thing in hits[:1])])
    chosen = list(places.items())[:most]
    found = tuple(
        _found(layout, number, code, things) for number, (code, things) in enumerate(chosen, 1)
    )
    return found, len(places) - len(chosen)


def _how_far(thing: Thing, words: list[str]) -> tuple[bool, bool, bool]:
    """The name itself comes first, then names that begin so; of equals what is critical."""
    return thing.key != " ".join(words), not thing.key.startswith(words[0]), not thing.critical


def _fits(thing: Thing, words: list[str]) -> bool:
    said = " ".join((thing.name, *thing.aliases)).casefold()
    return all(word in said for word in words)


def _found(layout: Layout, number: int, code: str, things: list[Thing]) -> Found:
    lines = {line.key: line for line in layout.lines_in.get(code, ())}
    block = layout.chain(code)
    return Found(
        number=number,
        code=code,
        door=block[0].code,
        face=layout.face_of(block[0].code),
        path=layout.path(code),
        is_locked=layout.is_locked(code),
        things=tuple((thing.name, lines.get(thing.key)) for thing in things),
    )
