"""Giving drills to people: what is kept, how far each is, and what is refused."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from drills.demo.factories import PersonFactory, RecipeFactory
from drills.engine.recipes import CannotApplyError
from drills.engine.standards import Standard
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.actions import call_away, excuse, start_run, take_back_excuse, withdraw
from drills.runs.assigned import assigned_to, rows_of_assignments, standings_of
from drills.runs.models import Assigned, Assignment, Run
from drills.scenarios.models import Recipe
from tests.runs.assignments import FRIDAY, GIVEN, given, standing, taken
from tests.runs.conftest import SEED
from tests.runs.player import Chooser, Player, right, wrong

pytestmark = pytest.mark.django_db


@pytest.fixture
def recipe(db: None) -> Recipe:
    return RecipeFactory.create(
        slug="five", kinds="locate:5", pass_marks_percent=80, pass_in_time_percent=50, minutes=7
    )


@pytest.fixture
def assignment(recipe: Recipe, hire: Person, fto: Person) -> Assignment:
    return given(recipe, [hire], by=fto)


def test_two_hundred_people_are_one_act(recipe: Recipe, fto: Person) -> None:
    few, many = PersonFactory.create_batch(3), PersonFactory.create_batch(200)
    with CaptureQueriesContext(connection) as of_few:
        given(recipe, few, by=fto)
    with CaptureQueriesContext(connection) as of_many:
        made = given(recipe, many, by=fto)

    assert made.assigned.count() == 200
    # A database takes so many values at a time.
    assert len(of_many) <= len(of_few) + 1
    assert AuditEntry.objects.filter(action="assign").count() == 2
    told = AuditEntry.objects.filter(action="assign").last()
    assert told is not None
    assert len((told.after or {})["to"]) == 200
    assert told.actor == fto


def test_two_hundred_standings_take_as_many_queries_as_one(
    recipe: Recipe, assignment: Assignment, fto: Person
) -> None:
    given(recipe, PersonFactory.create_batch(200), by=fto)
    with CaptureQueriesContext(connection) as of_one:
        standings_of(list(rows_of_assignments().filter(assignment=assignment)), today=FRIDAY)
    with CaptureQueriesContext(connection) as of_all:
        found = standings_of(list(rows_of_assignments()), today=FRIDAY)

    assert len(found) == 201
    assert len(of_all) == len(of_one) <= 5


@pytest.mark.parametrize(
    ("due", "words"),
    [(date(2026, 11, 23), "2026-11-23 came in, which is past. 2026-11-24 or later is accepted")],
)
def test_a_day_that_is_past_is_refused(
    recipe: Recipe, hire: Person, fto: Person, due: date, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        given(recipe, [hire], by=fto, due_on=due)
    assert not Assignment.objects.exists()


def test_nobody_and_who_left_are_refused(recipe: Recipe, hire: Person, fto: Person) -> None:
    left = PersonFactory.create(employee_number="LEFT", is_active=False)

    with pytest.raises(ValueError, match="Nobody was chosen"):
        given(recipe, [], by=fto)
    with pytest.raises(ValueError, match="LEFT left the service"):
        given(recipe, [hire, left], by=fto)
    assert not Assigned.objects.exists()


def test_what_cannot_be_drilled_yet_is_not_assigned(hire: Person, fto: Person) -> None:
    later = RecipeFactory.create(slug="later", focus=["what glows"])

    with pytest.raises(CannotApplyError, match="what glows"):
        given(later, [hire], by=fto)


def test_begins_as_not_started(assignment: Assignment, hire: Person) -> None:
    found = standing(assignment, hire)

    assert (found.state, found.is_overdue, found.attempts) == ("not started", False, ())


def test_is_overdue_from_the_day_after(assignment: Assignment, hire: Person) -> None:
    assert not standing(assignment, hire, today=FRIDAY).is_overdue
    assert standing(assignment, hire, today=FRIDAY + timedelta(days=1)).is_overdue


def test_a_run_of_the_recipe_counts_for_it_however_it_began(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=GIVEN, seed=SEED)

    assert run.assigned is not None
    assert run.assigned.assignment == assignment
    assert standing(assignment, hire).state == "under way"


def test_of_another_recipe_or_person_does_not(
    assignment: Assignment, hire: Person, outsider: Person, rig: Rig, recipe: Recipe
) -> None:
    other = RecipeFactory.create(slug="other", kinds="locate:5")
    for person, taken_recipe in ((hire, other), (outsider, recipe)):
        run = start_run(
            person, recipe=taken_recipe, revision=rig.revision, rig=rig, now=GIVEN, seed=SEED
        )
        assert run.assigned is None


def test_meeting_the_standard_meets_it(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN)

    found = standing(assignment, hire)
    assert (found.state, found.sign) == ("met", "right")
    assert found.attempts[0].result.marks == 100


@pytest.mark.parametrize(
    ("finished", "state"),
    [
        # Friday is over in Denver seven hours after it is over in Greenwich.
        (datetime(2026, 11, 28, 6, 30, tzinfo=UTC), "met"),
        (datetime(2026, 11, 28, 7, 30, tzinfo=UTC), "met late"),
    ],
)
def test_the_day_ends_where_the_service_is(
    settings: Any,
    assignment: Assignment,
    hire: Person,
    rig: Rig,
    recipe: Recipe,
    finished: datetime,
    state: str,
) -> None:
    settings.TIME_ZONE = "America/Denver"
    run = taken(hire, recipe, rig, now=GIVEN)
    Run.objects.filter(pk=run.pk).update(finished_at=finished)

    assert standing(assignment, hire).state == state


def test_on_its_very_day_it_is_met_and_met_again_later_stays_met(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    for days, expected in ((3, "met"), (4, "met")):
        taken(hire, recipe, rig, now=GIVEN + timedelta(days=days))
        assert standing(assignment, hire).state == expected


@pytest.mark.parametrize(
    ("seconds", "choose", "state", "counted"),
    [
        (4.0, right, "met", (5, 5)),
        (20.0, right, "not met yet", (5, 0)),
        (4.0, wrong, "not met yet", (0, 0)),
    ],
)
def test_the_share_in_time_is_of_what_was_right_and_has_a_limit(
    hire: Person,
    fto: Person,
    rig: Rig,
    recipe: Recipe,
    seconds: float,
    choose: Chooser,
    state: str,
    counted: tuple[int, int],
) -> None:
    """A thing has a limit once it was found: after six weeks of drills each of the five has."""
    how: dict[str, Any] = {"recipe": recipe, "revision": rig.revision, "rig": rig, "seed": SEED}
    after = GIVEN + timedelta(days=1)
    for weeks in range(7, 1, -1):
        before = GIVEN - timedelta(weeks=weeks)
        Player(start_run(hire, now=before, **how), now=before).finish()
    assignment = given(recipe, [hire], by=fto)
    Player(start_run(hire, now=after, **how), now=after).finish(choose, seconds=seconds)

    found = standing(assignment, hire)

    assert found.state == state
    assert (found.attempts[0].result.limited, found.attempts[0].result.in_time) == counted


def test_after_the_day_it_is_met_late(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN + timedelta(days=4))

    assert standing(assignment, hire).state == "met late"


def test_falling_short_says_of_what_and_may_be_tried_again(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN, choose=wrong)
    first = standing(assignment, hire)
    taken(hire, recipe, rig, now=GIVEN + timedelta(hours=1))

    assert first.state == "not met yet"
    assert first.attempts[0].shortfalls == ("marks 0 of 100, 80 asked",)
    assert standing(assignment, hire).state == "met"
    assert len(standing(assignment, hire).attempts) == 2


def test_a_run_emptied_by_calls_meets_nothing(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=GIVEN, seed=SEED)
    player = Player(run, now=GIVEN)
    player.past_warm_ups()
    for _ in range(40):
        call_away(run, now=player.now)
        if player.serve() is None:
            break

    assert "not complete: 0 of 5" in standing(assignment, hire).attempts[0].shortfalls[0]


def test_the_standard_of_the_assignment_stands_when_the_recipe_changes(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    Recipe.objects.update(pass_marks_percent=0, pass_in_time_percent=None)
    recipe.refresh_from_db()
    taken(hire, recipe, rig, now=GIVEN, choose=wrong)

    assert standing(assignment, hire).state == "not met yet"


def test_an_assignment_may_ask_something_else(
    recipe: Recipe, hire: Person, fto: Person, rig: Rig
) -> None:
    easy = given(recipe, [hire], by=fto, standard=Standard())
    taken(hire, recipe, rig, now=GIVEN, choose=wrong)

    assert standing(easy, hire).state == "met"


def test_once_met_a_later_run_counts_for_the_next_one(
    assignment: Assignment, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    later = given(recipe, [hire], by=fto, due_on=FRIDAY + timedelta(days=7))
    taken(hire, recipe, rig, now=GIVEN)
    taken(hire, recipe, rig, now=GIVEN + timedelta(hours=1))

    assert standing(assignment, hire).state == standing(later, hire).state == "met"
    assert len(standing(assignment, hire).attempts) == 1


def test_excused_needs_a_reason_and_can_be_taken_back(
    assignment: Assignment, hire: Person, fto: Person
) -> None:
    rows = list(assignment.assigned.all())
    with pytest.raises(ValueError, match="No reason came in"):
        excuse(rows, because="  ", by=fto, now=GIVEN)
    assert excuse(rows, because="on leave", by=fto, now=GIVEN) == 1
    excused = standing(assignment, hire)
    assert excuse(rows, because="on leave", by=fto, now=GIVEN) == 0
    assert take_back_excuse(rows, by=fto, now=GIVEN) == 1

    assert (excused.state, excused.assigned.excused_because) == ("excused", "on leave")
    assert standing(assignment, hire).state == "not started"
    acts = AuditEntry.objects.exclude(action="assign").values_list("action", "before", "after")
    assert list(acts) == [
        ("excuse", {"HIRE": ""}, {"HIRE": "on leave"}),
        ("take back excuse", {"HIRE": "on leave"}, {"HIRE": ""}),
    ]


def test_excusing_many_is_one_act(recipe: Recipe, fto: Person) -> None:
    made = given(recipe, PersonFactory.create_batch(50), by=fto)

    assert excuse(list(made.assigned.all()), because="flood", by=fto, now=GIVEN) == 50
    assert AuditEntry.objects.filter(action="excuse").count() == 1


def test_who_is_excused_is_never_overdue(assignment: Assignment, hire: Person, fto: Person) -> None:
    excuse(list(assignment.assigned.all()), because="on leave", by=fto, now=GIVEN)

    assert not standing(assignment, hire, today=FRIDAY + timedelta(days=9)).is_overdue


def test_who_left_has_nothing_to_do_and_is_never_overdue(
    assignment: Assignment, hire: Person
) -> None:
    later = FRIDAY + timedelta(days=9)
    Person.objects.filter(pk=hire.pk).update(is_active=False)
    gone = standing(assignment, hire, today=later)
    Person.objects.filter(pk=hire.pk).update(is_active=True)
    back = standing(assignment, hire, today=later)

    assert (gone.state, gone.is_to_do, gone.is_overdue) == ("left the service", False, False)
    assert (back.state, back.is_to_do, back.is_overdue) == ("not started", True, True)


def test_what_somebody_met_before_they_left_stays_met(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN)
    Person.objects.filter(pk=hire.pk).update(is_active=False)

    assert standing(assignment, hire).state == "met"


def test_withdrawn_is_off_the_list_and_what_was_met_stays(
    assignment: Assignment, hire: Person, outsider: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    both = given(recipe, [hire, outsider], by=fto, due_on=FRIDAY + timedelta(days=1))
    taken(outsider, recipe, rig, now=GIVEN)
    assert withdraw(both, by=fto, now=GIVEN)
    assert not withdraw(both, by=fto, now=GIVEN)
    both.refresh_from_db()

    assert standing(both, hire).state == "withdrawn"
    assert standing(both, outsider).state == "met"
    assert [each.assigned.assignment for each in assigned_to(hire, today=FRIDAY)] == [assignment]
    assert AuditEntry.objects.filter(action="withdraw assignment").count() == 1


def test_what_is_met_leaves_the_list_after_its_day(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN)

    assert len(assigned_to(hire, today=FRIDAY)) == 1
    assert assigned_to(hire, today=FRIDAY + timedelta(days=1)) == []
