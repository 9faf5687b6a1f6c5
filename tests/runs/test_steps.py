"""Drills that follow each other: where a person stands is said, and nothing is locked."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import answer_prompt
from drills.runs.models import Presentation
from drills.runs.steps import SERIES
from drills.scenarios.models import Mode, Recipe
from tests.runs.conftest import ClientOf
from tests.runs.player import Player
from tests.runs.test_dose import asked, dose_prompt

pytestmark = pytest.mark.django_db
DRILLS = reverse("boards:drills")
FIRST, SECOND, _ = SERIES[0]


@pytest.fixture
def second(db: None) -> Recipe:
    return RecipeFactory.create(slug=SECOND, name="Ladder, step 2", kinds="dose:5")


def took(hire: Person, rig: Rig, said: str) -> Presentation:
    """The first step in one dose, assessed, so that nothing is asked again."""
    dose = asked(hire, rig, dose_prompt(), mode=Mode.ASSESSED)
    Recipe.objects.filter(slug=FIRST).update(slug=f"{FIRST}-before")
    Recipe.objects.filter(slug="dose").update(slug=FIRST, name="Ladder, step 1")
    answer_prompt(
        dose.run,
        token=dose.token,
        tokens=[said],
        claim=None,
        now=dose.served_at + timedelta(seconds=9),
    )
    assert Player(dose.run, now=timezone.now()).serve() is None
    return dose


def words(client_of: ClientOf, person: Person, address: str) -> str:
    return " ".join(client_of(person).get(address).content.decode().split())


def of_second(client_of: ClientOf, person: Person) -> str:
    return words(client_of, person, DRILLS).partition("Ladder, step 2")[2].partition("</form>")[0]


def test_a_step_says_that_the_one_before_was_not_taken_and_can_be_started(
    client_of: ClientOf, hire: Person, rig: Rig, second: Recipe
) -> None:
    RecipeFactory.create(slug=FIRST, name="Ladder, step 1", kinds="dose:6")

    said = of_second(client_of, hire)

    assert "You have not taken “Ladder, step 1” yet. You can start all the same." in said
    assert "Start<span" in said
    before = words(client_of, hire, DRILLS).partition("Ladder, step 2")[0]
    assert "You have not" not in before


@pytest.mark.parametrize(("said", "is_passed"), [("1 mL", True), ("10 mL", False)])
def test_an_unsafe_answer_passes_no_step(
    client_of: ClientOf, hire: Person, rig: Rig, second: Recipe, said: str, *, is_passed: bool
) -> None:
    dose = took(hire, rig, said)

    beside = of_second(client_of, hire)
    debrief = words(client_of, hire, reverse("runs:debrief", args=[dose.run_id]))

    assert ("You have not passed “Ladder, step 1” yet" in beside) is not is_passed
    assert ("<b>Next:</b>" in debrief, "<b>Again:</b>" in debrief) == (is_passed, not is_passed)
    leads_to = SECOND if is_passed else FIRST
    assert f'href="{DRILLS}?at={leads_to}#{leads_to}"' in debrief


def test_what_one_passed_once_stays_passed_and_is_of_nobody_else(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, second: Recipe
) -> None:
    took(hire, rig, "1 mL")
    Recipe.objects.filter(slug=FIRST).update(name="Ladder, step 1")

    assert "You have not" not in of_second(client_of, hire)
    assert "You have not taken “Ladder, step 1” yet" in of_second(client_of, fto)
