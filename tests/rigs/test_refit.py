"""A fleet is refitted over weeks: each rig rides its own revision until it is."""

from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RigFactory
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout, pick_rig, publish_revision, refit_rig
from drills.rigs.models import Revision, RevisionState, Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf


@pytest.fixture
def other(rig: Rig) -> Rig:
    """A second rig on the layout."""
    found: Rig = RigFactory.create(unit="12", revision=rig.revision, station=None)
    return found


@pytest.fixture
def draft(rig: Rig, keeper: Person) -> Revision:
    """The upper drawer is renamed."""
    changed = tuple(
        replace(each, name="Top drawer") if each.code == "I1A" else each
        for each in practice_rig().compartments
    )
    return import_layout(replace(practice_rig(), compartments=changed), by=keeper, now=NOW)


def ridden() -> dict[str, int]:
    return dict(Rig.objects.values_list("unit", "revision__number"))


def publish_url(draft: Revision) -> str:
    return reverse("rigs:publish", args=[draft.layout.slug, draft.number])


def test_only_those_refitted_ride_the_new_revision(
    client_of: ClientOf, keeper: Person, other: Rig, draft: Revision
) -> None:
    response = client_of(keeper).post(
        publish_url(draft), {"each": "1", "refitted": ["12"]}, follow=True
    )

    assert ridden() == {"11": 1, "12": 2}
    assert "1 of 2 rigs ride it from now on." in response.content.decode()
    entry = AuditEntry.objects.get(action="publish revision", subject="practice-rig 2")
    today = timezone.localdate().isoformat()
    assert entry.after == {"in_force_from": today, "refitted": ["12"]}


def test_without_a_choice_all_of_them_do(
    client_of: ClientOf, keeper: Person, other: Rig, draft: Revision
) -> None:
    client_of(keeper).post(publish_url(draft))

    assert ridden() == {"11": 2, "12": 2}


def test_none_of_them_can_be_chosen(
    client_of: ClientOf, keeper: Person, other: Rig, draft: Revision
) -> None:
    client_of(keeper).post(publish_url(draft), {"each": "1"})

    draft.refresh_from_db()
    assert draft.state == RevisionState.PUBLISHED
    assert ridden() == {"11": 1, "12": 1}


def test_a_strange_rig_is_named_and_nothing_is_published(
    client_of: ClientOf, keeper: Person, other: Rig, draft: Revision
) -> None:
    response = client_of(keeper).post(publish_url(draft), {"each": "1", "refitted": ["99", "12"]})

    assert response.status_code == 422
    assert "99 came in for rigs of this layout; there are: 11, 12." in response.content.decode()
    draft.refresh_from_db()
    assert draft.state == RevisionState.DRAFT
    assert ridden() == {"11": 1, "12": 1}


def test_a_rig_is_refitted_later_by_its_keeper(
    client_of: ClientOf, keeper: Person, hire: Person, other: Rig, draft: Revision
) -> None:
    publish_revision(draft, by=keeper, now=NOW, refitted=[])
    index = reverse("rigs:index")
    assert "not refitted yet" in client_of(hire).get(index).content.decode()
    assert "Refitted" not in client_of(hire).get(index).content.decode()
    assert "Refitted" in client_of(keeper).get(index).content.decode()

    client_of(keeper).post(reverse("rigs:refit", args=["11"]))

    assert ridden() == {"11": 2, "12": 1}
    entry = AuditEntry.objects.get(action="refit rig")
    assert (entry.subject, entry.before, entry.after) == ("11", {"revision": 1}, {"revision": 2})


def test_refitting_twice_does_nothing_more(keeper: Person, rig: Rig) -> None:
    refit_rig(rig, by=keeper, now=NOW)

    assert not AuditEntry.objects.filter(action="refit rig").exists()


@pytest.mark.parametrize("name", ["layout", "walk"])
def test_who_rides_an_older_revision_is_shown_that_one(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig, draft: Revision, name: str
) -> None:
    """Where things lie on the rig that the person rides today, not on the one of others."""
    publish_revision(draft, by=keeper, now=NOW, refitted=[])
    pick_rig(hire, rig, now=NOW)
    url = reverse(f"rigs:{name}", args=["practice-rig"])

    assert "rev. 1" in client_of(hire).get(url).content.decode()
    assert "rev. 2" in client_of(keeper).get(url).content.decode()

    refit_rig(rig, by=keeper, now=NOW)
    assert "rev. 2" in client_of(hire).get(url).content.decode()
