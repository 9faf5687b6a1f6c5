"""The drills that can be taken, folded by what they ask."""

import re

import pytest
from django.core.management import call_command
from django.urls import reverse

from drills.boards.listing import BUILT_HERE, FOR_ANY_SHIFT, USUAL, WHERE
from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.scenarios.models import Recipe
from tests.layouts import FIXTURES
from tests.runs.conftest import ClientOf

DRILLS = reverse("boards:drills")
SHIPPED = {
    "For any shift": {*USUAL},
    "Where things are": {
        *("belted-reach", "critical-only", "other-rig", "six-at-the-rig", "what-moved"),
    },
    "Calls and their kits": {
        *("kit-at-the-rig", "small-patients", "many-patients"),
        *("multi-patient-first", "multi-patient-assessed"),
    },
    "Doses and supplies": {
        *("supply-sums", "dosing-ladder-1", "dosing-ladder-2", "dosing-ladder-3"),
    },
    "Who first, and where to": {
        *("triage-first", "triage-many", "triage-assessed", "where-to-take"),
    },
    "New rig in a week": {f"new-rig-week-{day}" for day in range(1, 8)},
}
pytestmark = pytest.mark.django_db


@pytest.fixture
def shipped(db: None) -> None:
    call_command("loaddata", FIXTURES / "recipes.json", verbosity=0)


def folds(client_of: ClientOf, person: Person, **asked: str) -> dict[str, tuple[bool, list[str]]]:
    """By the title of a fold, whether it is open, and the drills in it."""
    content = client_of(person).get(DRILLS, asked).content.decode()
    found = re.findall(
        r'<details class="sec fold"( open)?><summary><h2>([^<]+) <span>(\d+)</span>.*?</details>',
        content,
        re.S,
    )
    parts = re.split(r'<details class="sec fold"', content)[1:]
    told = {}
    for (is_open, title, count), part in zip(found, parts, strict=True):
        slugs = re.findall(r'class="recipe" id="([^"]+)"', part)
        assert len(slugs) == int(count)
        told[title] = (bool(is_open), slugs)
    return told


@pytest.mark.usefixtures("shipped")
def test_each_drill_stands_in_one_fold_and_the_usual_ones_in_the_first(
    client_of: ClientOf, hire: Person
) -> None:
    found = folds(client_of, hire)

    assert {title: set(slugs) for title, (_, slugs) in found.items()} == SHIPPED
    assert sum(len(slugs) for _, slugs in found.values()) == Recipe.objects.count()
    assert [title for title, (is_open, _) in found.items() if is_open] == [FOR_ANY_SHIFT]
    assert next(iter(found)) == FOR_ANY_SHIFT
    assert found[FOR_ANY_SHIFT][1] == list(USUAL)


@pytest.mark.usefixtures("shipped")
def test_the_drill_that_one_was_sent_to_is_not_folded(client_of: ClientOf, hire: Person) -> None:
    found = folds(client_of, hire, at="dosing-ladder-2")

    opened = [title for title, (is_open, _) in found.items() if is_open]
    assert opened == [FOR_ANY_SHIFT, "Doses and supplies"]


def test_what_was_built_here_stands_apart(client_of: ClientOf, hire: Person, fto: Person) -> None:
    """And with no usual one there, the first fold is open all the same."""
    RecipeFactory.create(slug="ours", kinds="stage:1", owner=fto)
    RecipeFactory.create(slug="mix", kinds="locate:8")

    assert folds(client_of, hire) == {BUILT_HERE: (True, ["ours"]), WHERE: (False, ["mix"])}


def test_without_any_it_says_so(client_of: ClientOf, hire: Person) -> None:
    assert b"No recipes yet." in client_of(hire).get(DRILLS).content
