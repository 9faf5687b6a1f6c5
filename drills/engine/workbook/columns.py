"""The sheets of a workbook, their columns and the limits of size that hold for all of them."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of workbook: the columns of each sheet, and those that must be there.

    `file` and `sheets` are how a message names the file and its sheets as they are accepted.
    """

    name: str
    columns: Mapping[str, tuple[str, ...]]
    needed: Mapping[str, tuple[str, ...]]
    file: str
    sheets: str


FORMAT = "readiness-layout/1"

LAYOUT_KEYS = ("format", "name", "slug", "body", "length_m", "width_m", "height_m", "notes")
COLUMNS = {
    "layout": ("key", "value"),
    "compartments": (
        *("code", "name", "inside", "face", "x", "y", "w", "h"),
        *("also_face", "also_x", "also_y", "also_w", "also_h"),
        *("opens", "closure", "carried", "locked", "sealed"),
        *("reach_from", "height", "place", "notes"),
    ),
    "stock": (
        *("compartment", "item", "par", "unit", "category", "critical", "aliases"),
        *("presentation", "weight_kg", "need", "expires", "notes"),
    ),
    "points": ("code", "kind", "name", "face", "x", "y", "serves"),
}
REQUIRED = {
    "layout": ("key", "value"),
    "compartments": ("code", "name", "inside", "face", "x", "y", "w", "h"),
    "stock": ("compartment", "item", "par"),
    "points": ("code", "kind", "name", "face", "x", "y"),
}
SHEETS = tuple(COLUMNS)
LAYOUT = Form(
    FORMAT,
    COLUMNS,
    REQUIRED,
    file="a .xlsx workbook, or a .zip with layout.csv, compartments.csv and stock.csv",
    sheets="the sheets layout, compartments and stock, and points where there are any",
)
RESERVED_SLUGS = (
    *("absences", "import", "lapses", "assign", "needs", "photos"),
    *("units", "workbook", "required", "l", "labels"),
)

MAX_ROWS = 20_000  # below the header
MAX_COLUMNS = 64
LAST_ROW = 1_048_576  # the last row a spreadsheet can have: blank rows are followed this far

CODE_LENGTH = 24
NAME_LENGTH = 120
NOTES_LENGTH = 500
WORD_LENGTH = 60
KEY_LENGTH = 80
ALIAS_LENGTH, ALIASES = 80, 20
LISTED = 40  # seats or served places in one cell
DEPTH = 12  # compartments inside one another
MAX_PAR = 9_999
MAX_WEIGHT_KG = 500
MAX_LENGTH_M = 30
