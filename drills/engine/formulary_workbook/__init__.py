"""The formulary workbook, `readiness-formulary/1`: read with every problem named, and written back.

Files, cells and messages are those of the layout workbook (`drills.engine.workbook`). Here are its
sheets (`columns`), what they say (`book`), amounts and bases (`amounts`), the rules of reading
(`medicines`, `rules`, `doses`, `mixing`), and on top `read`, `write` and `guide`.
"""

from drills.engine.formulary_workbook.book import Book, Known, Medicine, Packed, Rule
from drills.engine.formulary_workbook.guide import guide
from drills.engine.formulary_workbook.read import ReadBook, read_book
from drills.engine.formulary_workbook.write import blank_book, to_csv, to_xlsx, to_zip

__all__ = [
    "Book",
    "Known",
    "Medicine",
    "Packed",
    "ReadBook",
    "Rule",
    "blank_book",
    "guide",
    "read_book",
    "to_csv",
    "to_xlsx",
    "to_zip",
]
