"""What a revision, or one rig, carries of medicines and of what doses are given with."""

from dataclasses import replace

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from drills.engine.carried import Aboard
from drills.engine.layout import Layout, StockLine, item_key
from drills.people.models import Person
from drills.rigs.actions import discard_draft, import_layout, tell_difference
from drills.rigs.carried import carried_by, carried_on
from drills.rigs.models import Item, Need, PackFactor, Revision, Rig, TieDecision
from tests.layouts import FIXTURES, MEDICINES, demo_layout, practice_rig
from tests.rigs.conftest import NOW

pytestmark = pytest.mark.django_db

MIDAZOLAM = StockLine("I1A", "Midazolam", 2, "box", MEDICINES, presentation="10 mg / 2 mL")


@pytest.fixture
def midazolam(db: None) -> Need:
    return Need.objects.create(
        key="midazolam",
        name_us="Midazolam",
        name_intl="Midazolam",
        category=MEDICINES,
        size="10 mg / 2 mL",
        medicine="midazolam",
    )


def imported(*stock: StockLine, publish: bool = True) -> Revision:
    cones = StockLine("S1", "Traffic cone", 4)
    layout: Layout = replace(practice_rig(), stock=(cones, *stock))
    return import_layout(layout, by=None, now=NOW, publish=publish)


def packed(name: str, need: str, unit: str, holds: int) -> PackFactor:
    return PackFactor.objects.create(
        item=Item.objects.get(key=item_key(name)),
        need=need,
        unit=unit,
        holds=holds,
        decided_at=NOW,
    )


def counts(found: Aboard, need: str = "midazolam") -> list[int]:
    return [each.count for each in found.of_need(need)]


def test_a_pack_counts_by_its_factor_of_that_unit_alone(midazolam: Need) -> None:
    box = imported(MIDAZOLAM)
    packed("Midazolam", "midazolam", "box", 10)

    assert counts(carried_by(box)) == [20]
    assert counts(carried_by(imported(replace(MIDAZOLAM, unit="BOX"), publish=False))) == [20]
    assert counts(carried_by(imported(replace(MIDAZOLAM, unit="vial"), publish=False))) == [2]


def test_a_pack_is_of_the_need_it_was_said_of(midazolam: Need) -> None:
    packed_as_another = imported(MIDAZOLAM)
    packed("Midazolam", "ketamine", "box", 10)

    assert counts(carried_by(packed_as_another)) == [2]


def test_a_suggestion_is_told_apart_and_is_not_confirmed(midazolam: Need) -> None:
    alike = imported(replace(MIDAZOLAM, item="Midazolam vials"))
    packed("Midazolam vials", "midazolam", "box", 10)

    found = carried_by(alike)

    assert [(each.count, each.is_confirmed) for each in found.of_need("midazolam")] == [(20, False)]
    assert counts(found.confirmed) == []


def test_a_medicine_in_its_own_strength_is_no_need_and_serves_doses(
    midazolam: Need, keeper: Person
) -> None:
    revision = imported(replace(MIDAZOLAM, presentation="5 mg / 5 mL"))
    assert carried_by(revision).of_medicine("midazolam") == ()
    item = Item.objects.get(key="midazolam")
    TieDecision.objects.create(item=item, medicine="midazolam", decided_by=keeper, decided_at=NOW)
    packed("Midazolam", "", "box", 5)

    (found,) = carried_by(revision).of_medicine("midazolam")

    assert (found.need, found.count, found.is_confirmed) == ("", 10, True)
    assert counts(carried_by(revision)) == []


def test_a_decision_is_a_need_or_a_strength_of_its_own_never_both(midazolam: Need) -> None:
    imported(MIDAZOLAM)
    item = Item.objects.get(key="midazolam")

    with pytest.raises(IntegrityError), transaction.atomic():
        TieDecision.objects.create(item=item, need=midazolam, medicine="midazolam", decided_at=NOW)


@pytest.mark.parametrize("holds", [0, 201])
def test_the_database_keeps_a_pack_within_its_bounds(midazolam: Need, holds: int) -> None:
    imported(MIDAZOLAM)

    with pytest.raises(IntegrityError), transaction.atomic():
        packed("Midazolam", "midazolam", "box", holds)


def test_what_is_not_aboard_one_rig_is_not_carried_there(
    midazolam: Need, rig: Rig, keeper: Person
) -> None:
    revision = imported(MIDAZOLAM)
    rig.revision = revision
    rig.save()
    assert counts(carried_on(rig)) == [2]

    tell_difference(rig, thing="midazolam", place="", here="", by=keeper, now=NOW)

    assert counts(carried_on(rig)) == []
    assert counts(carried_by(revision)) == [2]


def test_a_pack_outlives_the_draft_it_was_said_on(midazolam: Need, keeper: Person) -> None:
    imported()
    draft = imported(MIDAZOLAM, publish=False)
    packed("Midazolam", "midazolam", "box", 10)

    discard_draft(draft, by=keeper, now=NOW)

    assert counts(carried_by(imported(MIDAZOLAM, publish=False))) == [20]


def test_the_demonstration_box_carries_what_its_doses_are_given_with() -> None:
    call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)
    found = carried_by(import_layout(demo_layout("mesa-box"), by=None, now=NOW, publish=True))

    assert [int(each.size) for each in found.syringes()] == [1, 3, 10]
    assert [int(each.size) for each in found.drip_sets()] == [10, 60]
    assert {each.letter for each in found.cylinders()} == {"D", "M"}
    assert {int(each.size) for each in found.fluids()} == {100, 1000}
    strengths = {each.packing.strength for each in found.of_medicine("epinephrine") if each.packing}
    assert strengths == {"0.1 mg/mL", "1 mg/mL", "0.5 mg/mL"}
    assert found.for_kits_alone("epinephrine") == ()
    assert [each.item for each in found.of_need("epinephrine-vial")] == ["epinephrine 1 mg/ml"]
