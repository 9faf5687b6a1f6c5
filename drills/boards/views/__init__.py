"""What each role sees first, and the pages that join rooms: one file for each role."""

from drills.boards.views.educator import educator
from drills.boards.views.fto import fto, person
from drills.boards.views.hire import drills, hire, home

__all__ = ["drills", "educator", "fto", "hire", "home", "person"]
