"""Recipes for the tests: what a form writes of a plain one."""

from drills.people.models import Person
from drills.scenarios.actions import make_recipe
from drills.scenarios.models import Recipe
from tests.scenarios.conftest import NOW

WRITTEN: dict[str, list[str]] = {
    "name": ["My ten"],
    "notes": ["Before the shift"],
    "mode": ["practice"],
    "n_locate": ["10"],
    "difficulty": ["2"],
    "layout_rule": ["rig today"],
    "depth": ["pocket"],
    "order": ["mixed"],
    "probes": ["20"],
    "rule_shown": ["on"],
    "minutes": ["4"],
    "pass_marks_percent": ["80"],
}


def wrote(**changes: str) -> dict[str, list[str]]:
    return WRITTEN | {name: [value] if value else [] for name, value in changes.items()}


def made(by: Person, **changes: str) -> Recipe:
    return make_recipe(wrote(**changes), like=None, by=by, now=NOW)
