"""What each role sees first, and the pages that join rooms: one file for each role."""

from drills.boards.views.educator import educator, educator_csv
from drills.boards.views.fto import fto, person
from drills.boards.views.hire import drills, hire, home

__all__ = ["drills", "educator", "educator_csv", "fto", "hire", "home", "person"]
