"""A workbook to a formulary: every sheet is read to its end, then the whole stands or falls."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from drills.engine.formulary_workbook.book import Book, Known, Medicine
from drills.engine.formulary_workbook.columns import (
    COLUMNS,
    FORM,
    KEYS,
    MOST_MEDICINES,
    MOST_PRESENTATIONS,
    MOST_RULES,
    NAME_LENGTH,
    NOTES_LENGTH,
    TEXT_LENGTH,
    WORD_LENGTH,
)
from drills.engine.formulary_workbook.medicines import (
    keys_in,
    read_medicines,
    read_presentations,
)
from drills.engine.formulary_workbook.rules import read_rules
from drills.engine.workbook.cells import Row
from drills.engine.workbook.keyed import keyed, refuse_format, rows_in
from drills.engine.workbook.problems import Problem, Remark, Report
from drills.engine.workbook.tables import Tables, read_tables

MOST = {"medicines": MOST_MEDICINES, "presentations": MOST_PRESENTATIONS, "rules": MOST_RULES}


@dataclass(frozen=True, slots=True)
class ReadBook:
    """A workbook as read. `book` is None exactly when there are problems.

    `rules` are code and medicine of each rule by its row, also where the workbook is refused.
    """

    book: Book | None
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()
    rules: Mapping[int, tuple[str, str]] = field(default_factory=dict)


def read_book(source: Path | bytes, known: Known, *, name: str = "") -> ReadBook:
    """A workbook of the form `readiness-formulary/1`, with every problem at once.

    `source` is the path of an `.xlsx` file, a `.zip` or a folder of CSV files, or the bytes of
    such a file; `name` is the file name that came with the bytes. Whatever comes in, nothing is
    raised.
    """
    report = Report(FORM)
    tables = read_tables(source, name, report)
    rows = {sheet: _rows(tables, sheet, report) for sheet in COLUMNS} if tables is not None else {}
    book = _book(tables, rows, known, report) if tables is not None else None
    told = zip(rows.get("rules", ()), book.rules if book else (), strict=True)
    rules = {row.number: (rule.code, rule.medicine) for row, rule in told}
    return ReadBook(None if report.count else book, report.problems, report.remarks, rules)


def _book(tables: Tables, rows: Mapping[str, list[Row]], known: Known, report: Report) -> Book:
    medicines = read_medicines(rows["medicines"], known)
    named = (_keys(tables, "medicines", rows), _keys(tables, "presentations", rows))
    presentations = read_presentations(rows["presentations"], named[0], known)
    rules = read_rules(rows["rules"], named, presentations, known)
    used = {each.medicine for each in presentations} | {each.medicine for each in rules}
    about = keyed(rows["formulary"], "formulary", KEYS, report)
    refuse_format(about)
    return Book(
        name=about["name"].text("name", limit=NAME_LENGTH, required=True),
        document=about["document"].text("document", limit=TEXT_LENGTH),
        version=about["version"].text("version", limit=WORD_LENGTH),
        date=about["date"].day("date"),
        notes=about["notes"].text("notes", limit=NOTES_LENGTH, lines=True),
        medicines=_used(rows["medicines"], medicines, used),
        presentations=presentations,
        rules=rules,
    )


def _keys(tables: Tables, sheet: str, rows: Mapping[str, list[Row]]) -> tuple[str, ...] | None:
    """The keys of a sheet; None where it could not be read, so that no cell is judged by them."""
    return keys_in(rows[sheet]) if tables.get(sheet) else None


def _used(
    rows: list[Row], medicines: tuple[Medicine, ...], used: Collection[str]
) -> tuple[Medicine, ...]:
    """The medicines that something is said of; the others are remarked and kept out."""
    for row, each in zip(rows, medicines, strict=True):
        if each.key and each.key not in used:
            row.remark("key", f"nothing is said of {each.key}, so it is kept out")
    return tuple(each for each in medicines if each.key in used)


def _rows(tables: Tables, sheet: str, report: Report) -> list[Row]:
    rows = rows_in(tables, sheet, report)
    most = MOST.get(sheet)
    if most is not None and len(rows) > most:
        report.refuse(sheet, 0, "", f"{len(rows)} rows", f"at most {most}")
        return []
    table = tables.get(sheet)
    if sheet == "rules" and table and table.rows and not rows:
        report.refuse(sheet, 0, "", "no rule", "at least one")
    return rows
