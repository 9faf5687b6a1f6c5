"""The cells of a row as the fields of a form: what each is called and what it may hold."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from drills.engine.layout import (
    CARRIED,
    CATEGORIES,
    CLOSURES,
    FACE_NAMES,
    FACES,
    HEIGHTS,
    OPENS,
    POINT_KINDS,
    Layout,
)
from drills.engine.points import points_of
from drills.engine.rows import PLACES, POINTS, STOCK

Options = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Field:
    """One cell to fill in: `kind` is text, number, choice, tick, day or area.

    `is_more` stands behind *More*, with what a keeper seldom needs.
    """

    column: str
    label: str
    kind: str = "text"
    options: Options = ()
    is_more: bool = False
    value: str = ""
    fault: str = ""


_SIDES = (("x", "Left"), ("y", "Top"), ("w", "Width"), ("h", "Height"))


def fields_of(
    sheet: str, layout: Layout, cells: Mapping[str, str], faults: Mapping[str, str]
) -> list[Field]:
    """The fields of a row, filled in with its cells and what is wrong with each; no sheet, none."""
    made = _made(sheet, layout)
    return [
        Field(
            each.column,
            each.label,
            each.kind,
            _with_own(each, cells.get(each.column, "")),
            each.is_more and each.column not in faults,
            cells.get(each.column, ""),
            faults.get(each.column, ""),
        )
        for each in made
    ]


def label_of(sheet: str, layout: Layout, column: str) -> str:
    """What the form calls a column."""
    return next((each.label for each in _made(sheet, layout) if each.column == column), column)


def _made(sheet: str, layout: Layout) -> list[Field]:
    if sheet == POINTS:
        return _POINT
    return {PLACES: _place, STOCK: _line}[sheet](layout) if sheet else []


def _with_own(field: Field, value: str) -> Options:
    """The options, and what stands in the cell where none of them is that."""
    if field.kind != "choice" or any(value == key for key, _ in field.options):
        return field.options
    return [*field.options, (value, value)]


def _place(layout: Layout) -> list[Field]:
    faces = [("", "that of what it is in"), *((key, FACE_NAMES[key]) for key in FACES)]
    seats = ", ".join(point.code for point in points_of(layout) if point.kind == "seat")
    return [
        Field("name", "Name"),
        Field("code", "Code"),
        Field("inside", "In", "choice", [("", "no other: it is at the top"), *_places(layout)]),
        Field("face", "Face", "choice", faces),
        *(Field(column, label, "number") for column, label in _SIDES),
        Field("closure", "Closed by", "choice", _words(CLOSURES)),
        Field("carried", "Carried whole", "choice", _words(CARRIED)),
        Field("locked", "Locked", "tick"),
        Field("sealed", "Sealed", "tick"),
        Field("opens", "Opens", "choice", [("", "as its face does"), *_words(OPENS)], is_more=True),
        Field("height", "Height", "choice", [("", "as it is drawn"), *_words(HEIGHTS)], True),
        Field("reach_from", f"Reached belted from ({seats or 'no seat yet'})", is_more=True),
        Field("also_face", "Second opening on", "choice", [("", "none"), *faces[1:]], True),
        *(Field(f"also_{column}", f"Second opening: {label.lower()}", "number", (), True)
          for column, label in _SIDES),
        Field("notes", "Notes", "area", is_more=True),
    ]  # fmt: skip


def _line(layout: Layout) -> list[Field]:
    return [
        Field("item", "Item"),
        Field("par", "Par", "number"),
        Field("compartment", "In", "choice", _places(layout)),
        Field("unit", "Unit"),
        Field("category", "Category", "choice", [("", "none"), *_words(CATEGORIES)]),
        Field("critical", "Critical", "tick"),
        Field("expires", "Lapses on", "day"),
        Field("presentation", "Presentation", is_more=True),
        Field("aliases", "Other names, semicolons between", is_more=True),
        Field("weight_kg", "Weight of one in kg", is_more=True),
        Field("need", "Key of its need", is_more=True),
        Field("notes", "Notes", "area", is_more=True),
    ]


def _places(layout: Layout) -> list[tuple[str, str]]:
    """Every compartment as it lies in others, what lies in one right behind it."""
    return list(_below(layout, "", 0))


def _below(layout: Layout, code: str, depth: int) -> Iterable[tuple[str, str]]:
    for each in layout.children.get(code, ()):
        yield each.code, f"{'· ' * depth}{each.code} {each.name}"
        yield from _below(layout, each.code, depth + 1)


def _words(words: Iterable[str]) -> list[tuple[str, str]]:
    return [(word, word) for word in words]


_POINT = [
    Field("name", "Name"),
    Field("code", "Code"),
    Field("kind", "Kind", "choice", _words(POINT_KINDS)),
    Field("face", "Face", "choice", [(key, FACE_NAMES[key]) for key in FACES]),
    Field("x", "From the left, 0 to 24", "number"),
    Field("y", "From the top, 0 to 12", "number"),
    Field("serves", "Leads to faces, or is on compartment (semicolons between)"),
]
