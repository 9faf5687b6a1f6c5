"""One CSV table under its header, for files that are one list of ours.

UTF-8 with or without BOM; commas, semicolons or tabs; CRLF or LF; header names in any case, with
spaces, hyphens or underscores.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from drills.engine.workbook.cells import Row, tidy
from drills.engine.workbook.csvtext import read_rows, write_rows
from drills.engine.workbook.problems import Report, quote

BOM = b"\xef\xbb\xbf"  # without it some spreadsheets read UTF-8 as something else


@dataclass(frozen=True, slots=True)
class Headed:
    """How a table is written. `by_name` gives the column of each header in small letters, and
    `needed` are those that must be there.

    `most` rows are read, told as so many of `of`; `empty` says what is accepted instead of an
    empty file, and of one without rows where `wants_rows`. `overhang` is advice for a row that is
    longer than the header.
    """

    by_name: Mapping[str, str]
    needed: tuple[str, ...]
    most: int
    of: str
    empty: str
    overhang: str
    wants_rows: bool = False


def read_headed(data: bytes, form: Headed, report: Report) -> Iterator[Row]:
    """The rows that hold anything, each with its cells by column; whatever is wrong is reported.

    A row that ends early has empty cells; a column that is not there has none.
    """
    rows = [(n, cells) for n, cells in read_rows("", data, report) if any(map(str.strip, cells))]
    if len(rows) < 1 + form.wants_rows:
        if not report.count:  # else it could not be read, and has its problem already
            report.refuse_file("a header without rows" if rows else "an empty file", form.empty)
        return
    (number, header), *below = rows
    columns = _columns(number, header, form, report)
    if len(below) > form.most:
        report.refuse_file(f"{len(below)} rows", f"at most {form.most} {form.of}")
    elif _has_needed(number, columns, form, report):
        for number, cells in below:
            _refuse_overhang(number, cells, len(header), form, report)
            yield Row("", number, _under(columns, cells), report)


def write_headed(header: Iterable[object], rows: Iterable[Iterable[object]]) -> bytes:
    """A table as `read_headed` reads it back."""
    return BOM + write_rows([header, *rows])


def _columns(number: int, header: list[str], form: Headed, report: Report) -> dict[int, str]:
    """The known columns by where they stand; what is not known is told once and kept out."""
    columns: dict[int, str] = {}
    for at, cell in enumerate(header):
        text = tidy(cell)
        name = form.by_name.get(text.replace("_", " ").replace("-", " ").casefold())
        if name is None:
            what = quote(text) if text else f"number {at + 1}"
            report.remark("", number, what, "this column is not known and is kept out")
        elif name in columns.values():
            report.refuse("", number, name, "the same column twice", "each column once")
        else:
            columns[at] = name
    return columns


def _has_needed(number: int, columns: Mapping[int, str], form: Headed, report: Report) -> bool:
    missing = [column for column in form.needed if column not in columns.values()]
    for column in missing:
        report.refuse("", number, column, "no such column", f"a header row with {column}")
    return not missing


def _under(columns: Mapping[int, str], cells: list[str]) -> dict[str, str]:
    found = {columns[at]: cell for at, cell in enumerate(cells) if at in columns}
    return dict.fromkeys(columns.values(), "") | found


def _refuse_overhang(
    number: int, cells: list[str], width: int, form: Headed, report: Report
) -> None:
    """A value under no header means that the cells of the row have shifted."""
    if any(map(str.strip, cells[width:])):
        accepted = f"at most {width}, as the header has; {form.overhang}"
        report.refuse("", number, "", f"a row of {len(cells)} cells", accepted)
