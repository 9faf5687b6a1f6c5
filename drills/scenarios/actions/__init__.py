"""What is done here: drills, call types and recipes are made and changed, sorting is set."""

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
from drills.scenarios.actions.recipes import (
    RecipeRefusedError,
    change_recipe,
    delete_recipe,
    make_recipe,
    restore_recipe,
    retire_recipe,
    share_recipe,
)
from drills.scenarios.actions.sorting import SortingRefusedError, set_sorting

__all__ = [
    "CallRefusedError",
    "RecipeRefusedError",
    "RowRefusedError",
    "SortingRefusedError",
    "add_call",
    "add_problem",
    "change_problem",
    "change_recipe",
    "change_row",
    "delete_call",
    "delete_problem",
    "delete_recipe",
    "import_calls",
    "make_drill",
    "make_recipe",
    "remove_row",
    "restore_call",
    "restore_recipe",
    "retire_call",
    "retire_recipe",
    "review_call",
    "set_sorting",
    "share_recipe",
]
