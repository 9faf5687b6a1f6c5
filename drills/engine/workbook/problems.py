"""What reading a workbook found: a problem stops the import, a remark does not."""

from dataclasses import dataclass, replace

from drills.engine.layout import Layout
from drills.engine.workbook.columns import LAYOUT, Form

QUOTED = 60  # characters of a cell that a message repeats
MAX_PROBLEMS = 10_000  # a message each; beyond this they are only counted


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that must be put right before the workbook can be used.

    `row` is the row a person sees in a spreadsheet (the header is usually 1), 0 for the whole
    sheet; `sheet` is empty for the whole file. `got` says what came in, `accepted` what would
    have been accepted.
    """

    sheet: str
    row: int
    column: str
    got: str
    accepted: str

    def __str__(self) -> str:
        where = _where(self.sheet, self.row, self.column)
        return f"{where}: {self.got} came in; accepted is {self.accepted}."


@dataclass(frozen=True, slots=True)
class Remark:
    """Something worth knowing that stops nothing; the places are those of a problem."""

    sheet: str
    row: int
    column: str
    text: str

    def __str__(self) -> str:
        return f"{_where(self.sheet, self.row, self.column)}: {self.text}."


@dataclass(frozen=True, slots=True)
class Parsed:
    """A workbook as read. `layout` is None exactly when there are problems."""

    layout: Layout | None
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()


class Report:
    """Collects problems and remarks while a workbook is read, so that none stops the others.

    `form` is the kind of workbook that is read: messages name what it takes, in its order.
    """

    def __init__(self, form: Form = LAYOUT) -> None:
        self.form = form
        self._problems: list[Problem] = []
        self._remarks: list[Remark] = []
        self._uncounted = 0

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every problem, by sheet and row; the last tells how many more there were, if any."""
        found = tuple(sorted(self._problems, key=self._order))
        if not self._uncounted:
            return found
        more = f"{self._uncounted} more problems"
        return (*found, Problem("", 0, "", more, f"at most {MAX_PROBLEMS} to list at once"))

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Every remark, by sheet and row."""
        return tuple(sorted(self._remarks, key=self._order))

    @property
    def count(self) -> int:
        """How many problems there are, so that a reader can tell whether its part had any."""
        return len(self._problems) + self._uncounted

    def refuse(self, sheet: str, row: int, column: str, got: str, accepted: str) -> None:
        """Note a problem; `got` and `accepted` are phrases of its sentence."""
        if len(self._problems) < MAX_PROBLEMS:
            self._problems.append(Problem(sheet, row, column, got, accepted))
        else:
            self._uncounted += 1

    def suggest(self, sheet: str, row: int, column: str, text: str) -> None:
        """Add to what the problem of a cell says would be accepted."""
        for at, each in enumerate(self._problems):
            if (each.sheet, each.row, each.column) == (sheet, row, column):
                self._problems[at] = replace(each, accepted=f"{each.accepted}, {text}")
                return

    def refuse_file(self, got: str, accepted: str) -> None:
        """Note a problem of the whole file."""
        self.refuse("", 0, "", got, accepted)

    def remark(self, sheet: str, row: int, column: str, text: str) -> None:
        """Note something that stops nothing."""
        self._remarks.append(Remark(sheet, row, column, text))

    def _order(self, each: Problem | Remark) -> tuple[int, int]:
        sheets = tuple(self.form.columns)
        return (sheets.index(each.sheet) + 1 if each.sheet in sheets else 0), each.row


def quote(text: str) -> str:
    """The text as a message repeats it: in quotes, shortened, nothing invisible in it."""
    if not text:
        return "no value"
    short = text if len(text) <= QUOTED else text[: QUOTED - 1] + "…"
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in short) + '"'


def _where(sheet: str, row: int, column: str) -> str:
    parts = [f"Sheet {sheet}" if sheet else "File"]
    if row:
        parts.append(f"row {row}")
    if column:
        parts.append(f"column {column}")
    return ", ".join(parts)
