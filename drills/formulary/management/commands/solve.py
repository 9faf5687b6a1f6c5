"""Work out one problem of dosing or supply math, read and printed as JSON."""

from typing import Any

from drills.engine.dosing.reading import read_problem, told_solution
from drills.people.doors import JsonDoor


class Command(JsonDoor):
    """Reads a problem and prints its answer; no database is touched.

    What may not be drawn up as asked is worked out all the same, with the reason beside it.
    """

    help = "Work out one problem of dosing or supply math: JSON in, JSON out."

    def told(self, given: Any) -> dict[str, Any]:
        """The answer to a problem."""
        return told_solution(read_problem(given).solve())
