"""A rig given another layout rides what is in force of that, and leaves the old one behind."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    bring_in_force,
    held_pairs,
    import_layout,
    make_labels,
    move_rig,
    publish_revision,
    report_absence,
    retire_layout,
    tell_difference,
)
from drills.rigs.labels import labelled
from drills.rigs.models import Layout, Revision, Rig
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

URL = reverse("rigs:move_rig", args=["11"])
LATER = NOW + timedelta(days=3)


@pytest.fixture
def van(keeper: Person) -> Layout:
    """Another layout in force, with places of the same keys."""
    return import_layout(practice_rig("other-van"), by=keeper, now=NOW, publish=True).layout


def coming(layout: Layout, keeper: Person) -> Revision:
    draft = import_layout(replace(practice_rig(layout.slug), notes="next"), by=keeper, now=NOW)
    return publish_revision(draft, by=keeper, now=NOW, effective_on=LATER.date())


@pytest.mark.parametrize("headers", [{}, FRAGMENT])
def test_it_rides_what_is_in_force_of_the_other(
    client_of: ClientOf, keeper: Person, rig: Rig, van: Layout, headers: dict[str, str]
) -> None:
    assert "other-van" in client_of(keeper).get(reverse("rigs:own", args=["11"])).content.decode()

    response = client_of(keeper).post(URL, {"layout": "other-van"}, headers=headers)

    rig.refresh_from_db()
    where = response.get("HX-Redirect") or response.get("Location")
    assert where == reverse("rigs:own", args=["11"])
    assert (rig.layout, rig.revision) == (van, van.published)
    entry = AuditEntry.objects.get(action="move rig")
    assert (entry.actor, entry.subject, entry.before) == (keeper, "11", {"layout": "practice-rig"})
    assert entry.after == {"layout": "other-van", "revision": 1}


def test_the_layout_it_left_can_be_retired(keeper: Person, rig: Rig, van: Layout) -> None:
    with pytest.raises(ValueError, match="is ridden by 11"):
        retire_layout(rig.layout, by=keeper, now=NOW)

    move_rig(rig, layout=van, by=keeper, now=NOW)
    retire_layout(rig.layout, by=keeper, now=NOW)

    assert rig.layout.published is None


def test_what_was_told_of_the_old_layout_is_not_taken_along(
    keeper: Person, hire: Person, rig: Rig, van: Layout
) -> None:
    """Places of two layouts are not the same though their keys are."""
    tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    report_absence(["S1"], thing="", rig=rig, revision=rig.revision, by=hire, now=NOW)
    make_labels(rig, [rig.layout.places.get(key="S1")], by=keeper, now=NOW)
    assert held_pairs(rig) == {("", "S1")}

    moved = move_rig(rig, layout=van, by=keeper, now=NOW)

    assert moved.differences.open().count() == 0
    assert moved.differences.get().ended_by == keeper
    assert held_pairs(moved) == frozenset()
    there = labelled(moved, layout_of(moved.revision))
    assert (there.here, [each.code for each in there.gone]) == ({}, ["S1"])


def test_a_label_of_the_old_layout_tells_nothing(
    client_of: ClientOf, keeper: Person, rig: Rig, van: Layout
) -> None:
    make_labels(rig, [rig.layout.places.get(key="S1")], by=keeper, now=NOW)
    page = reverse("rigs:label", args=[rig.labels.get().token])
    assert "Traffic cone" in client_of(keeper).get(page).content.decode()

    move_rig(rig, layout=van, by=keeper, now=NOW)

    assert "Traffic cone" not in client_of(keeper).get(page).content.decode()


def test_it_changes_to_what_is_to_come_of_the_new_and_of_the_old_no_more(
    keeper: Person, rig: Rig, van: Layout
) -> None:
    old, new = coming(rig.layout, keeper), coming(van, keeper)

    moved = move_rig(rig, layout=van, by=keeper, now=NOW)
    bring_in_force(now=LATER)

    old.refresh_from_db()
    moved.refresh_from_db()
    assert old.refits == []
    assert moved.revision == new


def test_the_layout_it_rides_already_changes_nothing(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    tell_difference(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)

    client_of(keeper).post(URL, {"layout": "practice-rig"})

    assert rig.differences.open().count() == 1
    assert not AuditEntry.objects.filter(action="move rig").exists()


@pytest.mark.parametrize(
    ("slug", "said"),
    [
        ("", "No layout was chosen."),
        ("nowhere", "That is no layout in force."),
        ("other-van", "That is no layout in force."),
    ],
)
def test_what_is_no_layout_in_force_is_refused(
    client_of: ClientOf, keeper: Person, rig: Rig, van: Layout, slug: str, said: str
) -> None:
    retire_layout(van, by=keeper, now=NOW)

    response = client_of(keeper).post(URL, {"layout": slug})

    rig.refresh_from_db()
    assert response.status_code == 422
    assert said in response.content.decode()
    assert rig.layout.slug == "practice-rig"


def test_is_for_keepers_alone(client_of: ClientOf, hire: Person, rig: Rig, van: Layout) -> None:
    assert client_of(hire).post(URL, {"layout": "other-van"}).status_code == 403
    assert Client().post(URL)["Location"].startswith(reverse("people:sign_in"))
    rig.refresh_from_db()
    assert rig.layout.slug == "practice-rig"
