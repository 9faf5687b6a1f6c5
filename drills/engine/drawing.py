"""A layout as it is drawn: faces, the compartments on them, and what is seen when one is opened.

Nothing here reads the stock: the drawing is the same whatever is asked.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TypeVar

from drills.engine.fixed import Fixed, fixed_on, spot_of
from drills.engine.layout import GRID_HEIGHT, Compartment, Layout, Rect
from drills.engine.lettering import cut_at
from drills.engine.points import Sign

AnyBlock = TypeVar("AnyBlock", bound="Block")

NO_MARKS: Mapping[str, int] = MappingProxyType({})

# As one walks the key plan; the first is always the one shown first.
_ORDER = (
    "street",
    "cab",
    "bulkhead",
    "interior-street",
    "floor",
    "interior-curb",
    "curb",
    "rear",
)
# Of each face: title, where one stands to see it, where the front lies, its part of the key plan.
_SEEN = {
    "street": ("Street side", "seen from outside", "← front of rig", "top"),
    "cab": ("Cab", "seen from above", "↑ front of rig", "nose"),
    "bulkhead": ("Bulkhead", "seen from inside", "facing the cab", "mid"),
    "interior-street": ("Street wall", "seen from inside", "front of rig →", "mid"),
    "floor": ("Floor", "seen from above", "front of rig →", "mid"),
    "interior-curb": ("Curb wall", "seen from inside", "← front of rig", "mid"),
    "curb": ("Curb side", "seen from outside", "front of rig →", "low"),
    "rear": ("Rear", "seen from outside", "← street side", "tail"),
}
_CLOSURES_SAID = {
    **{each: each for each in ("door", "drawer", "lid", "zip")},
    "open": "open front",
}
_SHADE_STEP, _SHADES = 20, 5
_UNITS_A_MARK, _MOST_MARKS = 3, 3


@dataclass(frozen=True, slots=True)
class Mark:
    """A number on a place: `found` is where a thing is, `own` a wrong answer of one's own."""

    kind: str
    number: int


