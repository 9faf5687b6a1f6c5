"""Attempts that are numbered: what uses one up, and what there is when none is left."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PairingFactory, RecipeFactory
from drills.engine.moves import LAPSES_AFTER
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import call_away, contest, decide_contest, start_run
from drills.runs.models import Assignment, Presentation, Run, Verdict
from drills.runs.models import runs as runs_module
from drills.scenarios.models import Recipe
from tests.runs.assignments import GIVEN, given, standing, taken
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, wrong

LATER = GIVEN + timedelta(hours=1)
pytestmark = pytest.mark.django_db


@pytest.fixture
def recipe(db: None) -> Recipe:
    return RecipeFactory.create(slug="five", kinds="locate:5", pass_marks_percent=80, minutes=7)


@pytest.fixture
def assignment(recipe: Recipe, hire: Person, fto: Person) -> Assignment:
    return given(recipe, [hire], by=fto, attempts=2)


def started(person: Person, recipe: Recipe, rig: Rig) -> Run:
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=LATER)


def test_each_attempt_is_of_a_seed_of_its_own_and_the_last_ends_it(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    first = taken(hire, recipe, rig, now=GIVEN, choose=wrong)
    between = standing(assignment, hire)
    second = taken(hire, recipe, rig, now=LATER, choose=wrong)
    found = standing(assignment, hire)

    assert first.drill.seed != second.drill.seed
    assert (between.state, between.used, between.is_to_do) == ("not met yet", 1, True)
    assert (found.state, found.used, found.is_to_do) == ("no attempt left", 2, False)
    assert found.shown is not None
    assert found.shown.run == second
    assert started(hire, recipe, rig).assigned is None


def test_met_by_the_last_attempt_is_met(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    taken(hire, recipe, rig, now=GIVEN, choose=wrong)
    taken(hire, recipe, rig, now=LATER)

    assert standing(assignment, hire).state == "met"


def test_who_is_given_it_again_has_all_of_its_attempts(
    assignment: Assignment, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    for hours in range(2):
        taken(hire, recipe, rig, now=GIVEN + timedelta(hours=hours), choose=wrong)
    again = given(recipe, [hire], by=fto, attempts=1)
    run = started(hire, recipe, rig)

    assert run.assigned is not None
    assert run.assigned.assignment == again


def test_one_under_way_is_gone_on_with_however_often_start_is_pressed(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    first = started(hire, recipe, rig)

    assert started(hire, recipe, rig) == first
    assert Run.objects.count() == 1
    found = standing(assignment, hire)
    assert (found.state, found.used, found.open_run) == ("under way", 1, first)


def test_untimed_practice_beside_it_is_no_attempt(hire: Person, fto: Person, rig: Rig) -> None:
    checked = RecipeFactory.create(slug="checked", kinds="locate:5", mode="assessed")
    assignment = given(checked, [hire], by=fto, attempts=1)
    first = started(hire, checked, rig)
    beside = start_run(
        hire, recipe=checked, revision=rig.revision, rig=rig, now=LATER, as_practice=True
    )

    assert beside != first
    assert beside.assigned is None
    assert standing(assignment, hire).used == 1


def test_what_real_calls_emptied_uses_none_up(
    assignment: Assignment, hire: Person, rig: Rig, recipe: Recipe
) -> None:
    run = started(hire, recipe, rig)
    player = Player(run, now=LATER)
    player.past_warm_ups()
    for _ in range(run.drill.prompts.count()):
        call_away(run, now=player.now)
        player.serve()
    run.refresh_from_db()
    assert run.is_over
    found = standing(assignment, hire)

    assert (found.state, found.used, len(found.attempts)) == ("not met yet", 0, 1)


@pytest.mark.parametrize(
    ("answers", "used", "state"), [(0, 0, "not started"), (1, 1, "not met yet")]
)
def test_what_was_left_lying_counts_from_its_first_answer(
    assignment: Assignment,
    hire: Person,
    rig: Rig,
    recipe: Recipe,
    answers: int,
    used: int,
    state: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    player = Player(started(hire, recipe, rig), now=LATER)
    shown: Presentation | None = player.past_warm_ups()
    for _ in range(answers):
        assert shown is not None
        player.answer(shown, wrong(shown))
        shown = player.serve()
    monkeypatch.setattr(runs_module, "LAPSES_AFTER", LAPSES_AFTER)
    Run.objects.update(started_at=timezone.now() - LAPSES_AFTER - timedelta(minutes=1))
    found = standing(assignment, hire)

    assert (found.state, found.used, found.open_run) == (state, used, None)


def test_what_was_voided_whole_gives_its_attempt_back(
    assignment: Assignment, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    for hours in range(2):
        run = taken(hire, recipe, rig, now=GIVEN + timedelta(hours=hours), choose=wrong)
    for each in run.presentations.filter(is_retry=False).exclude(prompt=None):
        made = contest(run, token=each.token, because="It was there.", now=LATER)
        decide_contest(made, verdict=Verdict.VOIDED, answer="It was.", by=fto, now=LATER)
    found = standing(assignment, hire)

    assert (found.state, found.used) == ("not met yet", 1)


def test_given_on_the_form_and_told_on_both_sides(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, recipe: Recipe
) -> None:
    PairingFactory.create(fto=fto, crew=hire)
    officer = client_of(fto)
    sent = {"to": "person:HIRE", "recipe": "five", "due_on": "2099-01-02", "attempts": "1"}
    officer.post(reverse("runs:assign"), sent)
    assignment = Assignment.objects.get()
    assert (assignment.attempts, assignment.standard) == (1, recipe.standard)
    told = AuditEntry.objects.get(action="assign").after or {}
    assert told["attempts"] == 1

    pick_rig(hire, rig, now=timezone.now())
    client = client_of(hire)
    assert "0 of 1 attempt made" in _text(client.get(reverse("boards:hire")).content)
    brief = client.post(reverse("runs:start"), {"recipe": "five"}, follow=True)
    assert "Attempt 1 of 1." in _text(brief.content)
    Run.objects.update(started_at=timezone.now() - timedelta(hours=1))
    again = client.post(reverse("runs:start"), {"recipe": "five"}, follow=True)
    assert "This attempt is under way since" in _text(again.content)
    Player(Run.objects.get(), now=timezone.now()).finish(wrong)

    assert "no attempt left" in _text(client.get(reverse("boards:hire")).content)
    other = client.post(reverse("runs:start"), {"recipe": "five"}, follow=True)
    assert "you have made every attempt that you had" in _text(other.content)
    assert "1 with no attempt left" in _text(officer.get(reverse("boards:fto")).content)
    page = _text(officer.get(reverse("runs:assignment", args=[assignment.pk])).content)
    assert "1 attempt each" in page
    assert "no attempt left" in page


@pytest.mark.parametrize("attempts", ["0", "21", "two"])
def test_a_number_that_cannot_be_is_refused(
    officer: Client, hire: Person, recipe: Recipe, attempts: str
) -> None:
    sent = {"to": "person:HIRE", "recipe": "five", "due_on": "2099-01-02", "attempts": attempts}
    answer = officer.post(reverse("runs:assign"), sent)

    assert answer.status_code == 422
    assert f"Attempts: “{attempts}” came in. A whole number from 1 to 20 is accepted." in _text(
        answer.content
    )


@pytest.fixture
def officer(client_of: ClientOf, fto: Person, hire: Person) -> Client:
    PairingFactory.create(fto=fto, crew=hire)
    return client_of(fto)


def _text(content: bytes) -> str:
    return re.sub(r"\s+", " ", content.decode())
