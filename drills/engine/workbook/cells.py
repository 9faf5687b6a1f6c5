"""Cells, and a row of them that reads each as the kind of value its column asks for.

A reading that fails notes its problem and gives back an empty value, so that every other cell
is still read. Weights are kilograms, lengths metres.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from drills.engine.workbook.columns import NAME_LENGTH, Form
from drills.engine.workbook.problems import Report, quote

# Control characters, lone surrogates, non-characters, marks that turn the writing direction, and
# what cannot be seen and would make two names of one; joiners stay, since some scripts need them.
UNWANTED = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\xad\ud800-\udfff\u061c\u200b\u200e\u200f\u202a-\u202e"
    "\u2060-\u206f\ufeff\ufff9-\ufffb\ufffe\uffff\U000e0000-\U000e007f]"
)
# Three zeros behind a sign may mean a thousand or none at all, so they are asked about.
WHOLE = re.compile(r"([0-9]{1,9})(?:[.,](?!000$)0{1,6})?")
NUMBER = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
YES_NO = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}
FIRST_YEAR, LAST_YEAR = 2000, 2199


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A cell that holds no plain value; `got` says what it holds, such as a formula."""

    got: str


ABSENT = Unreadable("")  # stands under a required column that is missing, reported once
Cell = str | Unreadable


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet as it came in: its rows that hold anything, the first being the header."""

    sheet: str
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One row under its header. `number` is the row a person sees in a spreadsheet."""

    sheet: str
    number: int
    cells: Mapping[str, Cell]
    report: Report

    def refuse(self, column: str, got: str, accepted: str) -> None:
        """Note a problem of one cell; silent where the whole column is missing."""
        if self.cells.get(column) is not ABSENT:
            self.report.refuse(self.sheet, self.number, column, got, accepted)

    def suggest(self, column: str, text: str) -> None:
        """Add to what would be accepted in a cell that is refused already."""
        self.report.suggest(self.sheet, self.number, column, text)

    def remark(self, column: str, text: str) -> None:
        """Note something about one cell that stops nothing."""
        self.report.remark(self.sheet, self.number, column, text)

    def given(self, column: str) -> bool:
        """Whether the cell holds anything."""
        cell = self.cells.get(column, "")
        return bool(cell.strip()) if isinstance(cell, str) else cell is not ABSENT

    def text(
        self, column: str, *, limit: int = NAME_LENGTH, required: bool = False, lines: bool = False
    ) -> str:
        """The text of a cell, spaces evened out; line breaks stay only where `lines` is set."""
        cell = self.cells.get(column, "")
        if isinstance(cell, Unreadable):
            self.refuse(column, cell.got, "a typed value, not a formula or an error")
            return ""
        text = tidy(cell, lines=lines)
        if not text.isprintable() and UNWANTED.search(text):
            self.refuse(column, quote(text), "text without control characters")
            return ""
        if len(text) > limit:
            self.refuse(column, f"a text of {len(text)} characters", f"at most {limit} characters")
            return ""
        if required and not text:
            self.refuse(column, "no value", "a value in this column")
        return text

    def word(self, column: str, words: Iterable[str], *, default: str = "") -> str:
        """One word of a list, whatever its case; spaces and underscores stand for hyphens."""
        text = self.text(column)
        word = as_word(text)
        if not word or word in words:
            return word or default
        self.refuse(column, quote(text), f"one of {', '.join(words)}")
        return default

    def yes(self, column: str) -> bool:
        """Whether the cell says yes; an empty one says no."""
        text = self.text(column)
        answer = YES_NO.get(text.casefold())
        if text and answer is None:
            self.refuse(column, quote(text), "yes or no")
        return bool(answer)

    def whole(self, column: str, least: int, most: int) -> int | None:
        """A whole number from `least` to `most`; None where there is none, which is a problem."""
        text = self.text(column)
        match = WHOLE.fullmatch(text)
        number = int(match[1]) if match else None
        if number is not None and least <= number <= most:
            return number
        if text or not self.given(column):  # else it is refused already
            accepted = f"a whole number of at least {least} and at most {most}"
            self.refuse(column, quote(text), accepted)
        return None

    def decimal(self, column: str, most: int, *, zero: bool = False) -> Decimal | None:
        """A number up to `most`, with a point or a comma; None where the cell is empty."""
        text = self.text(column)
        number = Decimal(text.replace(",", ".")) if NUMBER.fullmatch(text) else None
        if number is not None and number <= most and (zero or number > 0):
            return shortest(number)
        if text:
            least = "at least 0" if zero else "more than 0"
            self.refuse(column, quote(text), f"a number {least} and at most {most}")
        return None

    def day(self, column: str) -> date | None:
        """A date; None where the cell is empty."""
        text = self.text(column)
        try:
            day = date.fromisoformat(text) if DAY.fullmatch(text) else None
        except ValueError:
            day = None
        if day and FIRST_YEAR <= day.year <= LAST_YEAR:
            return day
        if text:
            accepted = f"a date such as 2027-07-31, from {FIRST_YEAR} to {LAST_YEAR}"
            self.refuse(column, quote(text), accepted)
        return None

    def listed(self, column: str, *, limit: int, most: int) -> tuple[str, ...]:
        """The parts of a list with semicolons, each once, at most `most` of `limit` characters."""
        parts: dict[str, str] = {}
        for part in self.text(column, limit=most * (limit + 2)).split(";"):
            if text := part.strip():
                parts.setdefault(text.casefold(), text)
        if len(parts) > most:
            self.refuse(
                column, f"a list of {len(parts)}", f"at most {most} with semicolons between"
            )
        for text in parts.values():
            if len(text) > limit:
                self.refuse(column, quote(text), f"at most {limit} characters each")
        return tuple(parts.values())


