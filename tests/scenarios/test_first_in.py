"""The kit that a crew carries in: of every kind of call, on every rig of the demonstration."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import product

import pytest
from django.db import transaction
from django.test import override_settings
from django.utils import timezone

from drills.engine.arriving.crews import FIRST, SECOND, crew_of
from drills.engine.arriving.kit import KIT, open_lines
from drills.engine.callmaking import Material
from drills.engine.calls import MUST, Asked, Call
from drills.engine.chance import seeded
from drills.engine.choosing import Choosing
from drills.engine.dispatch import make_call
from drills.engine.layout import Layout
from drills.engine.wanted import Wanted, want
from drills.scenarios.reading import material_of
from tests.layouts import DEMO_LAYOUTS, demo_layout
from tests.scenarios.test_call_recipes import stored

Made = tuple[Layout, Material]
CALLS_OF_EACH = 12
CHILD_BAGS = {"mesa-box": "bag PED", "mesa-box-rev2": "bag PED", "arroyo-van": "bag CHB"}
MASKS = {
    *("non-rebreather-mask-adult", "non-rebreather-mask-child", "oxygen-mask-infant"),
    *("nebuliser-adult", "nebuliser-mask-child", "cpap-circuit"),
}


@pytest.fixture(params=DEMO_LAYOUTS, scope="module")
def made(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: object) -> Made:
    """A layout and what its calls are made from, read once; nothing is kept."""
    unblock = django_db_blocker.unblock  # type: ignore[attr-defined]  # a fixture of pytest-django
    with unblock(), transaction.atomic(), override_settings(READINESS_DEMO=True):
        material = material_of(stored(request.param), now=timezone.now(), is_assessed=False)
        transaction.set_rollback(True)
    return demo_layout(request.param), material


def kits_of(made: Made, role: str) -> Iterator[tuple[Call, Choosing, Mapping[str, set[str]]]]:
    """The kits of calls of every kind, met as that crew or as the only one where there are few;
    each with its call and the needs that each thing to carry holds."""
    layout, material = made
    arrival = material.arrival(layout, (), 3)
    held = {
        each.key: {material.ties.get(thing, "") for thing in each.things}
        for each in arrival._carried
    }

    def wants(asked: Iterable[Asked]) -> tuple[Wanted, ...]:
        return want(layout, material.ties, asked, (), material.holds)

    for kind, seed in product(material.call_types, range(CALLS_OF_EACH)):
        call = make_call(kind, material.world, seeded(f"kit:{kind.slug}:{seed}"))
        crew = crew_of(call, material.sorting.threshold, is_second=role == SECOND, is_told=True)
        for each in arrival.asked(call, crew, wants, seeded(f"asked:{seed}")):
            if each.subject == KIT and each.choosing:
                yield call, each.choosing, held


def must_of(asked: Choosing) -> set[str]:
    """What has to come, and of several of which one is enough each of them."""
    group = asked.groups[0]
    return {*group.right, *(key for some in group.one_of for key in some)}


def test_a_grown_patient_makes_no_bag_for_children_come(made: Made) -> None:
    """Nor does a small thing that lies in it; a child does make it come."""
    bag = CHILD_BAGS.get(made[0].slug)
    grown = children = 0
    for call, asked, _ in kits_of(made, FIRST):
        sizes = {each.size for each in call.patients}
        if sizes == {"adult"} and len(call.patients) == 1:
            grown += 1
            assert bag not in must_of(asked), call.dispatch
        elif len(call.patients) == 1:
            children += 1
            assert bag is None or bag in must_of(asked), call.dispatch
    assert grown > 100
    assert children > 20


@pytest.mark.parametrize("role", [FIRST, SECOND])
def test_what_has_to_come_has_what_a_bag_valve_mask_is_in(role: str, made: Made) -> None:
    """No kit goes to a patient with nothing to ventilate them."""
    masks = {f"bag-valve-mask-{size}" for size in ("adult", "child", "infant")}
    for call, asked, held in kits_of(made, role):
        brought = {need for key in must_of(asked) for need in held[key]}
        assert brought & masks, call.dispatch


def test_a_mask_that_must_come_has_oxygen_with_it(made: Made) -> None:
    """Whoever is handed over and has to have a mask is brought a cylinder with its regulator."""
    seen = 0
    for call, asked, held in kits_of(made, SECOND):
        own = {number for number, *_ in asked.told}
        sure = {each.need for each in call.needs if each.grade == MUST and own & {*each.patients}}
        if sure & MASKS:
            seen += 1
            brought = {need for key in must_of(asked) for need in held[key]}
            assert {"oxygen-cylinder-portable", "oxygen-regulator-portable"} <= brought
    assert seen > 10


def test_the_kit_of_a_second_crew_is_for_its_own_patients(made: Made) -> None:
    """They are told with it, no more of them than it has hands for, and no triage tag is a must."""
    threshold = made[1].sorting.threshold
    seen = 0
    for call, asked, held in kits_of(made, SECOND):
        is_second = len(call.patients) >= threshold
        assert bool(asked.told) == is_second
        if is_second:
            seen += 1
            assert len(asked.told) == threshold - 1
            by_number = {each.number: each for each in call.patients}
            for number, who, findings in asked.told:
                assert (by_number[number].who, by_number[number].findings) == (who, findings)
            right = {need for key in asked.groups[0].right for need in held[key]}
            assert "triage-tags" not in right, call.dispatch
    assert seen > 20


def test_no_heavy_splint_comes_where_a_light_one_lies_loose(made: Made) -> None:
    """Either serves, and nobody takes a case for what a pocket of the cabinet has."""
    ties = made[1].ties
    of_need = {need: {thing for thing in ties if ties[thing] == need} for need in ties.values()}
    loose = {line.key for line in open_lines(made[0], ())} & of_need["malleable-splint"]
    assert loose
    heavy = {f"thing {thing}" for thing in of_need.get("vacuum-splints", ())}
    for role in (FIRST, SECOND):
        for call, asked, _ in kits_of(made, role):
            assert not heavy & must_of(asked), call.dispatch


def test_to_a_birth_goes_the_pack_for_it_and_a_mask_for_the_baby(made: Made) -> None:
    """The caller speaks of the mother alone."""
    packs = {f"thing {thing}" for thing, need in made[1].ties.items() if need == "obstetric-kit"}
    assert packs
    seen = 0
    for call, asked, held in kits_of(made, FIRST):
        if call.call_type == "childbirth":
            seen += 1
            assert must_of(asked) & packs, call.dispatch
            brought = {need for key in must_of(asked) for need in held[key]}
            assert "bag-valve-mask-infant" in brought, call.dispatch
    assert seen
