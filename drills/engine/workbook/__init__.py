"""The layout workbook, `readiness-layout/1`: read with every problem named, and written back.

Files build on one another in this order: `problems`, `columns`, `cells`, `archive`, `csvtext`,
`sheets`, `tables`, `codes`, then the rules (`presentation`, `compartments`, `points`, `tree`,
`stock`), and on top `parse` and `write`. Nothing here knows a database, a request or a clock.
"""

from drills.engine.workbook.parse import read_workbook
from drills.engine.workbook.problems import Parsed, Problem, Remark
from drills.engine.workbook.write import to_csv, to_xlsx, to_zip

__all__ = ["Parsed", "Problem", "Remark", "read_workbook", "to_csv", "to_xlsx", "to_zip"]
