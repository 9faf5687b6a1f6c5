"""Calls on a rig whose ties are across strengths or in packs: kits count both, doses neither."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.engine.callmaking import Material
from drills.engine.callplan import plan
from drills.engine.layout import Layout
from drills.engine.recipes import DOSE, STAGE
from drills.engine.staging import mark_stage, must_haves
from drills.rigs.actions import count_pack, import_layout
from drills.rigs.models import Item, Revision
from drills.rigs.reading import layout_of
from drills.rigs.tying import Word, decide_ties
from drills.scenarios.models import Recipe
from drills.scenarios.reading import material_of
from drills.scenarios.tasks import answer_of, wanted_in
from tests.layouts import demo_layout
from tests.reference import load_reference

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[2] / "fixtures"
NOW = timezone.now()


@pytest.fixture(autouse=True)
def demonstration(settings: Any, db: None) -> None:
    settings.READINESS_DEMO = True
    load_reference()


def carrying(**presentations: str) -> Revision:
    """The box of the demonstration with some medicines packed otherwise."""
    found = demo_layout("mesa-box")
    stock = tuple(
        replace(line, presentation=presentations.get(line.key, line.presentation))
        for line in found.stock
    )
    return import_layout(replace(found, stock=stock), by=None, now=NOW, publish=True)


def material(revision: Revision) -> Material:
    return material_of(revision, now=NOW, is_assessed=False)


def serves_doses(found: Material) -> bool:
    return bool(found.aboard.of_need("midazolam"))


def kits_alone(found: Material) -> set[str]:
    return {each.item for each in found.aboard.for_kits_alone("midazolam")}


def test_no_dose_rests_on_a_tie_across_strengths() -> None:
    """Midazolam is tied by its need column, whatever its strength: kits count it all the same."""
    as_meant = material(carrying())
    assert not kits_alone(as_meant)
    assert serves_doses(as_meant)

    weaker = material(carrying(midazolam="5 mg / 5 mL"))

    assert kits_alone(weaker) == {"midazolam"}
    assert weaker.ties["midazolam"] == "midazolam"
    assert not serves_doses(weaker)


def test_the_same_strength_in_another_volume_serves_doses() -> None:
    assert serves_doses(material(carrying(midazolam="50 mg / 10 mL")))


@pytest.mark.parametrize(
    ("presentation", "serves"), [("50 mg / 10 mL", True), ("5 mg / 5 mL", False)]
)
def test_a_strength_of_its_own_serves_the_doses_of_just_that_strength(
    presentation: str, serves: bool
) -> None:
    """Whatever the need column says is taken away first, so that a keeper decides."""
    revision = carrying(midazolam=presentation)
    revision.terms.filter(item__key="midazolam").update(need=None)
    keeper, item = PersonFactory.create(), Item.objects.get(key="midazolam")
    assert not serves_doses(material(revision))

    decide_ties({item.pk: Word(medicine="midazolam")}, by=keeper, now=NOW)

    found = material(revision)
    assert serves_doses(found) is serves
    assert "midazolam" not in found.ties


def test_no_dose_of_it_is_planned() -> None:
    """Of many drills of doses none asks for the medicine whose strength is another."""
    spec = Recipe.objects.get(slug="dosing-ladder-1").spec

    def medicines(revision: Revision) -> set[str]:
        layout, found = layout_of(revision), material(revision)
        plans = (plan(layout, spec, seed=seed, material=found) for seed in range(12))
        prompts = [prompt for each in plans for prompt in each.prompts if prompt.kind == DOSE]
        return {prompt.subject.partition(",")[0] for prompt in prompts}

    assert "Midazolam" in medicines(carrying())
    assert "Midazolam" not in medicines(carrying(midazolam="5 mg / 5 mL"))


def kit_of(layout: Layout, found: Material) -> list[dict[str, Any]]:
    spec = Recipe.objects.get(slug="multi-patient-first").spec
    made = plan(layout, spec, seed=3, material=found)
    return [answer_of(each) for each in made.prompts if each.kind == STAGE]


def test_a_kit_is_frozen_with_its_packs_and_judged_by_them() -> None:
    """What one pack holds stays what it was when the drill was made."""
    revision = carrying()
    keeper = PersonFactory.create()
    ties = material(revision).ties
    for item in Item.objects.filter(key__in=ties):
        unit = item.terms.get(revision=revision).unit
        count_pack(item, need=ties[item.key], unit=unit, holds=3, by=keeper, now=NOW)
    layout = layout_of(revision)

    answers = kit_of(layout, material(revision))

    assert answers
    for answer in answers:
        wanted = wanted_in(answer)
        assert {count for each in wanted for count in each.holds.values()} == {3}
        brought = must_haves(layout, wanted)
        assert mark_stage(layout, wanted, brought, answer["tied"]).missing == ()
        alone = [replace(each, holds={}) for each in wanted]
        assert mark_stage(layout, alone, brought, answer["tied"]).missing
