"""What is done here: drills are made, call types come, change and go, sorting is set."""

from drills.scenarios.actions.ailing import add_problem, change_problem, delete_problem
from drills.scenarios.actions.calls import (
    CallRefusedError,
    RowRefusedError,
    change_row,
    import_calls,
    remove_row,
    review_call,
)
from drills.scenarios.actions.lives import (
    add_call,
    delete_call,
    restore_call,
    retire_call,
)
from drills.scenarios.actions.making import make_drill
from drills.scenarios.actions.sorting import SortingRefusedError, set_sorting

__all__ = [
    "CallRefusedError",
    "RowRefusedError",
    "SortingRefusedError",
    "add_call",
    "add_problem",
    "change_problem",
    "change_row",
    "delete_call",
    "delete_problem",
    "import_calls",
    "make_drill",
    "remove_row",
    "restore_call",
    "retire_call",
    "review_call",
    "set_sorting",
]
