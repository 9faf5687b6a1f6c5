"""The layout workbook, `readiness-layout/1`: read with every problem named, and written back.

Files build on one another in this order: `columns`, `problems`, `cells`, `archive`, `csvtext`,
`sheets`, `tables`, `keyed`, `codes`, then the rules (`presentation`, `compartments`, `points`,
`tree`, `stock`), and on top `parse` and `write`; `sample` and `guide` are for whoever fills one in.
Up to `keyed` they read whatever `Form` a report is of, and serve other workbooks of ours as well.
Nothing here knows a database, a request or a clock.
"""

from drills.engine.workbook.guide import guide
from drills.engine.workbook.parse import read_sheets, read_workbook
from drills.engine.workbook.problems import Parsed, Problem, Remark
from drills.engine.workbook.sample import SAMPLE
from drills.engine.workbook.write import blank_xlsx, sheets_of, to_csv, to_xlsx, to_zip

__all__ = [
    "SAMPLE",
    "Parsed",
    "Problem",
    "Remark",
    "blank_xlsx",
    "guide",
    "read_sheets",
    "read_workbook",
    "sheets_of",
    "to_csv",
    "to_xlsx",
    "to_zip",
]
