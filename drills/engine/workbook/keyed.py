"""What every form has: its sheets one by one, and a first one of keys and values."""

from collections.abc import Iterable, Mapping

from drills.engine.workbook.cells import Row, rows_of, tidy
from drills.engine.workbook.problems import Report, quote
from drills.engine.workbook.tables import Tables


def rows_in(tables: Tables, sheet: str, report: Report, *, optional: bool = False) -> list[Row]:
    """The rows of a sheet under its header; none, and a problem, where it is not there."""
    if sheet not in tables:
        if not optional:
            report.refuse(sheet, 0, "", "no such sheet", report.form.sheets)
        return []
    table = tables[sheet]
    return rows_of(table, report) if table else []


def keyed(rows: Iterable[Row], sheet: str, keys: Iterable[str], report: Report) -> dict[str, Row]:
    """A sheet of keys turned on its side: for each key a row whose one column has that name."""
    found: dict[str, Row] = {}
    for row in rows:
        key = tidy(row.text("key", required=True)).casefold()
        if key in found:
            row.refuse("key", f"{quote(key)} for the second time", "each key once")
        elif key in keys:
            found[key] = Row(row.sheet, row.number, {key: row.cells.get("value", "")}, report)
        elif key:
            row.remark("key", f"{quote(key)} is not known and is kept out")
    blank = Row(sheet, 0, {}, report)
    return {key: found.get(key, blank) for key in keys}


def refuse_format(about: Mapping[str, Row]) -> None:
    """Refuse a workbook that does not say it is of the form it is read as."""
    row = about["format"]
    given, wanted = row.text("format"), row.report.form.name
    if given.casefold() != wanted and (given or not row.given("format")):
        row.refuse("format", quote(given), f"a row with the key format and the value {wanted}")
