"""Assignments for the tests."""

from collections.abc import Collection
from datetime import UTC, date, datetime
from typing import Any

from drills.people.models import Person
from drills.runs.actions import assign, start_run
from drills.runs.assigned import Standing, rows_of_assignments, standings_of
from drills.runs.models import Assignment, Run
from drills.scenarios.models import Recipe
from tests.runs.player import Chooser, Player, right

GIVEN = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
FRIDAY = date(2026, 11, 27)


def given(recipe: Recipe, to: Collection[Person], *, by: Person, **changes: Any) -> Assignment:
    """A recipe given on Tuesday, due on Friday, with the standard of the recipe."""
    how: dict[str, Any] = {
        "due_on": FRIDAY,
        "standard": recipe.standard,
        "minutes": recipe.minutes,
        "by": by,
        "now": GIVEN,
    }
    return assign(recipe, to=to, **(how | changes))


def standing(assignment: Assignment, person: Person, *, today: date = FRIDAY) -> Standing:
    rows = rows_of_assignments().filter(assignment=assignment, person=person)
    (found,) = standings_of(list(rows), today=today)
    return found


def taken(
    person: Person, recipe: Recipe, rig: Any, *, now: datetime, choose: Chooser = right
) -> Run:
    """A whole run of the recipe by a person, from some moment on."""
    run = start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now)
    Player(run, now=now).finish(choose)
    run.refresh_from_db()
    return run
