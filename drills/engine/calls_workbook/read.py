"""A workbook of call types: every sheet is read to its end, then the whole stands or falls."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from drills.engine.calls_workbook.columns import (
    ABOUT,
    BOOK,
    CALL,
    COLUMNS,
    FORM,
    KEYS,
    MOST_CALLS,
    MOST_OF_ONE,
    MOST_ROWS,
    NEEDS,
    PATIENTS,
    PHRASES,
    SLUG,
    SLUG_LENGTH,
    Known,
)
from drills.engine.calls_workbook.rows import READERS, Kept
from drills.engine.workbook.cells import Row
from drills.engine.workbook.keyed import keyed, refuse_format, rows_in
from drills.engine.workbook.problems import Problem, Remark, Report, quote
from drills.engine.workbook.tables import read_tables

# Words of other pages, where that of a call type would be.
TAKEN = ("import", "add", "on", "problems")
PARTS = (PHRASES, PATIENTS, NEEDS)


@dataclass(frozen=True, slots=True)
class ReadCalls:
    """A workbook as read: call types by slug, each with its columns as they are kept.

    There are none exactly when there are problems.
    """

    calls: Mapping[str, Kept]
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()


def read_calls(source: Path | bytes, known: Known, *, name: str = "") -> ReadCalls:
    """A workbook of the form `readiness-calls/1`, with every problem at once.

    `source` is the path of an `.xlsx` file, a `.zip` or a folder of CSV files, or the bytes of such
    a file; `name` is the file name that came with the bytes. Whatever comes in, nothing is raised.
    """
    report = Report(FORM)
    tables = read_tables(source, name, report)
    calls: dict[str, Kept] = {}
    if tables is not None:
        sheets = {sheet: rows_in(tables, sheet, report) for sheet in COLUMNS}
        refuse_format(keyed(sheets[BOOK], BOOK, KEYS, report))
        calls = _calls(sheets, known, report)
    return ReadCalls({} if report.count else calls, report.problems, report.remarks)


def _calls(sheets: Mapping[str, list[Row]], known: Known, report: Report) -> dict[str, Kept]:
    calls: dict[str, Kept] = {}
    for row in _some(sheets[ABOUT], MOST_CALLS, report):
        slug = _slug(row)
        about = READERS[ABOUT](row, known)
        if slug in calls:
            row.refuse(CALL, f"{quote(slug)} for the second time", "each call type once")
        calls[slug] = about | {sheet: [] for sheet in PARTS}
        if row.given("reviewed_by"):
            row.remark("reviewed_by", "a review is given on the page, so this is not read")
    if not calls and not report.count:
        report.refuse(ABOUT, 0, "", "no call type", "at least one")
    for sheet in PARTS:
        _parts(sheet, sheets[sheet], calls, known)
    return calls


def _parts(sheet: str, rows: list[Row], calls: dict[str, Kept], known: Known) -> None:
    """The rows of one sheet, each put to its call type."""
    count: Counter[str] = Counter()
    seen: dict[str, dict[str, int]] = defaultdict(dict)
    for row in _some(rows, MOST_ROWS, None):
        slug, kept = _slug(row), READERS[sheet](row, known)
        if slug and slug not in calls:
            row.refuse(CALL, quote(slug), "a call_type of the sheet calls")
            continue
        count[slug] += 1
        if count[slug] == MOST_OF_ONE + 1:
            row.refuse(CALL, f"more than {MOST_OF_ONE} rows", f"at most {MOST_OF_ONE} of one")
        same = repr(sorted(kept.items()))
        if same in seen[slug]:
            row.refuse("", f"the same as row {seen[slug][same]}", "each row once")
        seen[slug].setdefault(same, row.number)
        if slug:
            calls[slug][sheet].append(kept)


def _some(rows: list[Row], most: int, report: Report | None) -> list[Row]:
    if len(rows) > most:
        rows[0].report.refuse(rows[0].sheet, 0, "", f"{len(rows)} rows", f"at most {most}")
        return []
    return rows


def judged_slug(cells: Mapping[str, str]) -> tuple[str, tuple[Problem, ...]]:
    """The key of a call type that was written on a page, and whatever is wrong with it."""
    report = Report(FORM)
    slug = _slug(Row(ABOUT, 0, cells, report))
    return slug, report.problems


def _slug(row: Row) -> str:
    """The key of a call type; empty where it is none, which is a problem."""
    text = row.text(CALL, limit=SLUG_LENGTH, required=True)
    if text and (text in TAKEN or not SLUG.fullmatch(text)):
        row.refuse(
            CALL,
            quote(text),
            f"small letters, digits and hyphens, such as chest-pain, but not {' or '.join(TAKEN)}",
        )
        return ""
    return text
