"""A layout that the service gave up is retired, stays in the history, and can be brought back."""

from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    add_rig,
    bring_back_layout,
    import_layout,
    publish_revision,
    retire_layout,
)
from drills.rigs.models import Layout, RevisionState, Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf
from tests.rigs.test_in_force import LATER, renamed, states


@pytest.fixture
def spare(keeper: Person) -> Layout:
    """A layout in force that no rig rides."""
    layout = replace(practice_rig("old-van"), name="Old van")
    return import_layout(layout, by=keeper, now=NOW, publish=True).layout


def post(client: Client, what: str, slug: str = "old-van") -> str:
    return client.post(reverse(f"rigs:{what}", args=[slug]), follow=True).content.decode()


def test_crews_see_it_no_more_and_its_keeper_brings_it_back(
    client_of: ClientOf, hire: Person, keeper: Person, spare: Layout
) -> None:
    index, own, kept = reverse("rigs:index"), client_of(hire), client_of(keeper)
    assert "Old van" in own.get(index).content.decode()

    post(kept, "retire")
    assert "Old van" not in own.get(index).content.decode()
    assert own.get(reverse("rigs:layout", args=["old-van"])).status_code == 404
    assert own.get(reverse("rigs:revision", args=["old-van", 1])).status_code == 200
    assert "Bring back" in kept.get(index).content.decode()
    assert "Bring back" not in own.get(index).content.decode()

    post(kept, "bring_back")
    assert "Old van" in own.get(index).content.decode()
    told = AuditEntry.objects.filter(subject="old-van").values_list("action", flat=True)
    assert {"retire layout", "bring back layout"} <= set(told)


def test_it_is_brought_back_as_it_was_last(keeper: Person, spare: Layout) -> None:
    changed = replace(renamed("Top drawer"), slug="old-van")
    second = import_layout(changed, by=keeper, now=NOW, publish=True)
    retire_layout(spare, by=keeper, now=NOW)
    assert spare.published is None

    assert bring_back_layout(spare, by=keeper, now=NOW) == second
    assert spare.published == second


def test_rigs_that_ride_it_are_named(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    url = reverse("rigs:retire", args=["practice-rig"])
    response = client_of(keeper).post(url)

    assert response.status_code == 422
    assert "Practice rig is ridden by 11. A layout that no rig rides" in response.content.decode()
    assert states() == {1: RevisionState.PUBLISHED}


def test_what_is_to_come_is_called_off_first(keeper: Person, spare: Layout) -> None:
    changed = replace(renamed("Top drawer"), slug="old-van")
    draft = import_layout(changed, by=keeper, now=NOW)
    publish_revision(draft, by=keeper, now=NOW, effective_on=LATER)

    with pytest.raises(ValueError, match=r"Rev\. 2 of Old van is to come\."):
        retire_layout(spare, by=keeper, now=NOW)


def test_what_never_was_in_force_cannot_be_brought_back(
    client_of: ClientOf, keeper: Person, db: None
) -> None:
    import_layout(replace(practice_rig("new-van"), name="New van"), by=keeper, now=NOW)

    said = post(client_of(keeper), "bring_back", "new-van")
    assert "New van never had a revision in force" in said


def test_no_rig_comes_onto_a_layout_that_is_retired(keeper: Person, rig: Rig) -> None:
    spare = import_layout(practice_rig("old-van"), by=keeper, now=NOW, publish=True).layout
    retire_layout(spare, by=keeper, now=NOW)

    with pytest.raises(ValueError, match="has no published revision"):
        add_rig("40", layout=spare, by=keeper, now=NOW)
