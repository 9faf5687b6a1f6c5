"""The page of a recipe: what it asks, what one should take, and what its difficulty sets."""

import re
from typing import Any

import pytest
from django.urls import reverse

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.scenarios.models import CallType
from tests.scenarios.conftest import ClientOf

pytestmark = pytest.mark.django_db


def page(client_of: ClientOf, person: Person, slug: str) -> str:
    response = client_of(person).get(reverse("scenarios:recipe", args=[slug]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_tells_kinds_counts_and_targets(client_of: ClientOf, hire: Person) -> None:
    RecipeFactory.create(slug="mix", kinds="locate:8;contents:2", difficulty=4, notes="Ten")

    content = page(client_of, hire, "mix")

    assert "4 of 5" in content
    assert re.search(r"<b>locate</b></td><td>8</td><td>15 s", content)
    assert re.search(r"<b>contents</b></td><td>2</td><td>45 s", content)
    assert "20 in 100 a probe" in content


def test_shows_the_knobs_of_its_kinds_with_its_level_bold(
    client_of: ClientOf, hire: Person
) -> None:
    RecipeFactory.create(slug="mix", kinds="locate:8", difficulty=3)

    content = page(client_of, hire, "mix")

    assert content.count('<b class="nw">3: × 1.5</b>') == 1
    assert content.count('<b class="nw">3: × 1.8</b>') == 1
    assert "Fewest patients" not in content


def test_a_recipe_of_calls_names_them_and_takes_the_quickest_way(
    client_of: ClientOf, hire: Person, bleeding: CallType
) -> None:
    RecipeFactory.create(
        slug="bring", kinds="triage:auto;stage:1", order="as a call runs", call_types=["bleeding"]
    )

    content = page(client_of, hire, "bring")

    assert "Calls: Severe bleeding." in content
    assert "the quickest way on the rig" in content
    assert "<td>everybody</td>" in content
    assert "Fewest patients" in content
    assert "beside a limit of the chart" in content


def test_of_a_count_of_patients_it_says_that_everybody_is_sorted(
    client_of: ClientOf, hire: Person
) -> None:
    """A count narrows which calls are taken, never who of one is sorted; others stand alone."""
    RecipeFactory.create(slug="many", kinds="triage:6;allocate:auto;supply:2", order="mixed")

    content = page(client_of, hire, "many")

    assert "<td>everybody, of calls with 6 or more</td>" in content
    assert "<td>as many as there are</td>" in content
    assert "<td>2</td>" in content


@pytest.mark.parametrize(
    ("given", "said", "left"),
    [
        ({"kinds": "locate:8", "focus": ["what moved"]}, "Looks to: what moved.", "Rules of doses"),
        ({"kinds": "dose:3", "rule_shown": True}, "Rules of doses are shown.", "Looks to"),
        ({"kinds": "supply:3", "rule_shown": False}, "worked out from memory.", "are shown"),
    ],
)
def test_what_is_no_knob_is_told_where_it_concerns_the_drill(
    given: dict[str, Any], said: str, left: str, client_of: ClientOf, hire: Person
) -> None:
    RecipeFactory.create(slug="one", **{"focus": []} | given)

    content = page(client_of, hire, "one")

    assert said in content
    assert left not in content


def test_a_walk_says_that_knobs_move_nothing(client_of: ClientOf, hire: Person) -> None:
    RecipeFactory.create(slug="walk", kinds="locate:8", order="by compartment")

    assert "move nothing here" in page(client_of, hire, "walk")


def test_a_recipe_that_cannot_be_read_says_why(client_of: ClientOf, hire: Person) -> None:
    RecipeFactory.create(slug="odd", kinds="juggle:8")

    assert "&#x27;juggle&#x27; is not a kind of prompt" in page(client_of, hire, "odd")


def test_the_drills_lead_there(client_of: ClientOf, hire: Person) -> None:
    RecipeFactory.create(slug="mix", kinds="locate:8")

    content = client_of(hire).get(reverse("boards:drills")).content.decode()

    assert reverse("scenarios:recipe", args=["mix"]) in content