def tidy(text: str, *, lines: bool = False) -> str:
    """The text in composed letters with its spaces evened out, on one line unless `lines`."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    if lines:
        return "\n".join(" ".join(line.split()) for line in text.splitlines()).strip("\n")
    return " ".join(text.split())


def as_word(text: str) -> str:
    """The text as the words of a list are written: lower case, hyphens between."""
    return text.lower().replace("_", "-").replace(" ", "-")


def shortest(number: Decimal) -> Decimal:
    """The same number without needless zeros."""
    return Decimal(number_text(number))


def number_text(number: Decimal) -> str:
    """The number in digits, without an exponent and without needless zeros."""
    return format(number.normalize(), "f")


def rows_of(table: Table, report: Report) -> list[Row]:
    """The rows of a sheet under their header.

    Missing and double columns are problems; unknown ones are remarked and kept out.
    """
    if not table.rows:
        report.refuse(
            table.sheet, 0, "", "an empty sheet", _header_wanted(table.sheet, report.form)
        )
        return []
    number, cells = table.rows[0]
    names = ["" if isinstance(cell, Unreadable) else tidy(cell).casefold() for cell in cells]
    columns = _columns(table.sheet, number, names, report)
    _remark_strays(table, names, report)
    missing = {name: ABSENT for name in report.form.needed[table.sheet] if name not in columns}
    for name in missing:
        report.refuse(
            table.sheet, number, name, "no such column", _header_wanted(table.sheet, report.form)
        )
    return [
        Row(table.sheet, number, missing | _under(columns, cells), report)
        for number, cells in table.rows[1:]
    ]


def _under(columns: Mapping[str, int], cells: tuple[Cell, ...]) -> dict[str, Cell]:
    return {name: cells[at] for name, at in columns.items() if at < len(cells)}


def _columns(sheet: str, number: int, names: list[str], report: Report) -> dict[str, int]:
    columns: dict[str, int] = {}
    for at, name in enumerate(names):
        if name in columns:
            report.refuse(sheet, number, name, "the same column twice", "each column once")
        elif name in report.form.columns[sheet]:
            columns[name] = at
        elif name:
            report.remark(sheet, number, quote(name), "this column is not known and is kept out")
    return columns


def _remark_strays(table: Table, names: list[str], report: Report) -> None:
    """Remark, once a column, values that stand under no header."""
    seen: set[int] = set()
    for number, cells in table.rows[1:]:
        for at, cell in enumerate(cells):
            nameless = at >= len(names) or not names[at]
            if nameless and cell != "" and at not in seen:
                seen.add(at)
                text = "a value under no header is kept out"
                report.remark(table.sheet, number, f"number {at + 1}", text)


def _header_wanted(sheet: str, form: Form) -> str:
    return f"a header row with {', '.join(form.needed[sheet])}"
