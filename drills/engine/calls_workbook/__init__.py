"""The workbook of call types, `readiness-calls/1`: read with every problem named, and written.

Files, cells and messages are those of the layout workbook (`drills.engine.workbook`). Here are its
sheets (`columns`), what one row says and how it is written (`rows`), and on top `read` and `write`.
The page of one call type judges a row that is written there by the same `rows`.
"""

from drills.engine.calls_workbook.columns import ABOUT, NEEDS, PATIENTS, PHRASES, Known
from drills.engine.calls_workbook.compare import ABOUT_COLUMNS, PARTS, Step, compared
from drills.engine.calls_workbook.read import ReadCalls, judged_slug, read_calls
from drills.engine.calls_workbook.rows import READERS, Kept, cells_of, judged
from drills.engine.calls_workbook.write import to_xlsx, to_zip

__all__ = [
    "ABOUT",
    "ABOUT_COLUMNS",
    "NEEDS",
    "PARTS",
    "PATIENTS",
    "PHRASES",
    "READERS",
    "Kept",
    "Known",
    "ReadCalls",
    "Step",
    "cells_of",
    "compared",
    "judged",
    "judged_slug",
    "read_calls",
    "to_xlsx",
    "to_zip",
]
