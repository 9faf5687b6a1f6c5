"""Which need each item of a revision is, and what a keeper's word changes."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from django.core.management import call_command

from drills.engine.layout import Layout as EngineLayout
from drills.engine.layout import StockLine, item_key
from drills.engine.ties import BY_NAME
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import discard_draft, import_layout
from drills.rigs.models import Item, Need, Revision, TieDecision
from drills.rigs.reading import layout_of
from drills.rigs.ties import (
    BY_KEEPER,
    SUGGESTED,
    Tie,
    confirmed_ties,
    need_ties,
    needs_of_items,
    suggested,
    sure_ones,
    terms_of,
)
from drills.rigs.tying import decide_ties
from tests.layouts import BLEEDING, FIXTURES, demo_layout, practice_rig
from tests.reference import table
from tests.rigs.conftest import NOW

pytestmark = pytest.mark.django_db

CONE = StockLine("S1", "Folding cone", 1, aliases=("cone",), category="scene and incident")


@pytest.fixture
def needs(db: None) -> dict[str, Need]:
    """One need that ties by name, two that are merely alike, and one like nothing aboard."""
    rows = [
        ("gauze-roll", "Gauze roll", BLEEDING, ""),
        ("limb-tourniquet", "Limb tourniquet", BLEEDING, ""),
        ("traffic-cones", "Traffic cones, set", "scene and incident", ""),
        ("hard-hat", "Hard hat", "scene and incident", ""),
    ]
    return {
        key: Need.objects.create(key=key, name_us=name, name_intl=name, category=kind, size=size)
        for key, name, kind, size in rows
    }


def imported(layout: EngineLayout | None = None, *, publish: bool = True) -> Revision:
    return import_layout(layout or practice_rig(), by=None, now=NOW, publish=publish)


def decide(name: str, need: Need | None, *, by: Person) -> int:
    return decide_ties({Item.objects.get(key=item_key(name)).pk: need}, by=by, now=NOW)


def test_ties_by_rule_are_confirmed_and_suggestions_are_not(needs: dict[str, Need]) -> None:
    ties = need_ties(imported())

    assert ties == {
        "gauze roll": Tie("gauze-roll", True, BY_NAME),
        "tourniquet": Tie("limb-tourniquet", False, SUGGESTED),
        "traffic cone": Tie("traffic-cones", False, SUGGESTED),
    }


def test_a_need_is_suggested_for_the_likest_item_alone(needs: dict[str, Need]) -> None:
    rig = practice_rig()
    ties = need_ties(imported(replace(rig, stock=(CONE, *rig.stock))))

    assert {key for key, tie in ties.items() if tie.need == "traffic-cones"} == {"traffic cone"}


def test_a_need_that_is_tied_is_suggested_for_no_other_item(
    needs: dict[str, Need], keeper: Person
) -> None:
    rig = practice_rig()
    revision = imported(replace(rig, stock=(CONE, *rig.stock)))
    decide("Folding cone", needs["traffic-cones"], by=keeper)

    ties = need_ties(revision)

    assert ties["folding cone"] == Tie("traffic-cones", True, BY_KEEPER)
    assert "traffic cone" not in ties


def test_a_decision_ties_what_is_in_force_and_what_comes_next(
    needs: dict[str, Need], keeper: Person
) -> None:
    first = imported()
    decide("Tourniquet", needs["limb-tourniquet"], by=keeper)
    next_one = imported(replace(practice_rig(), notes="the next"), publish=False)
    other = imported(practice_rig("other-rig"))

    expected = Tie("limb-tourniquet", True, BY_KEEPER)
    assert [need_ties(each)["tourniquet"] for each in (first, next_one, other)] == [expected] * 3


def test_a_decision_changes_nothing_that_a_revision_says(
    needs: dict[str, Need], keeper: Person
) -> None:
    revision = imported()
    before = layout_of(revision)

    decide("Tourniquet", needs["limb-tourniquet"], by=keeper)

    assert layout_of(Revision.objects.get(pk=revision.pk)) == before
    assert imported() == revision


def test_a_rule_goes_before_a_decision(needs: dict[str, Need], keeper: Person) -> None:
    revision = imported()

    decide("Gauze roll", needs["hard-hat"], by=keeper)

    assert need_ties(revision)["gauze roll"] == Tie("gauze-roll", True, BY_NAME)


def test_none_of_the_needs_is_a_decision_too(needs: dict[str, Need], keeper: Person) -> None:
    revision = imported()

    decide("Traffic cone", None, by=keeper)

    assert "traffic cone" not in need_ties(revision)
    assert "traffic cone" not in revision.untied.values_list("item__key", flat=True)


def test_the_audit_says_what_a_decision_was_before(needs: dict[str, Need], keeper: Person) -> None:
    imported()
    for need in (needs["hard-hat"], None, needs["traffic-cones"]):
        assert decide("Traffic cone", need, by=keeper) == 1

    lines = AuditEntry.objects.filter(action="tie item").order_by("id")
    assert list(lines.values_list("subject", "actor", "before", "after")) == [
        ("Traffic cone", keeper.pk, None, {"need": "hard-hat"}),
        ("Traffic cone", keeper.pk, {"need": "hard-hat"}, {"need": ""}),
        ("Traffic cone", keeper.pk, {"need": ""}, {"need": "traffic-cones"}),
    ]


def test_deciding_the_same_again_changes_nothing(
    needs: dict[str, Need], keeper: Person, admin: Person
) -> None:
    imported()
    decide("Traffic cone", needs["traffic-cones"], by=keeper)

    assert decide("Traffic cone", needs["traffic-cones"], by=admin) == 0

    assert TieDecision.objects.get().decided_by == keeper
    assert AuditEntry.objects.filter(action="tie item").count() == 1


def test_a_decision_outlives_the_draft_it_was_made_on(
    needs: dict[str, Need], keeper: Person
) -> None:
    rig = practice_rig()
    draft = imported(replace(rig, stock=(CONE, *rig.stock)), publish=False)
    decide("Folding cone", needs["traffic-cones"], by=keeper)

    discard_draft(draft, by=keeper, now=NOW)

    assert not Item.objects.filter(key="tourniquet").exists()
    again = imported(replace(rig, stock=(CONE, *rig.stock)), publish=False)
    assert need_ties(again)["folding cone"] == Tie("traffic-cones", True, BY_KEEPER)


def test_evidence_is_given_confirmed_needs_alone(needs: dict[str, Need], keeper: Person) -> None:
    revision = imported()
    decide("Tourniquet", needs["limb-tourniquet"], by=keeper)
    items = Item.objects.filter(key__in=["tourniquet", "gauze roll", "traffic cone"])

    found = needs_of_items(revision, [item.pk for item in items])

    assert {item.key: found[item.pk] for item in items} == {
        "tourniquet": needs["limb-tourniquet"].pk,
        "gauze roll": needs["gauze-roll"].pk,
        "traffic cone": None,
    }


@pytest.mark.parametrize("name", ["mesa-box", "arroyo-van", "first-response-truck"])
def test_once_the_list_is_confirmed_every_item_is_a_need_of_its_own(
    name: str, keeper: Person
) -> None:
    call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)
    revision = imported(demo_layout(name))
    needs = Need.objects.in_bulk(field_name="key")
    listed = {
        item_key(row["item"]): needs[row["suggested_need"]] for row in table("to_confirm.csv")
    }
    waiting = list(revision.untied.select_related("item"))

    decide_ties({row.item_id: listed[row.item.key] for row in waiting}, by=keeper, now=NOW)

    ties = need_ties(revision)
    assert waiting
    assert set(ties) == {line.key for line in demo_layout(name).stock}
    assert all(tie.is_confirmed for tie in ties.values())
    assert len({tie.need for tie in ties.values()}) == len(ties)


@pytest.mark.parametrize("name", ["mesa-box", "arroyo-van", "first-response-truck"])
def test_what_is_suggested_on_the_demonstration_is_what_is_listed(name: str) -> None:
    """No preview is built on a need that the list names otherwise, nor on one need twice."""
    call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)
    ties = need_ties(imported(demo_layout(name)))
    listed = {item_key(row["item"]): row["suggested_need"] for row in table("to_confirm.csv")}

    unconfirmed = {key: tie.need for key, tie in ties.items() if not tie.is_confirmed}

    assert unconfirmed
    assert unconfirmed == {key: listed[key] for key in unconfirmed}
    assert len({tie.need for tie in ties.values()}) == len(ties)


@pytest.mark.parametrize("name", ["mesa-box", "arroyo-van", "first-response-truck"])
def test_what_may_be_confirmed_together_is_what_is_listed(
    name: str, record_property: Callable[[str, object], None]
) -> None:
    call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)
    revision = imported(demo_layout(name))
    rows, needs = list(revision.untied.select_related("item")), list(Need.objects.all())
    listed = {item_key(row["item"]): row["suggested_need"] for row in table("to_confirm.csv")}
    names = {row.item_id: row.item.key for row in rows}
    holders = confirmed_ties(terms_of(revision), needs)

    sure = sure_ones(suggested(rows, needs, holders))

    record_property("told", f"Confirmed together on {name}: {len(sure)} of {len(rows)} waiting.")
    assert {names[item]: each.need.key for item, each in sure.items()} == {
        names[item]: listed[names[item]] for item in sure
    }
