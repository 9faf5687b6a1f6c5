"""What each role sees first, and the pages that join rooms: one file for each role."""

from drills.boards.views.educator import educator, educator_csv
from drills.boards.views.fto import fto, person
from drills.boards.views.guide import chapter, guide
from drills.boards.views.hire import drills, hire, home

__all__ = [
    "chapter",
    "drills",
    "educator",
    "educator_csv",
    "fto",
    "guide",
    "hire",
    "home",
    "person",
]
