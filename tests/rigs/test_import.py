"""Bringing a workbook in: the next revision, the places that stay, and all of it or nothing."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command

from drills.demo.factories import RigFactory
from drills.engine.layout import CATEGORIES
from drills.engine.layout import Compartment as EngineCompartment
from drills.engine.layout import Layout as EngineLayout
from drills.engine.layout import StockLine as EngineLine
from drills.engine.merging import settle
from drills.people.models import AuditEntry, CertificationLevel, Person
from drills.rigs.actions import discard_draft, import_layout, publish_revision
from drills.rigs.models import (
    Item,
    ItemTerms,
    Layout,
    Need,
    Place,
    Revision,
    RevisionState,
    StockLine,
)
from drills.rigs.reading import layout_of, moved_by
from drills.scenarios.models import Recipe
from tests.layouts import FIXTURES, demo_layout, practice_rig

NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
LATER = datetime(2026, 11, 26, 7, 0, tzinfo=UTC)

pytestmark = pytest.mark.django_db


def with_par(rig: EngineLayout, par: int) -> EngineLayout:
    first, *others = rig.stock
    return replace(rig, stock=(replace(first, par=par), *others))


def with_code(rig: EngineLayout, code: str, /, **fields: Any) -> EngineLayout:
    found = (replace(each, **fields) if each.code == code else each for each in rig.compartments)
    return replace(rig, compartments=tuple(found))


def place_pk(revision: Revision, code: str) -> int:
    return revision.compartments.get(code=code).place_id


class TestRevisions:
    def test_a_first_import_is_the_first_draft(self, keeper: Person) -> None:
        revision = import_layout(practice_rig(), by=keeper, now=NOW)

        assert (revision.number, revision.state) == (1, RevisionState.DRAFT)
        assert (revision.imported_at, revision.published_at) == (NOW, None)
        assert revision.layout.slug == "practice-rig"

    def test_what_was_stored_reads_back_the_same(self) -> None:
        revision = import_layout(practice_rig(), by=None, now=NOW, publish=True)

        assert layout_of(revision) == settle(practice_rig(), {})

    @pytest.mark.parametrize("name", ["mesa-box", "arroyo-van", "first-response-truck"])
    def test_the_demonstration_reads_back_the_same(self, name: str) -> None:
        revision = import_layout(demo_layout(name), by=None, now=NOW, publish=True)

        assert layout_of(revision) == demo_layout(name)

    def test_the_same_slug_is_the_next_revision(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        second = import_layout(with_par(practice_rig(), 9), by=None, now=LATER, publish=True)

        assert second.layout == first.layout
        assert (first.number, second.number) == (1, 2)

    def test_another_slug_is_another_layout(self) -> None:
        one = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        other = import_layout(practice_rig("second-rig"), by=None, now=NOW, publish=True)

        assert one.layout != other.layout
        assert (one.number, other.number) == (1, 1)
        assert place_pk(one, "S1") != place_pk(other, "S1")

    @pytest.mark.parametrize("publish", [False, True])
    def test_an_unchanged_import_makes_none(self, publish: bool) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)

        again = import_layout(practice_rig(), by=None, now=LATER, publish=publish)

        assert again == first
        assert (Revision.objects.count(), AuditEntry.objects.count()) == (1, 2)

    def test_an_unchanged_draft_stays_as_it_is(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW)

        again = import_layout(practice_rig(), by=None, now=LATER)

        assert (again.pk, again.imported_at) == (first.pk, NOW)

    def test_an_open_draft_is_replaced(self) -> None:
        published = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        import_layout(with_par(practice_rig(), 8), by=None, now=NOW)

        draft = import_layout(with_par(practice_rig(), 9), by=None, now=LATER)

        assert list(Revision.objects.values_list("number", "state")) == [
            (1, RevisionState.PUBLISHED),
            (2, RevisionState.DRAFT),
        ]
        assert layout_of(draft).stock[0].par == 9
        published.refresh_from_db()
        assert layout_of(published).stock[0].par == 4

    def test_a_draft_lends_its_keys_to_nobody(self) -> None:
        """The published workbook is unchanged, whatever a draft calls its places."""
        published = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        rig = practice_rig()
        renamed = tuple(replace(each, place=f"new-{each.code}") for each in rig.compartments)
        import_layout(replace(rig, compartments=renamed), by=None, now=NOW)

        again = import_layout(rig, by=None, now=LATER)

        assert again == published

    def test_the_draft_is_published_as_imported(self) -> None:
        draft = import_layout(practice_rig(), by=None, now=NOW)

        published = import_layout(practice_rig(), by=None, now=LATER, publish=True)

        assert published.pk == draft.pk
        assert (published.state, published.published_at) == (RevisionState.PUBLISHED, LATER)


class TestPublishing:
    def test_the_revision_before_retires_and_the_rigs_ride_the_new_one(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        rig = RigFactory.create(revision=first)
        elsewhere = RigFactory.create()

        second = import_layout(with_par(practice_rig(), 9), by=None, now=LATER, publish=True)

        first.refresh_from_db()
        rig.refresh_from_db()
        assert first.state == RevisionState.RETIRED
        assert rig.revision == second
        assert rig.layout.published == second
        elsewhere.refresh_from_db()
        assert elsewhere.revision.layout != second.layout

    def test_a_draft_moves_no_rig(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        rig = RigFactory.create(revision=first)

        import_layout(with_par(practice_rig(), 9), by=None, now=LATER)

        rig.refresh_from_db()
        assert rig.revision == first

    def test_the_layout_takes_the_name_when_published(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        renamed = replace(practice_rig(), name="Practice rig, long body")

        draft = import_layout(renamed, by=None, now=LATER)
        first.layout.refresh_from_db()
        assert first.layout.name == "Practice rig"

        publish_revision(draft, by=None, now=LATER)
        first.layout.refresh_from_db()
        assert first.layout.name == "Practice rig, long body"

    def test_a_draft_published_in_another_tab_is_not_discarded(self, keeper: Person) -> None:
        draft = import_layout(practice_rig(), by=keeper, now=NOW)
        stale = Revision.objects.get(pk=draft.pk)
        publish_revision(draft, by=keeper, now=NOW)

        discard_draft(stale, by=keeper, now=LATER)

        assert Layout.objects.get().published == draft

    def test_publishing_twice_does_nothing_more(self, keeper: Person) -> None:
        revision = import_layout(practice_rig(), by=keeper, now=NOW, publish=True)

        publish_revision(revision, by=keeper, now=LATER)

        assert revision.published_at == NOW
        assert AuditEntry.objects.filter(action="publish revision").count() == 1


class TestPlaces:
    def test_a_place_is_kept_by_its_key_when_code_and_parent_change(self) -> None:
        first = import_layout(
            with_code(practice_rig(), "BAG-L", place="lid"), by=None, now=NOW, publish=True
        )
        moved = with_code(practice_rig(), "BAG-L", code="POUCH", inside="I1", place="lid")
        lines = [replace(each, compartment="POUCH") for each in moved.stock[3:5]]
        moved = replace(moved, stock=(*moved.stock[:3], *lines, *moved.stock[5:]))

        second = import_layout(moved, by=None, now=LATER, publish=True)

        assert place_pk(second, "POUCH") == place_pk(first, "BAG-L")

    def test_without_a_key_a_place_is_kept_by_its_code(self) -> None:
        keyed = with_code(practice_rig(), "I1A", place="bleeding-drawer")
        first = import_layout(keyed, by=None, now=NOW, publish=True)

        second = import_layout(with_par(practice_rig(), 9), by=None, now=LATER, publish=True)

        assert place_pk(second, "I1A") == place_pk(first, "I1A")
        assert second.compartments.get(code="I1A").place.key == "bleeding-drawer"

    def test_a_place_that_left_and_came_back_is_the_same(self) -> None:
        first = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        without = tuple(each for each in practice_rig().compartments if each.code != "P1")
        import_layout(
            replace(practice_rig(), compartments=without, points=()),
            by=None,
            now=NOW,
            publish=True,
        )

        third = import_layout(practice_rig(), by=None, now=LATER, publish=True)

        assert place_pk(third, "P1") == place_pk(first, "P1")

    def test_what_a_revision_moved_is_read_from_the_one_before(self) -> None:
        import_layout(demo_layout("mesa-box"), by=None, now=NOW, publish=True)

        second = import_layout(demo_layout("mesa-box-rev2"), by=None, now=LATER, publish=True)

        assert moved_by(second).bags == {"mesa-ped"}

    def test_items_are_shared_between_layouts_and_terms_are_not(self) -> None:
        one = import_layout(practice_rig(), by=None, now=NOW, publish=True)
        other = import_layout(practice_rig("second-rig"), by=None, now=NOW, publish=True)

        assert Item.objects.filter(key="tourniquet").count() == 1
        assert ItemTerms.objects.filter(item__key="tourniquet").count() == 2
        assert one.terms.count() == other.terms.count() == 10

    def test_ties_are_made_at_import_by_the_needs_of_that_day(self) -> None:
        call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)

        revision = import_layout(demo_layout("mesa-box"), by=None, now=NOW)

        assert revision.terms.exclude(need=None).count() == 217
        assert revision.terms.filter(need=None).count() == 7


class TestReferenceData:
    def test_it_loads_on_an_empty_database_and_again(self) -> None:
        files = sorted(str(path) for path in FIXTURES.glob("*.json"))

        call_command("loaddata", *files, verbosity=0)
        once = everything_stored()
        call_command("loaddata", *files, verbosity=0)

        assert everything_stored() == once
        assert (Need.objects.count(), CertificationLevel.objects.count()) == (259, 3)

    def test_every_record_is_one_that_a_form_would_take(self) -> None:
        call_command("loaddata", *map(str, FIXTURES.glob("*.json")), verbosity=0)

        for row in (*Need.objects.all(), *Recipe.objects.all()):
            row.full_clean()

    def test_a_need_has_one_of_the_ten_categories(self) -> None:
        call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)

        assert set(Need.objects.values_list("category", flat=True)) == set(CATEGORIES)


class TestAudit:
    def test_who_imported_and_published_is_written_down(self, keeper: Person) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW)
        import_layout(with_par(practice_rig(), 9), by=keeper, now=LATER, publish=True)

        assert list(AuditEntry.objects.values_list("at", "actor", "action", "subject")) == [
            (NOW, keeper.pk, "import layout", "practice-rig 1"),
            (LATER, keeper.pk, "import layout", "practice-rig 1"),
            (LATER, keeper.pk, "publish revision", "practice-rig 1"),
        ]


def everything_stored() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table of the rooms."""
    models = [
        model
        for room in ("people", "rigs", "scenarios", "competency", "runs")
        for model in apps.get_app_config(room).get_models()
    ]
    return {
        model._meta.label: sorted(model._default_manager.values_list(), key=repr)
        for model in models
    }


def test_twenty_thousand_lines_are_stored_and_read_back() -> None:
    places = tuple(
        EngineCompartment(f"A{number}", f"Place {number}", face="street") for number in range(200)
    )
    lines = tuple(
        EngineLine(f"A{number % 200}", f"Thing {number}", 1 + number % 9, category="airway")
        for number in range(20_000)
    )
    rig = EngineLayout("Depot", "depot", compartments=places, stock=lines)

    revision = import_layout(rig, by=None, now=NOW, publish=True)

    assert StockLine.objects.count() == 20_000
    assert Place.objects.count() == 200
    assert layout_of(revision) == settle(rig, {})
