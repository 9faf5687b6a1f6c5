"""A run that asks what is reached belted in: shown, answered, told, and kept as evidence."""

from typing import Any

import pytest
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Mode, Recipe
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, lately, right

pytestmark = pytest.mark.django_db


@pytest.fixture
def reach(db: None) -> Recipe:
    """What is reached from the one seat of the practice rig."""
    return RecipeFactory.create(slug="reach", name="Belted reach", kinds="reach:1", minutes=2)


def begun(person: Person, rig: Rig, recipe: Recipe, *, mode: str = Mode.PRACTICE) -> Player:
    Recipe.objects.filter(pk=recipe.pk).update(mode=mode)
    recipe.refresh_from_db()
    run = start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=lately())
    return Player(run, now=lately())


def page(client: Any, run: Run, name: str = "take") -> str:
    content: str = client.get(reverse(f"runs:{name}", args=[run.pk])).content.decode()
    return " ".join(content.split())


def test_it_asks_of_the_seat_and_category_with_every_thing_of_it(
    client_of: ClientOf, hire: Person, rig: Rig, reach: Recipe
) -> None:
    """It has no limit, so nobody taps for one first."""
    player = begun(hire, rig, reach)
    presentation = player.begin()

    content = page(client_of(hire), player.run)

    assert not presentation.is_warm_up
    assert presentation.limit_seconds is None
    assert "Attendant seat" in content
    assert "Parked, belted in: which of these can you reach" in content
    assert "Category: circulation and bleeding." in content
    assert "Your time is shown afterwards and not judged." in content
    assert 'class="asking seated"' in content
    names = [content.index(name) for name in ("Gauze roll", "Tourniquet", "Trauma dressing")]
    assert names == sorted(names)


def test_what_is_right_is_kept_as_a_skill_of_the_seat(
    hire: Person, rig: Rig, reach: Recipe
) -> None:
    player = begun(hire, rig, reach)

    answered = player.answer(presentation := player.begin(), right(presentation))

    assert (answered.outcome, answered.marks) == ("right", 100)
    (row,) = Evidence.objects.filter(person=hire)
    assert (row.fact.skill, row.outcome, row.is_first) == (
        "reach practice-rig SEAT",
        "right",
        True,
    )


def test_practice_says_at_once_what_was_missed_and_what_is_out_of_reach(
    client_of: ClientOf, hire: Person, rig: Rig, reach: Recipe
) -> None:
    """Nothing of it is reported as not where the layout says: it was no place that was asked."""
    player = begun(hire, rig, reach)
    presentation = player.begin()
    client = client_of(hire)
    sent = {
        "token": presentation.token,
        "thing": [player.run.token_for(key) for key in ("tourniquet", "trauma dressing")],
    }

    client.post(reverse("runs:answer", args=[player.run.pk]), sent)
    content = page(client, player.run)

    assert Presentation.objects.get(pk=presentation.pk).outcome == "wrong"
    assert "You missed: <b>Gauze roll</b>." in content
    assert "Out of reach: <b>Trauma dressing</b>." in content
    assert "Not in here" not in content
    assert 'class="doubt"' not in content


def test_assessed_it_tells_after_the_run_alone(
    client_of: ClientOf, hire: Person, rig: Rig, reach: Recipe
) -> None:
    player = begun(hire, rig, reach, mode=Mode.ASSESSED)
    player.answer(presentation := player.begin(), [])
    client = client_of(hire)
    before = page(client, player.run)
    assert player.serve() is None

    debrief = page(client, player.run, "debrief")

    assert presentation.prompt is not None
    assert "You missed" not in before
    assert "You missed: <b>Gauze roll</b>; <b>Tourniquet</b>." in debrief


def test_a_choice_of_another_category_is_refused(hire: Person, rig: Rig, reach: Recipe) -> None:
    """Also where the thing is aboard: only what the page offers is an answer."""
    player = begun(hire, rig, reach)
    presentation = player.begin()

    with pytest.raises(ValueError, match="Not on this page"):
        player.answer(presentation, ["splint"])


def test_its_skill_has_plain_words_on_the_page_of_a_person(
    client_of: ClientOf, hire: Person, educator: Person, rig: Rig, reach: Recipe
) -> None:
    player = begun(hire, rig, reach)
    player.answer(player.begin(), [])

    content = client_of(educator).get(reverse("boards:person", args=["HIRE"])).content.decode()

    assert "Reach: seat SEAT of practice-rig" in content
