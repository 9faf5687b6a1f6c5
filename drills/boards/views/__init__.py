"""What each role sees first, and the pages that join rooms: one file for each role."""

from drills.boards.views.educator import educator, educator_csv
from drills.boards.views.exactly import (
    assign_cohort,
    assign_crew,
    assign_exactly,
    start_exactly,
)
from drills.boards.views.fto import fto, person
from drills.boards.views.guide import chapter, guide
from drills.boards.views.hire import drills, hire, home
from drills.boards.views.known import known, model
from drills.boards.views.offers import assign_moved, dismiss_moved, what_moved
from drills.boards.views.practice import practice, practice_sheet
from drills.boards.views.readiness import calls, crew, readiness

__all__ = [
    "assign_cohort",
    "assign_crew",
    "assign_exactly",
    "assign_moved",
    "calls",
    "chapter",
    "crew",
    "dismiss_moved",
    "drills",
    "educator",
    "educator_csv",
    "fto",
    "guide",
    "hire",
    "home",
    "known",
    "model",
    "person",
    "practice",
    "practice_sheet",
    "readiness",
    "start_exactly",
    "what_moved",
]
