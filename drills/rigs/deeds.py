"""What a keeper does to a draft on its page: what was posted, as a change of the layout."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from drills.engine import editing
from drills.engine.layout import Layout, item_key
from drills.engine.rows import (
    PLACES,
    POINTS,
    STOCK,
    MeanwhileError,
    cells_of,
    expect,
    mark_of_all,
)
from drills.engine.workbook.columns import COLUMNS, NOTES_LENGTH
from drills.rigs.reading import terms_elsewhere

Posted = Mapping[str, str]
LONGEST_CELL = 4 * NOTES_LENGTH  # more than any cell may hold: the reader says how much it may
LONGEST_PASTE = 200_000

# One press of a button of the pad, in units of the grid.
SHIFTS: Mapping[str, Mapping[str, int]] = {
    "left": {"x": -1},
    "right": {"x": 1},
    "up": {"y": -1},
    "down": {"y": 1},
    "narrower": {"w": -1},
    "wider": {"w": 1},
    "shorter": {"h": -1},
    "taller": {"h": 1},
}


@dataclass(frozen=True, slots=True)
class Deed:
    """A change, and what to show when it is done or refused.

    `sheet`, `name` and `cells` are the row that was written and how; `shown` is the query that
    shows what became of it. Moves that follow each other are one step.
    """

    change: Callable[[Layout], Layout]
    shown: Mapping[str, str]
    sheet: str = ""
    name: str = ""
    cells: Mapping[str, str] = field(default_factory=dict)
    is_move: bool = False


def read_deed(kind: str, posted: Posted) -> Deed | None:
    """The deed of a kind; None for a kind that is none."""
    reader = _READERS.get(kind)
    return reader(posted) if reader else None


def _place(posted: Posted) -> Deed:
    name, cells = _row(posted, PLACES)

    def change(layout: Layout) -> Layout:
        if not name:
            return editing.add_place(layout, cells)
        expect(layout, PLACES, name, posted.get("mark", ""))
        return editing.change_place(layout, name, cells)

    return Deed(change, {"at": cells.get("code", name).strip()}, PLACES, name, cells)


def _shift(posted: Posted) -> Deed:
    """One press of the pad, or where the pointer let the rectangle go."""
    name, units = posted.get("at", ""), SHIFTS.get(posted.get("move", ""))

    def change(layout: Layout) -> Layout:
        if units is not None:
            return editing.shift_place(layout, name, **units)
        expect(layout, PLACES, name, posted.get("mark", ""))
        rect = {side: posted.get(side, "") for side in ("x", "y", "w", "h")}
        return editing.put_rect(layout, name, rect)

    return Deed(change, {"at": name}, PLACES, name, is_move=True)


def _remove_place(posted: Posted) -> Deed:
    """All that lies in it goes along, so all of it must be as it was seen."""
    name = posted.get("at", "")

    def change(layout: Layout) -> Layout:
        if mark_of_all(layout, name) != posted.get("mark", ""):
            raise MeanwhileError(cells_of(layout, PLACES, name))
        return editing.remove_place(layout, name)

    return Deed(change, {}, PLACES, name)


def _line(posted: Posted) -> Deed:
    name, cells = _row(posted, STOCK)
    place = cells.get("compartment", "").strip()

    def change(layout: Layout) -> Layout:
        if not name:
            return editing.add_lines(layout, place, _with_terms([cells]))
        expect(layout, STOCK, name, posted.get("mark", ""))
        was, _, key = name.partition("/")
        rest = {column: cells[column] for column in cells if column != "compartment"}
        changed = editing.change_line(layout, name, rest)
        now = item_key(cells.get("item", key))
        return editing.move_line(changed, now, was, place or was)

    return Deed(change, {"at": place or name.partition("/")[0]}, STOCK, name, cells)


def _remove_line(posted: Posted) -> Deed:
    name = posted.get("at", "")
    code, _, key = name.partition("/")

    def change(layout: Layout) -> Layout:
        expect(layout, STOCK, name, posted.get("mark", ""))
        return editing.remove_line(layout, key, code)

    return Deed(change, {"at": code}, STOCK, name)


def _paste(posted: Posted) -> Deed:
    code, text = posted.get("compartment", ""), posted.get("rows", "")[:LONGEST_PASTE]

    def change(layout: Layout) -> Layout:
        return editing.add_lines(layout, code, _with_terms(editing.pasted_lines(text)))

    return Deed(change, {"at": code}, cells={"rows": text})


def _with_terms(lines: Sequence[Mapping[str, str]]) -> list[dict[str, str]]:
    """The lines, each with what belongs to its item on other layouts where it says nothing else."""
    keys = [item_key(cells.get("item", "")) for cells in lines]
    known = terms_elsewhere(set(keys))
    return [
        known.get(key, {}) | _said(cells, is_known=key in known)
        for key, cells in zip(keys, lines, strict=True)
    ]


def _said(cells: Mapping[str, str], *, is_known: bool) -> dict[str, str]:
    """The cells that say something; an item that is known is called as the agency calls it."""
    return {
        column: text
        for column, text in cells.items()
        if text.strip() and not (is_known and column == "item")
    }


def _point(posted: Posted) -> Deed:
    name, cells = _row(posted, POINTS)

    def change(layout: Layout) -> Layout:
        if not name:
            return editing.add_point(layout, cells)
        expect(layout, POINTS, name, posted.get("mark", ""))
        return editing.change_point(layout, name, cells)

    return Deed(change, {"point": cells.get("code", name).strip()}, POINTS, name, cells)


def _remove_point(posted: Posted) -> Deed:
    name = posted.get("at", "")

    def change(layout: Layout) -> Layout:
        expect(layout, POINTS, name, posted.get("mark", ""))
        return editing.remove_point(layout, name)

    return Deed(change, {}, POINTS, name)


def _row(posted: Posted, sheet: str) -> tuple[str, dict[str, str]]:
    """The row that is meant, and its cells as they came; what the form left out stays as it is."""
    cells = {
        column: posted[column][:LONGEST_CELL]
        for column in COLUMNS[sheet]
        if column in posted and column != "place"
    }
    return posted.get("at", ""), cells


_READERS: Mapping[str, Callable[[Posted], Deed]] = {
    "place": _place,
    "shift": _shift,
    "remove-place": _remove_place,
    "line": _line,
    "remove-line": _remove_line,
    "paste": _paste,
    "point": _point,
    "remove-point": _remove_point,
}
