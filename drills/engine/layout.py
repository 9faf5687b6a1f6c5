"""A rig's layout as frozen value objects: what the workbook says, and what follows from it.

Lengths are metres, weights kilograms. A face is a grid of 24 by 12 units, origin top left.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any

GRID_WIDTH, GRID_HEIGHT = 24, 12

FACES = (
    "street",
    "curb",
    "rear",
    "cab",
    "interior-street",
    "interior-curb",
    "bulkhead",
    "floor",
)
FACE_NAMES = {
    "street": "Street side, outside",
    "curb": "Curb side, outside",
    "rear": "Rear, outside",
    "cab": "Cab",
    "interior-street": "Street wall, inside",
    "interior-curb": "Curb wall, inside",
    "bulkhead": "Bulkhead, inside",
    "floor": "Floor, inside",
}
OPENS = ("outside", "inside", "both")
CLOSURES = ("door", "drawer", "lid", "zip", "open", "none")
WHEELED = "wheeled"
CARRIED = ("no", "one-hand", "two-hands", WHEELED)
HEIGHTS = ("floor", "low", "waist", "chest", "overhead")
POINT_KINDS = ("door", "seat", "cot", "outlet", "control")
CATEGORIES = (
    "airway",
    "breathing and oxygen",
    "circulation and bleeding",
    "medicines",
    "immobilisation",
    "moving patients",
    "paediatric and obstetric",
    "protection and infection",
    "monitoring",
    "scene and incident",
)
FIXTURE_CATEGORIES = {"outlet": "breathing and oxygen", "control": "scene and incident"}


# Every line is asked for its key again and again. Bounded: the names come from people.
@lru_cache(maxsize=8192)
def item_key(name: str) -> str:
    """The identity of an item: its name without differences of case and spacing."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on a face, in grid units; `x + w` is at most 24 and `y + h` at most 12."""

    x: int
    y: int
    w: int
    h: int

    def overlaps(self, other: "Rect") -> bool:
        """Whether the two share area; touching edges do not."""
        across = self.x < other.x + other.w and other.x < self.x + self.w
        return across and self.y < other.y + other.h and other.y < self.y + self.h

    @property
    def centre(self) -> tuple[float, float]:
        return self.x + self.w / 2, self.y + self.h / 2


@dataclass(frozen=True, slots=True)
class Compartment:
    """Any place that holds things. `inside` is the parent's code, empty at the top.

    `face` is empty when inherited; `place` is the stable key, empty when the code serves.
    `also_face` and `also_rect` are the second opening of a through-compartment.
    """

    code: str
    name: str
    inside: str = ""
    face: str = ""
    rect: Rect | None = None
    also_face: str = ""
    also_rect: Rect | None = None
    opens: str = "inside"
    closure: str = "none"
    carried: str = "no"
    locked: bool = False
    sealed: bool = False
    reach_from: tuple[str, ...] = ()
    height: str = ""
    place: str = ""
    notes: str = ""

    @property
    def key(self) -> str:
        """The identity of the place across revisions of its layout."""
        return self.place or self.code

    @property
    def is_bag(self) -> bool:
        """Whether it can be brought whole, so that knowing where it is is a fact of its own."""
        return self.carried != "no"


@dataclass(frozen=True, slots=True)
class StockLine:
    """An item in a compartment with its par. `weight_kg` is of one unit."""

    compartment: str
    item: str
    par: int
    unit: str = ""
    category: str = ""
    critical: bool = False
    aliases: tuple[str, ...] = ()
    presentation: str = ""
    weight_kg: Decimal | None = None
    need: str = ""
    expires: date | None = None
    notes: str = ""

    @property
    def key(self) -> str:
        return item_key(self.item)


def joined(line: StockLine, other: StockLine) -> StockLine:
    """Two lines of one item that come to lie in one place, as one line where the first lies.

    Par adds up; it is critical if either is, and lapses on the earlier day of the two. Notes are
    those of both, once where they are the same; all else is that of the first.
    """
    days = [day for day in (line.expires, other.expires) if day]
    return replace(
        line,
        par=line.par + other.par,
        critical=line.critical or other.critical,
        expires=min(days, default=None),
        notes="; ".join(dict.fromkeys(filter(None, (line.notes, other.notes)))),
    )


