"""A table read from its file: every cell by the type of its field, or an error with its line."""

import csv
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar, get_type_hints

from drills.engine.tables.kinds import STATUSES, Banded, Sourced

FOLDER = Path(__file__).parent
Row = TypeVar("Row", bound=Sourced)

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_WHOLE = re.compile(r"[0-9]+")


class TableError(ValueError):
    """A table of ours that cannot be read; the text names file, line, cell and what is accepted."""


def read(name: str, form: type[Row]) -> tuple[Row, ...]:
    """The rows of one of our tables by its name; `TableError` for the first that is malformed."""
    return read_file(FOLDER / f"{name}.csv", form)


def read_file(path: Path, form: type[Row]) -> tuple[Row, ...]:
    """The rows of a file in its order, at least one; `TableError` for the first malformed."""
    with path.open(encoding="utf-8", newline="") as file:
        found = tuple(_rows(path.name, file, form))
    if not found:
        raise TableError(f"{path.name}: no row; at least one is needed.")
    return found


def _rows(name: str, lines: Iterator[str], form: type[Row]) -> Iterator[Row]:
    reader = csv.reader(lines, strict=True)
    columns = sorted(each.name for each in fields(form))
    header = next(reader, [])
    if sorted(header) != columns:
        raise TableError(f"{name} line 1: {', '.join(header)}; needed are {', '.join(columns)}.")
    types = get_type_hints(form)
    for cells in reader:
        where = f"{name} line {reader.line_num}"
        if len(cells) != len(header):
            raise TableError(f"{where}: {len(cells)} cells; {len(header)} are needed.")
        yield _row(where, dict(zip(header, cells, strict=True)), form, types)


def _row(where: str, cells: Mapping[str, str], form: type[Row], types: Mapping[str, Any]) -> Row:
    row = form(**{name: _cell(where, name, cells[name], types[name]) for name in cells})
    if row.status not in STATUSES:
        raise TableError(f"{where}, status: {row.status!r}; accepted is {' or '.join(STATUSES)}.")
    end = row.below_months if isinstance(row, Banded) else None
    if isinstance(row, Banded) and end is not None and end <= row.from_months:
        raise TableError(f"{where}, below_months: {end} is no later than its beginning.")
    return row


def _cell(where: str, column: str, text: str, kind: Any) -> Any:
    parse, accepted = _PARSERS[kind]
    may_miss = column in _MAY_BE_EMPTY or kind in _MAY_MISS
    try:
        if text != text.strip() or not (text or may_miss):
            raise ValueError(text)
        return parse(text)
    except ValueError as error:
        raise TableError(f"{where}, {column}: {text!r}; accepted is {accepted}.") from error


def _whole(text: str) -> int:
    if not _WHOLE.fullmatch(text):
        raise ValueError(text)
    return int(text)


def _number(text: str) -> Fraction:
    if not _NUMBER.fullmatch(text):
        raise ValueError(text)
    return Fraction(text)


def _yes(text: str) -> bool:
    if text not in {"yes", "no"}:
        raise ValueError(text)
    return text == "yes"


_PARSERS: Mapping[Any, tuple[Callable[[str], Any], str]] = {
    str: (str, "a text"),
    int: (_whole, "a whole number"),
    bool: (_yes, "yes or no"),
    Fraction: (_number, "a number such as 0.28"),
    int | None: (lambda text: _whole(text) if text else None, "a whole number or nothing"),
    Fraction | None: (lambda text: _number(text) if text else None, "a number or nothing"),
}
_MAY_BE_EMPTY = ("note", "also")
_MAY_MISS = (int | None, Fraction | None)
