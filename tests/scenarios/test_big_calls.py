"""Calls of many patients: everybody is sorted, told as found last after it, in the minutes told."""

import json
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings

from drills.engine.allocplan import met_in, rig_has, scarce_of
from drills.engine.callmaking import Material
from drills.engine.callplan import plan
from drills.engine.incidents.later import UNCHANGED
from drills.engine.layout import Layout
from drills.engine.prompts import Prompt
from drills.engine.recipes import RecipeSpec
from drills.engine.targets import steps_of, whole
from drills.scenarios.models import Recipe
from drills.scenarios.reading import material_of
from drills.scenarios.tasks import shown_of
from tests.layouts import demo_layout
from tests.scenarios.test_call_recipes import NOW, firsts, stored

pytestmark = pytest.mark.django_db

Made = tuple[Layout, Material, dict[str, Recipe]]


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Made:
    """A layout, what its calls are made from and every recipe, read once; nothing is kept."""
    with django_db_blocker.unblock(), transaction.atomic(), override_settings(READINESS_DEMO=True):
        material = material_of(stored("mesa-box"), now=NOW, is_assessed=False)
        recipes = {row.slug: row for row in Recipe.objects.all()}
        transaction.set_rollback(True)
    return demo_layout("mesa-box"), material, recipes


def of_twelve(made: Made, seed: int) -> tuple[Prompt, ...]:
    """A call of twelve: they are sorted, kits go to areas and then to one, a supply is told."""
    layout, material, recipes = made
    kinds = (("triage", 0), ("stage", 4), ("supply", 1))
    spec: RecipeSpec = replace(recipes["many-patients"].spec, kinds=kinds, patients_least=12)
    return plan(layout, spec, seed=seed, material=material).prompts


def again_in(prompts: Iterable[Prompt]) -> dict[int, str]:
    """What is told of whom at a second look, by number."""
    looks = [each.triage for each in prompts if each.triage and each.triage.look == 2]
    return {each.number: each.seen.removesuffix(".") for each in looks}


def test_all_twelve_of_twelve_are_sorted(made: Made) -> None:
    """In their order, before anything is brought."""
    for seed in range(4):
        prompts = of_twelve(made, seed)
        assert [each.number for each in firsts(prompts)] == list(range(1, 13))
        assert all(each.kind == "triage" for each in prompts[:13])


def test_what_comes_after_sorting_tells_everybody_as_found_last(made: Made) -> None:
    """With what is new, or that nothing is; whoever is met once stands as found then."""
    told = 0
    for seed in range(6):
        prompts = of_twelve(made, seed)
        again = again_in(prompts)
        after = sum(each.kind == "triage" for each in prompts)
        kits = [each for each in prompts[after:] if not (each.stage and each.stage.area)]
        for patient in [each for kit in kits for each in shown_of(kit)["patients"]]:
            assert patient["findings"].endswith(again.get(patient["number"], patient["findings"]))
            told += patient["number"] in again
        for kit in (each for each in prompts[:after] if not each.triage):
            assert UNCHANGED.removesuffix(".") not in json.dumps(shown_of(kit)["patients"])
    assert told


def test_who_is_no_worse_is_said_to_be_unchanged(made: Made) -> None:
    """And nobody else: of who is worse what is new is told."""
    same = 0
    for seed in range(6):
        prompts = of_twelve(made, seed)
        before = {each.number: each for each in firsts(prompts)}
        for each in (each.triage for each in prompts if each.triage):
            if each.look == 2:
                assert each.seen != before[each.number].seen
                assert (UNCHANGED in each.seen) == (each.answer == before[each.number].answer)
                same += UNCHANGED in each.seen
    assert same


def test_two_things_are_given_out_where_more_are_scarce(made: Made) -> None:
    """Where the recipe names no number; and of who got worse two are met again, beside one."""
    layout, material, recipes = made
    kinds, has = (("triage", 0), ("allocate", 0)), rig_has(layout, material.ties)
    spec = replace(recipes["many-patients"].spec, kinds=kinds, patients_least=12, difficulty=5)
    many, worse = 0, set()
    for seed in range(6):
        prompts = plan(layout, spec, seed=seed, material=material).prompts
        call = prompts[0].call
        assert call is not None
        many += len(scarce_of(met_in(call), has)) > 2
        assert sum(each.kind == "allocate" for each in prompts) == 2
        worse.add(len(again_in(prompts)))
    assert many
    assert max(worse) == 3


@pytest.mark.parametrize(
    "slug",
    ["triage-first", "triage-many", "triage-assessed", "many-patients", "call-of-the-day"],
)
def test_most_drills_have_their_target_in_the_minutes_that_are_told(slug: str, made: Made) -> None:
    """Nine of ten; a call may have more patients than most. And none is told far too long."""
    layout, material, recipes = made
    told, spec = recipes[slug].minutes, recipes[slug].spec
    targets = [
        whole(
            steps_of(
                [each.kind for each in plan(layout, spec, seed=seed, material=material).prompts]
            )
        ).seconds
        / 60
        for seed in range(10)
    ]
    assert sum(each <= told for each in targets) >= 9
    assert max(targets) > told / 2