@dataclass(frozen=True, slots=True)
class Shade:
    """How well a place is known: the class of its colour, and the number written in it."""

    step: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A compartment as drawn, with what lies in it as rows of further blocks.

    `value` is what choosing it sends. `label` is its name without the words its parent or its face
    has said; `within` is the path to it, empty at the top.
    """

    code: str
    name: str
    value: str
    label: str
    within: str = ""
    closure: str = "none"
    is_bag: bool = False
    is_locked: bool = False
    is_sealed: bool = False
    rows: tuple[tuple["Block", ...], ...] = ()
    marks: tuple[Mark, ...] = ()

    @property
    def told(self) -> str:
        """What a person reads under `within` when this is chosen."""
        return self.label if self.within else f"{self.code} {self.name}"

    @property
    def is_board(self) -> bool:
        """Whether it is a shelf or box that holds further places, and no bag."""
        return bool(self.rows) and not self.is_bag

    @property
    def spoken(self) -> str:
        """What is said after its name to those who hear the page: its signs, what it holds."""
        count = self.holds
        told = (
            _CLOSURES_SAID.get(self.closure),
            "sealed" if self.is_sealed else "",
            "locked" if self.is_locked else "",
            f"holds {count} place{'s' if count > 1 else ''}" if count else "",
        )
        return "".join(f", {words}" for words in told if words)

    @property
    def holds(self) -> int:
        """How many places lie in it, to any depth."""
        return sum(1 + block.holds for row in self.rows for block in row)

    @property
    def is_found(self) -> bool:
        return any(mark.kind == "found" for mark in self.marks)

    @property
    def is_own(self) -> bool:
        return any(mark.kind == "own" for mark in self.marks)

    @property
    def states(self) -> str:
        """The classes of what it is and of how it is marked."""
        marked = {"sealed": self.is_sealed, "hot": self.is_found, "own-wrong": self.is_own}
        return " ".join(name for name, holds in marked.items() if holds)

    @property
    def is_marked_within(self) -> bool:
        """Whether something that lies in it carries a mark."""
        return any(block.marks or block.is_marked_within for row in self.rows for block in row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell(Block):
    """A top-level compartment at one of its openings. `rect` is None when no one has drawn it."""

    rect: Rect | None = None
    is_second: bool = False
    is_reached: bool = False
    is_signed: bool = False
    shade: Shade | None = None

    @property
    def spot(self) -> str:
        """The classes that place it on the grid of its face, and say where its name is cut."""
        return " ".join((spot_of(self.rect), *self.cut)) if self.rect else "loose"

    @property
    def cut(self) -> tuple[str, ...]:
        """At which widths of the drawing its name does not fit it."""
        return cut_at(self.label, self.rect.w) if self.rect else ()

    @property
    def states(self) -> str:
        """The classes of what it is and of how it and what lies in it are marked."""
        is_found = any(mark.kind == "found" for mark in self.inner_marks)
        marked = {
            "sealed": self.is_sealed,
            "hot": is_found,
            "own-wrong": self.is_own,
            "belt": self.is_reached,
            "signed": self.is_signed,
        }
        return " ".join(name for name, holds in marked.items() if holds)

    @property
    def inner_marks(self) -> tuple[Mark, ...]:
        """Every mark on it or in it, in the order of their numbers."""
        return tuple(sorted(_marks_of(self), key=lambda mark: (mark.number, mark.kind)))

    @property
    def shown_marks(self) -> tuple[Mark, ...]:
        """Those of them that it has room for, side by side."""
        return self.inner_marks[: self._room]

    @property
    def further_marks(self) -> tuple[Mark, ...]:
        """Those that it has no room for."""
        return self.inner_marks[self._room :]

    @property
    def _room(self) -> int:
        return max(1, min(self.rect.w // _UNITS_A_MARK, _MOST_MARKS)) if self.rect else _MOST_MARKS


@dataclass(frozen=True, slots=True)
class FaceDrawing:
    """One face: how it is seen, what is fixed to it, and its compartments in reading order.

    `zone` is its part of the key plan: top, nose, mid, low or tail. `signs` are the outlets and
    controls, of a drawing that nobody is asked on (drills.engine.signs).
    """

    key: str
    name: str
    caption: str
    front: str
    zone: str
    cells: tuple[Cell, ...]
    fixed: tuple[Fixed, ...] = ()
    signs: tuple[Sign, ...] = ()

    @property
    def is_inside(self) -> bool:
        return self.zone == "mid"

    @property
    def loose(self) -> tuple[Cell, ...]:
        """Compartments of the face that have no rectangle."""
        return tuple(cell for cell in self.cells if cell.rect is None)

    @property
    def found(self) -> tuple[int, ...]:
        """The numbers of the places found on this face."""
        marks = (mark for cell in self.cells for mark in cell.inner_marks)
        return tuple(sorted({mark.number for mark in marks if mark.kind == "found"}))

    @property
    def codes(self) -> frozenset[str]:
        """The codes of the compartments that open here, nested ones left out."""
        return frozenset(cell.code for cell in self.cells)


def faces(
    layout: Layout,
    *,
    value_of: Callable[[str], str],
    keys: Collection[str] = _ORDER,
) -> tuple[FaceDrawing, ...]:
    """Every face that has a compartment, of those with some keys. `value_of` gives what choosing a
    code sends.

    A through-compartment stands on both of its faces, with all that lies in it and equal values.
    """
    found: dict[str, list[Cell]] = {}
    for top in layout.children.get("", ()):
        if top.face not in keys and top.also_face not in keys:
            continue
        cell = _cell(layout, top, value_of)
        found.setdefault(top.face, []).append(cell)
        if top.also_face:
            second = replace(cell, rect=top.also_rect, is_second=True)
            found.setdefault(top.also_face, []).append(second)
    return tuple(_face(layout, key, found[key]) for key in _ORDER if key in found and key in keys)


def opened(layout: Layout, code: str, *, found: Mapping[str, int] = NO_MARKS) -> Block:
    """One compartment with all that lies in it, numbered where `found` says; values are codes."""
    block = _block(layout, layout.by_code[code], _same)
    return _marked(block, found, NO_MARKS) if found else block


def mark_cells(
    face: FaceDrawing, *, found: Mapping[str, int] = NO_MARKS, own: Mapping[str, int] = NO_MARKS
) -> FaceDrawing:
    """The face with numbers on places, nested ones as well, by compartment code."""
    if not found and not own:
        return face
    return replace(face, cells=tuple(_marked(cell, found, own) for cell in face.cells))


def shade_cells(face: FaceDrawing, *, values: Mapping[str, int | None]) -> FaceDrawing:
    """The face with a chance in 100 on each compartment; None or no value is not asked yet."""
    cells = tuple(replace(cell, shade=shade_of(values.get(cell.code))) for cell in face.cells)
    return replace(face, cells=cells)


def shade_of(value: int | None) -> Shade:
    """The step of the ramp and the text of a chance in 100."""
    if value is None:
        return Shade("kx", "–")
    step = max(0, min(value // _SHADE_STEP, _SHADES - 1))
    return Shade(f"k{step}", str(value))


def reach_cells(face: FaceDrawing, *, codes: Collection[str]) -> FaceDrawing:
    """The face with the compartments that a belted person reaches."""
    cells = tuple(replace(cell, is_reached=cell.code in codes) for cell in face.cells)
    return replace(face, cells=cells)


def reached_from(layout: Layout, seat: str) -> frozenset[str]:
    """Codes of the doors that are reached belted from a seat, or something behind them is."""
    return frozenset(
        layout.chain(each.code)[0].code for each in layout.compartments if seat in each.reach_from
    )


def _cell(layout: Layout, top: Compartment, value_of: Callable[[str], str]) -> Cell:
    block = _block(layout, top, value_of)
    return Cell(
        code=block.code,
        name=block.name,
        value=block.value,
        label=block.label,
        closure=block.closure,
        is_bag=block.is_bag,
        is_locked=block.is_locked,
        is_sealed=block.is_sealed,
        rows=block.rows,
        rect=top.rect,
    )


def _block(
    layout: Layout,
    each: Compartment,
    value_of: Callable[[str], str],
    *,
    above: Block | None = None,
    trail: tuple[str, ...] = (),
) -> Block:
    """`trail` is the code of the door and the labels of what lies between it and this."""
    bare = Block(
        code=each.code,
        name=each.name,
        value=value_of(each.code),
        label=short_label(each.name, above.name) if above else each.name,
        within=above.told if above and len(trail) == 1 else " › ".join(trail),
        closure=each.closure,
        is_bag=each.is_bag,
        is_locked=each.locked,
        is_sealed=each.sealed,
    )
    children = layout.children.get(each.code)
    if not children:
        return bare
    further = (*trail, bare.label) if above else (each.code,)
    rows = tuple(
        tuple(_block(layout, child, value_of, above=bare, trail=further) for child in row)
        for row in _rows(children)
    )
    return replace(bare, rows=rows)


def _rows(children: tuple[Compartment, ...]) -> list[list[Compartment]]:
    """Things that stand side by side, top row first; those without a rectangle come last."""
    rows: dict[int, list[Compartment]] = {}
    for child in children:
        rows.setdefault(child.rect.y if child.rect else GRID_HEIGHT, []).append(child)
    return [sorted(rows[y], key=lambda child: _across(child.rect)) for y in sorted(rows)]


def _across(rect: Rect | None) -> int:
    return rect.x if rect else 0


def short_label(name: str, parent: str) -> str:
    """The name without leading words that end the parent's name: "Lid pocket" of a bag."""
    words, said = name.split(), parent.split()
    for count in range(min(len(words) - 1, len(said)), 0, -1):
        if [w.casefold() for w in words[:count]] == [w.casefold() for w in said[-count:]]:
            rest = " ".join(words[count:])
            return rest[0].upper() + rest[1:]
    return name


