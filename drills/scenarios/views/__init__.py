"""Pages of call types, and of what a drill asks."""

from drills.scenarios.views.ailing import add_problem_line, problem, problem_line, problems
from drills.scenarios.views.beginning import add_problem, delete_problem
from drills.scenarios.views.building import add_recipe, change_recipe, recipe_state, recipes
from drills.scenarios.views.editing import add_row, review, row
from drills.scenarios.views.living import add, state
from drills.scenarios.views.looking import call, calls, on_layout
from drills.scenarios.views.recipes import recipe, version
from drills.scenarios.views.sorting import sorting
from drills.scenarios.views.workbook import export, import_, store

__all__ = [
    "add",
    "add_problem",
    "add_problem_line",
    "add_recipe",
    "add_row",
    "call",
    "calls",
    "change_recipe",
    "delete_problem",
    "export",
    "import_",
    "on_layout",
    "problem",
    "problem_line",
    "problems",
    "recipe",
    "recipe_state",
    "recipes",
    "review",
    "row",
    "sorting",
    "state",
    "store",
    "version",
]
