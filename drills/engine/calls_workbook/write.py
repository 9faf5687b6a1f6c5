"""Call types to a workbook, in the form they are read from.

The same call types always give the same bytes, and reading them gives back equal ones.
"""

from collections.abc import Mapping

from drills.engine.calls_workbook.columns import (
    ABOUT,
    BOOK,
    COLUMNS,
    FORMAT,
    NEEDS,
    PATIENTS,
    PHRASES,
)
from drills.engine.calls_workbook.rows import Kept, cells_of
from drills.engine.workbook.archive import pack
from drills.engine.workbook.csvtext import write_files
from drills.engine.workbook.sheets import Value, write_sheets

Rows = list[tuple[Value, ...]]


def to_zip(calls: Mapping[str, Kept]) -> bytes:
    """The workbook as an archive of its CSV files; call types by slug."""
    return pack(write_files(sheets_of(calls)))


def to_xlsx(calls: Mapping[str, Kept]) -> bytes:
    """The workbook as a spreadsheet: texts as text, never a formula."""
    return write_sheets(sheets_of(calls))


def sheets_of(calls: Mapping[str, Kept]) -> dict[str, Rows]:
    """The rows of each sheet, its header first."""
    sheets: dict[str, Rows] = {BOOK: [COLUMNS[BOOK], ("format", FORMAT)]}
    sheets[ABOUT] = [COLUMNS[ABOUT]]
    sheets[ABOUT] += [(slug, *cells_of(ABOUT, call).values()) for slug, call in calls.items()]
    for sheet in (PHRASES, PATIENTS, NEEDS):
        sheets[sheet] = [COLUMNS[sheet]]
        for slug, call in calls.items():
            sheets[sheet] += [(slug, *cells_of(sheet, row).values()) for row in call[sheet]]
    return sheets
