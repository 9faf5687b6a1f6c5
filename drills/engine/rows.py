"""A layout as rows of text, the rows of its workbook: to see one, to change it, to tell two apart.

Rows are named by their code, stock lines by `CODE/item key`, those of the layout by their key.
"""

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from drills.engine.layout import Layout, item_key
from drills.engine.workbook import Problem, read_sheets, sheets_of
from drills.engine.workbook.columns import COLUMNS, SHEETS
from drills.engine.workbook.problems import quote

Cells = Mapping[str, str]
PLACES, STOCK, POINTS = "compartments", "stock", "points"
TOLD = 3  # changes of one step that are told one by one

_SHARES = "shares area with "
# What a change of a cell is called, where its column is no word for it.
_WORDS = {"x": "moved", "y": "moved", "w": "size", "h": "size", "inside": "moved"}
_FIRST_ROW = 2  # the header is row 1
_ROW_WORDS = re.compile(r" \(row \d+\)|, which row \d+ [^,]* too,")


class EditError(ValueError):
    """A change that no workbook could say; `faults` are its sentences by column.

    What is wrong with no cell of the row itself stands under the empty column.
    """

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = dict(faults)


class MeanwhileError(ValueError):
    """A row that is not as it was seen; `now` is empty when it is gone."""

    def __init__(self, now: Cells) -> None:
        super().__init__("This was changed meanwhile.")
        self.now = dict(now)


@dataclass
class Sheets:
    """A layout as rows of text that can be changed, one dictionary a row."""

    rows: dict[str, list[dict[str, str]]] = field(default_factory=dict)

    @classmethod
    def of(cls, layout: Layout) -> "Sheets":
        found = sheets_of(layout)
        return cls(
            {
                sheet: [
                    dict(zip(COLUMNS[sheet], map(str, row), strict=True))
                    for row in found.get(sheet, [()])[1:]
                ]
                for sheet in SHEETS
            }
        )

    def at(self, sheet: str, name: str) -> int:
        """The position of a row; raises `EditError` where there is none."""
        for at, row in enumerate(self.rows[sheet]):
            if name_of(sheet, row) == name:
                return at
        raise EditError({"": f"{quote(name)} is not in this draft any more."})

    def read(self, sheet: str = "", at: int = -1) -> Layout:
        """The layout that the rows make; faults of the row that was changed go by its columns."""
        parsed = read_sheets(
            {
                each: [COLUMNS[each], *(tuple(row.values()) for row in rows)]
                for each, rows in self.rows.items()
                if rows or each != POINTS
            }
        )
        if parsed.layout is None:
            raise EditError(self._faults(parsed.problems, sheet, at + _FIRST_ROW))
        return parsed.layout

    def _faults(self, problems: Sequence[Problem], sheet: str, row: int) -> dict[str, str]:
        """Sentences by column of the row that was changed; those of other rows name them."""
        found: dict[str, list[str]] = {}
        for each in problems:
            is_own = (each.sheet, each.row) == (sheet, row)
            column = each.column if is_own else ""
            said = _sentence(each)
            if not is_own and each.row:
                said = (
                    f"{name_of(each.sheet, self.rows[each.sheet][each.row - _FIRST_ROW])}: {said}"
                )
            found.setdefault(column, []).append(said)
        return {column: " ".join(dict.fromkeys(said)) for column, said in found.items()}


def cells_of(layout: Layout, sheet: str, name: str) -> dict[str, str]:
    """One row in text, by the names of its columns; empty where there is no such row."""
    rows = Sheets.of(layout).rows[sheet]
    return next((row for row in rows if name_of(sheet, row) == name), {})


def mark_of(cells: Cells) -> str:
    """A short word for a row as it stands, which is another when anything in it is."""
    said = "\x1f".join(f"{column}\x1e{cells[column]}" for column in sorted(cells))
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def mark_of_all(layout: Layout, code: str) -> str:
    """A short word for a compartment with every row that lies in it."""
    inside = {
        each.code
        for each in layout.compartments
        if any(above.code == code for above in layout.chain(each.code))
    }
    sheets = Sheets.of(layout)
    rows = [row for row in sheets.rows[PLACES] if row["code"] in inside]
    rows += [row for row in sheets.rows[STOCK] if row["compartment"] in inside]
    return mark_of({str(number): mark_of(row) for number, row in enumerate(rows)})


def told(before: Layout, now: Layout) -> str:
    """What tells two states of one draft apart, in a few words for a list of steps."""
    was, becomes = Sheets.of(before).rows, Sheets.of(now).rows
    said = [words for sheet in SHEETS for words in _told_of(sheet, was[sheet], becomes[sheet])]
    more = len(said) - TOLD
    return "; ".join(said[:TOLD]) + (f"; {more} more" if more > 0 else "") or "the order"


def expect(layout: Layout, sheet: str, name: str, mark: str) -> None:
    """Raise `MeanwhileError` unless a row is as the one who changes it saw it."""
    now = cells_of(layout, sheet, name)
    if mark_of(now) != mark:
        raise MeanwhileError(now)


def _told_of(sheet: str, was: Sequence[Cells], becomes: Sequence[Cells]) -> list[str]:
    old = {name_of(sheet, row): row for row in was}
    new = {name_of(sheet, row): row for row in becomes}
    stayed = [name for name in new if name in old and new[name] != old[name]]
    return [
        *_counted("added", [name for name in new if name not in old]),
        *_counted("taken out", [name for name in old if name not in new]),
        *(f"{name}: {', '.join(_changed(old[name], new[name]))}" for name in stayed),
    ]


def _changed(was: Cells, now: Cells) -> Iterable[str]:
    """What changed of a row, in words, each once."""
    columns = (column for column in now if now[column] != was[column])
    return dict.fromkeys(_WORDS.get(each, each.replace("_", " ")) for each in columns)


def _counted(what: str, names: list[str]) -> list[str]:
    if len(names) > TOLD:
        return [f"{len(names)} {what}"]
    return [f"{name} {what}" for name in names]


def name_of(sheet: str, row: Cells) -> str:
    """What a row is named by."""
    if sheet == STOCK:
        return f"{row['compartment']}/{item_key(row['item'])}"
    return row["key"] if sheet == "layout" else row["code"]


def _sentence(problem: Problem) -> str:
    got = _ROW_WORDS.sub("", problem.got)
    if _SHARES in got:
        return f"It would lie over {got.partition(_SHARES)[2]}. Places in one stand side by side."
    accepted = problem.accepted.removesuffix(" in this column")
    return f"{got[0].upper()}{got[1:]} came in; accepted is {accepted}."