@dataclass(frozen=True, slots=True)
class Point:
    """A door, seat, cot, outlet or control at `x, y` of a face."""

    code: str
    kind: str
    name: str
    face: str
    x: float
    y: float
    serves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Thing:
    """What may be asked for: an item, or an outlet or control, with the places that hold it.

    `places` are compartment codes in the order of the workbook.
    """

    key: str
    name: str
    category: str
    critical: bool
    need: str
    aliases: tuple[str, ...]
    places: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """How one kind of rig is arranged, as one revision of it."""

    name: str
    slug: str
    body: str = ""
    length_m: Decimal | None = None
    width_m: Decimal | None = None
    height_m: Decimal | None = None
    notes: str = ""
    compartments: tuple[Compartment, ...] = ()
    stock: tuple[StockLine, ...] = ()
    points: tuple[Point, ...] = ()

    @cached_property
    def by_code(self) -> Mapping[str, Compartment]:
        return {each.code: each for each in self.compartments}

    @cached_property
    def worked_out(self) -> dict[Any, Any]:
        """What was worked out of the layout alone and is asked for often, by what it was."""
        return {}

    @cached_property
    def by_key(self) -> Mapping[str, Compartment]:
        """Compartments by the key of their place."""
        return {each.key: each for each in self.compartments}

    @cached_property
    def order_of(self) -> Mapping[str, int]:
        """The position of each compartment in the workbook, by code."""
        return {each.code: order for order, each in enumerate(self.compartments)}

    @cached_property
    def children(self) -> Mapping[str, tuple[Compartment, ...]]:
        """Compartments by the code of their parent; the top ones under the empty code."""
        found: dict[str, list[Compartment]] = defaultdict(list)
        for each in self.compartments:
            found[each.inside].append(each)
        return {code: tuple(inside) for code, inside in found.items()}

    @cached_property
    def lines_in(self) -> Mapping[str, tuple[StockLine, ...]]:
        """Stock lines by the code of the compartment that holds them directly."""
        found: dict[str, list[StockLine]] = defaultdict(list)
        for line in self.stock:
            found[line.compartment].append(line)
        return {code: tuple(lines) for code, lines in found.items()}

    @cached_property
    def things(self) -> Mapping[str, Thing]:
        """Everything that may be asked for, by key, in the order of first appearance."""
        lines: dict[str, list[StockLine]] = defaultdict(list)
        for line in self.stock:
            lines[line.key].append(line)
        found = {key: _thing_of_lines(key, same) for key, same in lines.items()}
        for point in self.points:
            holds = tuple(code for code in point.serves if code in self.by_code)
            key = item_key(point.name)
            if point.kind in FIXTURE_CATEGORIES and holds and key not in found:
                category = FIXTURE_CATEGORIES[point.kind]
                found[key] = Thing(key, point.name, category, False, "", (), holds)
        return found

    def chain(self, code: str) -> tuple[Compartment, ...]:
        """The compartment and all it lies in, outermost first."""
        found = [self.by_code[code]]
        while found[-1].inside:
            found.append(self.by_code[found[-1].inside])
        return tuple(reversed(found))

    def face_of(self, code: str) -> str:
        """The face of the compartment, inherited from the nearest parent that names one."""
        return next(each.face for each in reversed(self.chain(code)) if each.face)

    def path(self, code: str) -> str:
        """What a person reads: the top code and name, then the names inside it."""
        chain = self.chain(code)
        return " › ".join([f"{chain[0].code} {chain[0].name}", *(each.name for each in chain[1:])])

    def lines_there(self, held: Collection[tuple[str, str]]) -> Iterator[StockLine]:
        """Stock lines without those reported missing: (thing key, place key), an empty thing being
        all that is there and an empty place anywhere."""
        if not held:
            yield from self.stock
            return
        missing = set(held)
        for line in self.stock:
            place = self.by_code[line.compartment].key
            if missing.isdisjoint({(line.key, place), (line.key, ""), ("", place)}):
                yield line

    def pars_there(self, held: Collection[tuple[str, str]]) -> Mapping[str, int]:
        """How many there are of each thing by key, as above; kept, as each call asks again."""
        key = ("pars", frozenset(held))
        if key not in self.worked_out:
            counted = Counter[str]()
            for line in self.lines_there(held):
                counted[line.key] += line.par
            self.worked_out[key] = counted
        found: Mapping[str, int] = self.worked_out[key]
        return found

    def is_locked(self, code: str) -> bool:
        return any(each.locked for each in self.chain(code))


def _thing_of_lines(key: str, lines: list[StockLine]) -> Thing:
    first = lines[0]
    return Thing(
        key=key,
        name=first.item,
        category=first.category,
        critical=any(line.critical for line in lines),
        need=first.need,
        aliases=first.aliases,
        places=tuple(dict.fromkeys(line.compartment for line in lines)),
    )
