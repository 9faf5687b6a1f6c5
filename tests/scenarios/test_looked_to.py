"""What is for children and what is controlled is picked out on the rigs of the demonstration."""

from collections import Counter
from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings

from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, CONTROLLED, LOCATE, PAEDIATRIC, RecipeSpec
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.scenarios.models import Recipe
from drills.scenarios.reading import looked_to
from drills.scenarios.sampling import planned
from tests.scenarios.test_call_recipes import NOW, stored

BOTH = RecipeSpec("both", ((LOCATE, 30), (CONTENTS, 9)), focus=(PAEDIATRIC, CONTROLLED))
CONTROLLED_MEDICINES = ("fentanyl", "ketamine", "midazolam", "morphine")
# Typed from the workbooks: adult things that lie among those for children, or are called alike.
NOT_FOR_CHILDREN = {
    "Bag-valve-mask, adult",
    "BVM adult w/ mask",
    "Tourniquet, arm or leg",
    "Traffic cone",
}
Rig = tuple[Revision, Layout]


@pytest.fixture(params=["mesa-box-rev2", "arroyo-van", "first-response-truck"], scope="module")
def rig(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any) -> Any:
    """A rig of the demonstration with the reference data, kept for the tests of this file."""
    with django_db_blocker.unblock(), transaction.atomic(), override_settings(READINESS_DEMO=True):
        revision = stored(request.param)
        yield revision, layout_of(revision)
        transaction.set_rollback(True)


def names(layout: Layout, keys: set[str]) -> set[str]:
    return {layout.things[key].name for key in keys}


def test_what_is_controlled_is_the_four_and_nothing_else(rig: Rig) -> None:
    revision, layout = rig

    found = names(layout, looked_to(revision, layout, BOTH)[CONTROLLED])

    assert found
    assert all(any(word in name.casefold() for word in CONTROLLED_MEDICINES) for name in found)
    every = {thing.name for thing in layout.things.values()}
    assert found == {
        name for name in every if any(word in name.casefold() for word in CONTROLLED_MEDICINES)
    }


def test_what_is_for_children_has_their_words_or_their_category(rig: Rig) -> None:
    """By name or category, as one who reads the list would pick it out."""
    revision, layout = rig

    keys = looked_to(revision, layout, BOTH)[PAEDIATRIC]

    of_category = {
        key for key, thing in layout.things.items() if thing.category.startswith("paediatric")
    }
    called = {
        key
        for key, thing in layout.things.items()
        if any(word in thing.name.casefold() for word in ("child", "infant", "newborn", "paed"))
    }
    assert keys >= of_category | called
    assert names(layout, keys).isdisjoint(NOT_FOR_CHILDREN)
    assert len(keys) < len(layout.things) / 3


def test_a_drill_asks_of_those_alone(rig: Rig) -> None:
    revision, layout = rig
    keys = set().union(*looked_to(revision, layout, BOTH).values())

    made = planned(BOTH, revision, seed=1, now=NOW)

    for each in (*made.prompts, *made.spares):
        things = {each.subject} if each.kind == LOCATE else set(each.answer)
        assert things & keys


def test_small_patients_is_a_whole_drill(rig: Rig) -> None:
    """Six things for children, a kit and three doses, and other ones by another seed."""
    revision, layout = rig
    spec = Recipe.objects.get(slug="small-patients").spec
    keys = looked_to(revision, layout, spec)[PAEDIATRIC]
    located = set()
    for seed in (1, 2, 3):
        made = planned(spec, revision, seed=seed, now=NOW)

        assert Counter(each.kind for each in made.prompts) == dict(spec.kinds)
        found = {each.subject for each in made.prompts if each.kind == LOCATE}
        assert found <= keys
        located |= found
    assert len(located) > dict(spec.kinds)[LOCATE]


def test_the_fourth_day_of_a_week_comes_to_both(rig: Rig) -> None:
    """Controlled drugs and what is for children, in the order of the rig, and what is reached."""
    revision, layout = rig
    spec = Recipe.objects.get(slug="new-rig-week-4").spec
    looked = looked_to(revision, layout, spec)

    made = planned(spec, revision, seed=1, now=NOW)

    located = {each.subject for each in made.prompts if each.kind == LOCATE}
    assert located & looked[PAEDIATRIC]
    assert located & looked[CONTROLLED]
    assert located <= looked[PAEDIATRIC] | looked[CONTROLLED]


def test_nothing_is_looked_up_where_a_recipe_looks_to_neither(rig: Rig) -> None:
    revision, layout = rig

    assert looked_to(revision, layout, RecipeSpec("plain", ((LOCATE, 3),))) == {}
