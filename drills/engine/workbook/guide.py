"""What every column of the workbook means and takes, for people who fill one in.

Accepted words and limits come from the tables that reading itself goes by; the examples are cells
of the sample.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drills.engine.layout import (
    CARRIED,
    CATEGORIES,
    CLOSURES,
    FACES,
    GRID_HEIGHT,
    GRID_WIDTH,
    HEIGHTS,
    OPENS,
    POINT_KINDS,
)
from drills.engine.workbook import presentation
from drills.engine.workbook.columns import (
    ALIAS_LENGTH,
    ALIASES,
    CODE_LENGTH,
    DEPTH,
    FORMAT,
    KEY_LENGTH,
    LAYOUT_KEYS,
    LISTED,
    MAX_LENGTH_M,
    MAX_PAR,
    MAX_WEIGHT_KG,
    NAME_LENGTH,
    NOTES_LENGTH,
    REQUIRED,
    RESERVED_SLUGS,
    WORD_LENGTH,
)
from drills.engine.workbook.sample import SAMPLE
from drills.engine.workbook.sheets import Value
from drills.engine.workbook.write import sheets_of

Told = Mapping[str, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Column:
    """One column, or one key of the layout sheet."""

    name: str
    meaning: str
    accepted: str
    example: str
    is_needed: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with what it is for."""

    name: str
    about: str
    columns: tuple[Column, ...]


def guide() -> tuple[Sheet, ...]:
    """Every sheet with every column, in the order of the workbook."""
    sheets = sheets_of(SAMPLE)
    about = {str(key): str(value) for key, value in sheets["layout"][1:]}
    layout = tuple(_column(key, _LAYOUT, about[key], _NEEDED_KEYS) for key in LAYOUT_KEYS)
    found = [Sheet("layout", _ABOUT["layout"], layout)]
    for sheet, told in _SHEETS.items():
        names, *rows = sheets[sheet]
        columns = tuple(
            _column(str(name), told, _first(row[at] for row in rows), REQUIRED[sheet])
            for at, name in enumerate(names)
        )
        found.append(Sheet(sheet, _ABOUT[sheet], columns))
    return tuple(found)


def _column(name: str, told: Told, example: str, needed: Iterable[str]) -> Column:
    meaning, accepted = told[name]
    return Column(name, meaning, accepted, example, name in needed)


def _first(cells: Iterable[Value]) -> str:
    """The cell that shows most: the first that is filled with more than a plain no."""
    filled = [str(cell) for cell in cells if cell != ""]
    return next((cell for cell in filled if cell not in ("no", "none", "0")), filled[0])


def _one_of(words: Iterable[str]) -> str:
    return f"one of: {', '.join(words)}"


def _text(limit: int) -> str:
    return f"text, at most {limit} characters"


_NEEDED_KEYS = ("format", "name")
_YES = "yes or no; empty is no"
_CODE = f"at most {CODE_LENGTH} characters, no space, semicolon or slash"
_METRES = f"a number of metres, more than 0 and at most {MAX_LENGTH_M}"
_ACROSS, _DOWN = f"a whole number from 0 to {GRID_WIDTH - 1}", f"0 to {GRID_HEIGHT - 1}"
_WIDE, _HIGH = f"1 to {GRID_WIDTH}; x + w stays within", f"1 to {GRID_HEIGHT}; y + h stays within"

