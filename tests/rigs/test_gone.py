"""What goes with a layout or a draft, what stays, and what is never taken for another."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from django.db import connection, transaction
from django.db.models import ProtectedError

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory, RigFactory
from drills.demo.simulation import Character, take_drill
from drills.engine.layout import Compartment as EngineCompartment
from drills.engine.layout import Layout as EngineLayout
from drills.engine.layout import Point as EnginePoint
from drills.engine.layout import Rect, StockLine
from drills.people.models import Person
from drills.rigs.actions import discard_draft, import_layout
from drills.rigs.models import Compartment, Item, Layout, Place, Revision
from drills.rigs.reading import layout_of, moved_by
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW

LATER = datetime(2026, 11, 26, 7, 0, tzinfo=UTC)
POUCH = EngineCompartment("R1", "Rear pouch", face="rear", rect=Rect(0, 0, 2, 2), opens="outside")

pytestmark = pytest.mark.django_db


def with_pouch() -> EngineLayout:
    """The practice rig with a pouch in which something new lies, and a new control."""
    rig = practice_rig()
    return replace(
        rig,
        compartments=(*rig.compartments, POUCH),
        stock=(*rig.stock, StockLine("R1", "Reflective vest", 2)),
        points=(*rig.points, EnginePoint("C9", "control", "Rear light", "rear", 1, 1, ("R1",))),
    )


def without(rig: EngineLayout, code: str) -> EngineLayout:
    """The rig without a compartment and what lies in it."""
    return replace(
        rig,
        compartments=tuple(each for each in rig.compartments if each.code != code),
        stock=tuple(line for line in rig.stock if line.compartment != code),
        points=tuple(each for each in rig.points if code not in each.serves),
    )


def place_of(revision: Revision, code: str) -> Place:
    return revision.compartments.get(code=code).place


class TestALayout:
    def test_goes_as_a_whole_while_nobody_was_drilled_on_it(self) -> None:
        import_layout(practice_rig(), by=None, now=NOW, publish=True)
        import_layout(with_pouch(), by=None, now=LATER)

        Layout.objects.get().delete()

        assert not Revision.objects.exists()
        assert not Place.objects.exists()
        assert not Compartment.objects.exists()

    def test_stays_once_there_is_evidence(self, hire: Person) -> None:
        rig = RigFactory.create(
            revision=import_layout(practice_rig(), by=None, now=NOW, publish=True)
        )
        take_drill(hire, rig, RecipeFactory.create(), Character(1, 0.5), at=NOW)
        layout = rig.layout
        rig.delete()

        with pytest.raises(ProtectedError):
            layout.delete()

        assert Evidence.objects.exists()
        assert Layout.objects.get().published is not None


class TestADraft:
    def test_leaves_nothing_behind_that_it_alone_spoke_of(self, keeper: Person) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        before = (Place.objects.count(), set(Item.objects.values_list("key", flat=True)))
        draft = import_layout(with_pouch(), by=keeper, now=NOW)
        assert Item.objects.filter(key__in=["reflective vest", "rear light"]).count() == 2

        discard_draft(draft, by=keeper, now=LATER)

        assert (Place.objects.count(), set(Item.objects.values_list("key", flat=True))) == before

    def test_that_is_replaced_leaves_nothing_behind_either(self, keeper: Person) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        import_layout(with_pouch(), by=keeper, now=NOW)

        import_layout(without(practice_rig(), "I1B"), by=keeper, now=LATER)

        assert not Place.objects.filter(key="R1").exists()
        assert not Item.objects.filter(key="reflective vest").exists()

    def test_takes_no_outlet_with_it_that_is_in_force(self, keeper: Person) -> None:
        """An outlet has no terms; a draft that stocks a thing of its name does not own it."""
        import_layout(practice_rig(), by=keeper, now=NOW, publish=True)
        rig = practice_rig()
        stocked = replace(rig, stock=(*rig.stock, StockLine("S1", "Oxygen outlet", 1)))

        discard_draft(import_layout(stocked, by=keeper, now=NOW), by=keeper, now=LATER)

        assert Item.objects.filter(key="oxygen outlet").exists()


class TestAPlace:
    def test_a_new_code_takes_over_no_place_that_left_under_another(self) -> None:
        """What was known of the old place says nothing of the new one."""
        import_layout(with_pouch(), by=None, now=NOW, publish=True)
        renamed = with_pouch()
        moved = replace(POUCH, code="R2", place="R1")
        lines = (*renamed.stock[:-1], StockLine("R2", "Reflective vest", 2))
        renamed = replace(
            renamed,
            compartments=(*renamed.compartments[:-1], moved),
            stock=lines,
            points=practice_rig().points,
        )
        second = import_layout(renamed, by=None, now=NOW, publish=True)
        import_layout(practice_rig(), by=None, now=NOW, publish=True)

        fourth = import_layout(with_pouch(), by=None, now=LATER, publish=True)

        assert place_of(fourth, "R1") != place_of(second, "R2")

    def test_what_comes_back_under_its_last_code_is_the_same(self) -> None:
        first = import_layout(with_pouch(), by=None, now=NOW, publish=True)
        import_layout(practice_rig(), by=None, now=NOW, publish=True)

        third = import_layout(with_pouch(), by=None, now=LATER, publish=True)

        assert place_of(third, "R1") == place_of(first, "R1")

    def test_an_import_after_that_changes_nothing(self) -> None:
        """A key that was made to differ is found again by its code."""
        first = with_pouch()
        import_layout(first, by=None, now=NOW, publish=True)
        other = replace(POUCH, name="Side pouch", face="curb", place="")
        kept = replace(POUCH, code="R2", place="R1")
        second = replace(
            first,
            compartments=(*practice_rig().compartments, kept, other),
            points=practice_rig().points,
        )
        revision = import_layout(second, by=None, now=NOW, publish=True)

        again = import_layout(second, by=None, now=LATER, publish=True)

        assert again == revision
        assert place_of(revision, "R1").key == "R1+"


def test_what_was_taken_back_is_not_kept_in_memory() -> None:
    """A revision that comes to have the number of one that was rolled back is read anew."""
    rig = practice_rig()
    with transaction.atomic():
        lost = import_layout(rig, by=None, now=NOW, publish=True)
        assert layout_of(lost).name == "Practice rig"
        transaction.set_rollback(True)
    if connection.vendor == "postgresql":
        # SQLite gives a number again by itself.
        with connection.cursor() as cursor:
            sequence = "pg_get_serial_sequence('rigs_revision', 'id')"
            cursor.execute(f"SELECT setval({sequence}, %s, false)", [lost.pk])

    found = import_layout(replace(rig, name="Other rig"), by=None, now=LATER, publish=True)

    assert found.pk == lost.pk
    assert layout_of(found).name == "Other rig"
    assert moved_by(found).bags == frozenset()
