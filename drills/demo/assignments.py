"""What the officers of the demonstration gave their people, and what came of it."""

from datetime import datetime, timedelta

from django.utils import timezone

from drills.demo.history import Lived
from drills.demo.simulation import Character, take_drill
from drills.people.access import paired_with
from drills.people.models import Cohort, Person
from drills.rigs.models import RigPick
from drills.runs.actions import assign, excuse
from drills.runs.models import Assigned, Assignment
from drills.scenarios.models import Recipe

TEN, FIRST_CALL, CRITICAL = "find-ten", "multi-patient-first", "critical-only"


def give_drills(officer: Person, lived: Lived, *, now: datetime) -> None:
    """Ten things to the officer's own people, some done; a check that one missed; and a first call
    for the autumn intake, which nobody has taken yet."""
    own = list(paired_with(officer, now=now).order_by("employee_number"))
    ten = _give(TEN, own, days=2, by=officer, now=now - timedelta(days=3))
    for person in own[1:5]:
        _take(person, ten, lived, at=now - timedelta(days=2))
    checked_at = now - timedelta(days=8)
    check = _give(CRITICAL, own[1:4], days=-1, attempts=2, by=officer, now=checked_at)
    _take(own[1], check, lived, at=now - timedelta(days=4))
    on_leave = Assigned.objects.filter(assignment=check, person=own[2])
    excuse(list(on_leave), because="On leave that week", by=officer, now=now - timedelta(days=2))
    intake = Cohort.objects.get(slug="autumn-intake")
    _give(FIRST_CALL, list(intake.members.all()), days=9, by=officer, now=now - timedelta(days=1))


def _give(
    slug: str,
    people: list[Person],
    *,
    days: int,
    attempts: int | None = None,
    by: Person,
    now: datetime,
) -> Assignment:
    """A recipe with its own standard, due so many days from the day the service is made."""
    recipe = Recipe.objects.get(slug=slug)
    return assign(
        recipe,
        to=people,
        due_on=timezone.localdate() + timedelta(days=days),
        standard=recipe.standard,
        minutes=recipe.minutes,
        attempts=attempts,
        by=by,
        now=now,
    )


def _take(person: Person, assignment: Assignment, lived: Lived, *, at: datetime) -> None:
    """On the rig they ride; who picked none yet has not begun."""
    pick = RigPick.objects.filter(person=person).select_related("rig__revision").first()
    if pick is not None:
        seed = int(person.employee_number.removeprefix("SB"))
        character = Character(seed, knows=0.6, lived=lived)
        take_drill(person, pick.rig, assignment.recipe, character, at=at)
