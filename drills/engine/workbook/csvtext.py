"""CSV text to rows of cells and back.

A cell that a spreadsheet would take for a formula is written with a single quote in front, and
reading takes that quote off again.
"""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from io import StringIO
from itertools import chain, dropwhile, islice

from drills.engine.workbook.columns import MAX_COLUMNS
from drills.engine.workbook.problems import Report

DELIMITERS = ",;\t"
# Full-width signs are among them because some spreadsheets fold them to the plain ones; a space
# before the sign, no-break spaces too, is dropped by some as they read.
GUARDED = re.compile("'*\\s*[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")


def read_rows(sheet: str, data: bytes, report: Report) -> Iterator[tuple[int, list[str]]]:
    """The rows of a CSV file with their numbers; a problem ends them."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        got = f"the byte {data[error.start]:#04x}, which is not UTF-8,"
        report.refuse(sheet, row, "", got, "a file saved as CSV UTF-8")
        return
    number = 0
    try:
        reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter_of(text), strict=True)
        for number, cells in enumerate(reader, start=1):
            beyond = islice(
                filter(None, islice(cells, MAX_COLUMNS, None)), 1
            )  # shows that more came
            yield number, [unguard(cell) for cell in chain(cells[:MAX_COLUMNS], beyond)]
    except csv.Error:
        got = "text that cannot be split into cells"
        report.refuse(sheet, number + 1, "", got, "cells whose quotes are closed")


def delimiter_of(text: str) -> str:
    """The sign that splits the header line: the one it holds most often outside quotes."""
    lines = dropwhile(
        lambda line: not line.strip(f"{DELIMITERS} \r\n"), StringIO(text, newline=None)
    )
    header = re.sub('"[^"]*"', "", next(lines, ""))
    return max(DELIMITERS, key=header.count)


def write_rows(rows: Iterable[Iterable[object]]) -> bytes:
    """The rows as CSV in UTF-8, with commas and LF."""
    target = StringIO(newline="")
    writer = csv.writer(target, lineterminator="\n")
    writer.writerows([guard(str(cell)) for cell in row] for row in rows)
    return target.getvalue().encode()


def write_files(sheets: Mapping[str, Iterable[Iterable[object]]]) -> Mapping[str, bytes]:
    """The sheets of a workbook as CSV files by name."""
    return {f"{sheet}.csv": write_rows(rows) for sheet, rows in sheets.items()}


def guard(text: str) -> str:
    """The text with a single quote in front where a spreadsheet would see a formula."""
    return f"'{text}" if GUARDED.match(text) else text


def unguard(text: str) -> str:
    """The text without the single quote that `guard` put in front."""
    return text[1:] if text.startswith("'") and GUARDED.match(text) else text