def _face(layout: Layout, key: str, cells: list[Cell]) -> FaceDrawing:
    title, caption, front, zone = _SEEN[key]
    side = title.split()[0]
    named = [replace(cell, label=short_label(cell.name, side)) for cell in cells]
    ordered = tuple(sorted(named, key=_reading_order))
    fixed = fixed_on(layout, key, [cell.rect for cell in cells if cell.rect])
    return FaceDrawing(key, title, caption, front, zone, ordered, fixed)


def _reading_order(cell: Cell) -> tuple[int, int, int]:
    rect = cell.rect or Rect(0, GRID_HEIGHT, 1, 1)
    return rect.y, rect.x, rect.w


def _marked(block: AnyBlock, found: Mapping[str, int], own: Mapping[str, int]) -> AnyBlock:
    marks = [
        Mark(kind, numbers[block.code])
        for kind, numbers in (("found", found), ("own", own))
        if block.code in numbers
    ]
    rows = tuple(tuple(_marked(each, found, own) for each in row) for row in block.rows)
    return replace(block, marks=tuple(marks), rows=rows)


def _marks_of(block: Block) -> list[Mark]:
    nested = [mark for row in block.rows for each in row for mark in _marks_of(each)]
    return [*block.marks, *nested]


def _same(code: str) -> str:
    return code
