"""A draft changed step by step: nothing in force is touched, and every step can be undone."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from drills.demo.factories import rig_on
from drills.engine.editing import change_line, change_place, remove_place, shift_place
from drills.engine.layout import Layout
from drills.engine.rows import EditError
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    NothingToUndoError,
    discard_draft,
    edit_draft,
    import_layout,
    open_draft,
    publish_revision,
    undo_step,
)
from drills.rigs.models import Item, Place, Revision, RevisionState, Rig
from drills.rigs.reading import layout_of
from tests.layouts import demo_layout, practice_rig
from tests.rigs.conftest import NOW


def edit(rig: Rig, by: Person, *args: str, **cells: str) -> Revision:
    (code,) = args
    return edit_draft(
        rig.layout, lambda layout: change_place(layout, code, cells), what="test", by=by, now=NOW
    )


def test_a_draft_is_a_copy_with_the_same_places(rig: Rig, keeper: Person) -> None:
    draft = open_draft(rig.layout, by=keeper, now=NOW)

    assert (draft.number, draft.state) == (2, RevisionState.DRAFT)
    assert layout_of(draft) == layout_of(rig.revision)
    places = [set(each.compartments.values_list("place")) for each in (draft, rig.revision)]
    assert places[0] == places[1]
    assert open_draft(rig.layout, by=keeper, now=NOW) == draft


def test_a_layout_never_published_and_without_a_draft_has_nothing_to_copy(
    rig: Rig, keeper: Person
) -> None:
    rig.layout.revisions.update(state=RevisionState.RETIRED)

    with pytest.raises(ValueError, match="Import a workbook"):
        open_draft(rig.layout, by=keeper, now=NOW)


def test_what_is_in_force_stays(rig: Rig, keeper: Person) -> None:
    before = layout_of(rig.revision)

    draft = edit(rig, keeper, "S1", name="Front locker")

    assert layout_of(Revision.objects.get(pk=rig.revision_id)) == before
    assert layout_of(draft).by_code["S1"].name == "Front locker"
    assert AuditEntry.objects.filter(action="edit draft", actor=keeper).count() == 1


@pytest.mark.parametrize(
    "change",
    [
        lambda layout: shift_place(layout, "S1", x=2),
        lambda layout: change_place(layout, "S1", {"code": "LOCKER"}),
        lambda layout: change_place(layout, "BAG", {"inside": "I1"}),
        lambda layout: change_place(layout, "I1A", {"reach_from": "", "height": "low"}),
        lambda layout: remove_place(layout, "I1"),
        lambda layout: change_line(layout, "I1A/gauze roll", {"expires": "2027-01-31"}),
        lambda layout: change_line(layout, "I1A/gauze roll", {"weight_kg": "0,25"}),
        lambda layout: change_line(layout, "S1A/splint", {"item": "Long splint", "par": "9"}),
    ],
)
def test_what_is_stored_is_what_was_changed_and_undoing_gives_it_back(
    change: Callable[[Layout], Layout], rig: Rig, keeper: Person
) -> None:
    before = layout_of(rig.revision)
    items, places = Item.objects.count(), Place.objects.count()

    draft = edit_draft(rig.layout, change, what="test", by=keeper, now=NOW)

    assert layout_of(draft) == change(before) != before
    undo_step(rig.layout, 1, by=keeper, now=NOW)
    assert layout_of(Revision.objects.get(pk=draft.pk)) == before
    assert draft.steps.count() == 0
    assert (Item.objects.count(), Place.objects.count()) == (items, places)


def test_steps_are_undone_one_after_the_other(rig: Rig, keeper: Person) -> None:
    edit(rig, keeper, "S1", name="First")
    draft = edit(rig, keeper, "S1", name="Second")

    undo_step(rig.layout, 2, by=keeper, now=NOW)

    assert layout_of(Revision.objects.get(pk=draft.pk)).by_code["S1"].name == "First"


def test_a_step_that_is_not_the_last_is_not_undone(rig: Rig, keeper: Person) -> None:
    edit(rig, keeper, "S1", name="First")
    draft = edit(rig, keeper, "S1", name="Second")

    with pytest.raises(NothingToUndoError):
        undo_step(rig.layout, 1, by=keeper, now=NOW)

    assert layout_of(Revision.objects.get(pk=draft.pk)).by_code["S1"].name == "Second"


def test_what_is_refused_opens_no_draft(rig: Rig, keeper: Person) -> None:
    with pytest.raises(EditError):
        edit(rig, keeper, "S1", face="roof")

    assert rig.layout.draft is None


def test_what_changes_nothing_is_no_step(rig: Rig, keeper: Person) -> None:
    draft = edit(rig, keeper, "S1", name="Street cabinet")

    assert draft.steps.count() == 0


def test_only_the_last_steps_are_kept(rig: Rig, keeper: Person) -> None:
    for number in range(53):
        draft = edit(rig, keeper, "S1", name=f"Name {number}")

    assert draft.steps.count() == 50
    assert draft.steps.values_list("number", flat=True).first() == 53


def test_a_workbook_read_over_a_draft_can_be_undone(rig: Rig, keeper: Person) -> None:
    draft = edit(rig, keeper, "S1", name="By hand")
    other = change_place(practice_rig(), "S1", {"name": "From a file"})

    assert import_layout(other, by=keeper, now=NOW) == draft
    assert layout_of(Revision.objects.get(pk=draft.pk)).by_code["S1"].name == "From a file"
    undo_step(rig.layout, 2, by=keeper, now=NOW)

    assert layout_of(Revision.objects.get(pk=draft.pk)).by_code["S1"].name == "By hand"


def test_a_draft_changed_by_hand_is_published_as_any_other(rig: Rig, keeper: Person) -> None:
    draft = edit(rig, keeper, "BAG", inside="I1")

    published = publish_revision(draft, by=keeper, now=NOW)

    rig.refresh_from_db()
    assert rig.revision == published
    assert layout_of(published).by_code["BAG"].inside == "I1"


def test_a_new_place_with_the_code_of_one_that_was_renamed_is_another_place(
    rig: Rig, keeper: Person
) -> None:
    edit(rig, keeper, "P1", code="PANEL")
    draft = edit(rig, keeper, "I1", code="P1")

    keys = {each.code: each.key for each in layout_of(draft).compartments}
    assert (keys["PANEL"], keys["P1"]) == ("P1", "I1")


def test_each_change_of_a_demonstration_layout_is_stored_whole(keeper: Person) -> None:
    big = rig_on(demo_layout("mesa-box"), unit="77")
    before = layout_of(big.revision)

    def change(layout: Layout) -> Layout:
        code = layout.compartments[0].code
        return change_place(layout, code, {"notes": "Mind the step\nbehind it."})

    draft = edit_draft(big.layout, change, what="test", by=keeper, now=NOW)

    assert layout_of(draft) == change(before)


def test_what_is_in_force_keeps_no_steps_and_what_is_to_come_does(rig: Rig, keeper: Person) -> None:
    draft = edit(rig, keeper, "S1", name="Front locker")

    publish_revision(draft, by=keeper, now=NOW, effective_on=NOW.date() + timedelta(days=3))
    assert draft.steps.count() == 1

    publish_revision(draft, by=keeper, now=NOW)
    assert draft.steps.count() == 0


def test_a_draft_that_is_discarded_already_stays_so(rig: Rig, keeper: Person) -> None:
    draft = open_draft(rig.layout, by=keeper, now=NOW)
    as_shown = Revision.objects.get(pk=draft.pk)

    with CaptureQueriesContext(connection) as told:
        discard_draft(draft, by=keeper, now=NOW)
    discard_draft(as_shown, by=keeper, now=NOW)

    assert AuditEntry.objects.filter(action="discard draft").count() == 1
    # Whoever saves a change holds the layout, so that it is read before the draft is.
    read = [each["sql"] for each in told if each["sql"].startswith("SELECT")]
    assert ' FROM "rigs_layout" ' in read[0]