_ABOUT = {
    "layout": "One row for each key, under the header key, value: what the rig is called.",
    "compartments": (
        "One row for each place that holds things: lockers, shelves, drawers, bags and pockets."
        f" Each face is drawn on a grid {GRID_WIDTH} wide and {GRID_HEIGHT} high, its origin top"
        " left. Two places with the same parent on the same face must not share area."
    ),
    "stock": "One row for each item in each place.",
    "points": (
        "Doors, seats, the cot, outlets and controls. The sheet may be left out: a side door,"
        " a rear door, the cot and one seat are then assumed, and pages that use them say so."
    ),
}
_LAYOUT: Told = {
    "format": ("Which form the workbook has.", FORMAT),
    "name": ("What people call the layout.", _text(NAME_LENGTH)),
    "slug": (
        "Its lasting short name: the same slug is the next revision of the same layout. Made from"
        " the name where empty.",
        "letters a to z and digits with hyphens between, but none of: " + ", ".join(RESERVED_SLUGS),
    ),
    "body": ("What kind of vehicle it is, in your own words.", _text(NAME_LENGTH)),
    "length_m": ("Length of the body.", _METRES),
    "width_m": ("Width of the body.", _METRES),
    "height_m": ("Height of the body.", _METRES),
    "notes": ("Anything else a keeper should know.", _text(NOTES_LENGTH)),
}
_COMPARTMENTS: Told = {
    "code": ("The short code on the drawing; each once.", _CODE),
    "name": ("What crews call the place.", _text(NAME_LENGTH)),
    "inside": (
        "The place it lies in; empty for one at the top.",
        f"a code of this sheet; at most {DEPTH} inside one another",
    ),
    "face": ("The side of the rig it is on; its parent's where empty.", _one_of(FACES)),
    "x": ("Left edge of its rectangle. A nested place may leave all four empty.", _ACROSS),
    "y": ("Top edge.", _DOWN),
    "w": ("Width.", _WIDE),
    "h": ("Height.", _HIGH),
    "also_face": (
        "A second face it opens on. A nested place may name the face alone.",
        _one_of(FACES),
    ),
    "also_x": ("Left edge of the second opening.", _ACROSS),
    "also_y": ("Its top edge.", _DOWN),
    "also_w": ("Its width.", _WIDE),
    "also_h": ("Its height.", _HIGH),
    "opens": ("From where a person opens it; where empty, as its face lies.", _one_of(OPENS)),
    "closure": ("What one opens.", _one_of(CLOSURES) + "; empty is none"),
    "carried": ("Whether it is brought whole, and how.", _one_of(CARRIED) + "; empty is no"),
    "locked": ("Whether it is kept locked.", _YES),
    "sealed": ("Whether it bears a seal.", _YES),
    "reach_from": (
        "Seats from which a belted person reaches it.",
        f"codes of seats of the points sheet with semicolons between, at most {LISTED}",
    ),
    "height": (
        "How high one reaches; from the rectangle where empty.",
        _one_of(HEIGHTS),
    ),
    "place": (
        "A lasting key, if the code may change: what people know of a place goes with its key."
        " The code serves where empty.",
        f"like a code, at most {KEY_LENGTH} characters",
    ),
    "notes": ("Anything else about the place.", _text(NOTES_LENGTH)),
}
_STOCK: Told = {
    "compartment": ("Where the item lies.", "a code of the compartments sheet"),
    "item": (
        "What it is called; the same name is the same item wherever it lies.",
        _text(NAME_LENGTH),
    ),
    "par": ("How many belong there.", f"a whole number from 1 to {MAX_PAR}"),
    "unit": ("What is counted.", _text(WORD_LENGTH)),
    "category": (
        "What it is for.",
        f"best {_one_of(CATEGORIES)}; a category of your own is kept and remarked",
    ),
    "critical": ("Whether a life may hang on finding it.", _YES),
    "aliases": (
        "Other names it goes by. They help to find it.",
        f"at most {ALIASES} with semicolons between, each of at most {ALIAS_LENGTH} characters",
    ),
    "presentation": ("How a medicine or fluid is packed.", presentation.ACCEPTED),
    "weight_kg": (
        "What one of it weighs.",
        f"a number of kilograms, more than 0 and at most {MAX_WEIGHT_KG}",
    ),
    "need": (
        "The key of the need it meets, if the name alone does not say it.",
        "lower-case letters and digits with hyphens between",
    ),
    "expires": ("The day it expires.", "a date, written year-month-day"),
    "notes": ("Anything else about this line.", _text(NOTES_LENGTH)),
}
_POINTS: Told = {
    "code": ("Its short code; each once.", _CODE),
    "kind": ("What it is.", _one_of(POINT_KINDS)),
    "name": ("What crews call it.", _text(NAME_LENGTH)),
    "face": ("The face it is on.", _one_of(FACES)),
    "x": ("How far from the left.", f"a number from 0 to {GRID_WIDTH}"),
    "y": ("How far from the top.", f"a number from 0 to {GRID_HEIGHT}"),
    "serves": (
        "The faces a door leads to; the place an outlet or control is on.",
        f"faces for a door, else codes of places; semicolons between, at most {LISTED}",
    ),
}
_SHEETS = {"compartments": _COMPARTMENTS, "stock": _STOCK, "points": _POINTS}
