"""A layout to a workbook, in the form it is read from.

The same layout always gives the same bytes, and reading them gives back an equal layout. That
holds for layouts as reading makes them: spaces evened out, numbers without needless zeros, what
belongs to an item alike on all its lines.
"""

from collections.abc import Mapping
from decimal import Decimal

from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine
from drills.engine.workbook.archive import pack
from drills.engine.workbook.cells import shortest
from drills.engine.workbook.columns import COLUMNS, FORMAT, LAYOUT_KEYS
from drills.engine.workbook.csvtext import write_files
from drills.engine.workbook.sheets import Value, write_blank, write_sheets

Rows = list[tuple[Value, ...]]


def to_csv(layout: Layout) -> Mapping[str, bytes]:
    """The workbook as CSV files by name; `points.csv` only where the layout has points."""
    return write_files(sheets_of(layout))


def to_zip(layout: Layout) -> bytes:
    """The workbook as an archive of its CSV files."""
    return pack(to_csv(layout))


def to_xlsx(layout: Layout) -> bytes:
    """The workbook as a spreadsheet: texts as text, numbers as numbers, never a formula."""
    return write_sheets(sheets_of(layout))


def blank_xlsx() -> bytes:
    """The spreadsheet with every sheet and header, the format filled in and nothing else."""
    return write_blank(COLUMNS, about="layout", keys=LAYOUT_KEYS, told=FORMAT)


def sheets_of(layout: Layout) -> dict[str, Rows]:
    """The rows of each sheet, its header first; points only where the layout has some."""
    sheets: dict[str, Rows] = {
        "layout": _about(layout),
        "compartments": [_compartment(each) for each in layout.compartments],
        "stock": [_line(each) for each in layout.stock],
    }
    if layout.points:
        sheets["points"] = [_point(each) for each in layout.points]
    return {sheet: [COLUMNS[sheet], *rows] for sheet, rows in sheets.items()}


def _about(layout: Layout) -> Rows:
    return [
        ("format", FORMAT),
        ("name", layout.name),
        ("slug", layout.slug),
        ("body", layout.body),
        ("length_m", _number(layout.length_m)),
        ("width_m", _number(layout.width_m)),
        ("height_m", _number(layout.height_m)),
        ("notes", layout.notes),
    ]


def _compartment(each: Compartment) -> tuple[Value, ...]:
    return (
        *(each.code, each.name, each.inside, each.face, *_rect(each.rect)),
        *(each.also_face, *_rect(each.also_rect)),
        *(each.opens, each.closure, each.carried, _yes_no(each.locked), _yes_no(each.sealed)),
        *(";".join(each.reach_from), each.height, each.place, each.notes),
    )


def _line(each: StockLine) -> tuple[Value, ...]:
    return (
        *(each.compartment, each.item, each.par, each.unit, each.category),
        *(_yes_no(each.critical), ";".join(each.aliases), each.presentation),
        *(_number(each.weight_kg), each.need),
        *(each.expires.isoformat() if each.expires else "", each.notes),
    )


def _point(each: Point) -> tuple[Value, ...]:
    x, y = (shortest(Decimal(str(number))) for number in (each.x, each.y))
    return each.code, each.kind, each.name, each.face, x, y, ";".join(each.serves)


def _rect(rect: Rect | None) -> tuple[Value, ...]:
    return (rect.x, rect.y, rect.w, rect.h) if rect else ("", "", "", "")


def _yes_no(flag: bool) -> str:
    return "yes" if flag else "no"


def _number(number: Decimal | None) -> Value:
    return "" if number is None else shortest(number)
