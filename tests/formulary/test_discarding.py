"""A draft that is not wanted any more goes whole, and nothing but a draft goes."""

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.formulary.actions import ApprovalRefusedError, discard, draft_from, send_back
from drills.formulary.models import (
    DoseRule,
    FormularyRevision,
    Medicine,
    Presentation,
    SignedDocument,
)
from drills.people.models import AuditEntry, Person, Role
from tests.formulary.conftest import (
    NOW,
    ClientOf,
    hand_in,
    make_presentation,
    make_rule,
    put_in_force,
)
from tests.formulary.test_index import said, shown


def url(revision: FormularyRevision) -> str:
    return reverse("formulary:discard", args=[revision.number])


@pytest.fixture
def draft(own: FormularyRevision, director: Person, educator: Person) -> FormularyRevision:
    """Made from what is approved, with a medicine that nothing else speaks of."""
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    alone = Medicine.objects.create(key="new-one", name="New one")
    packed = make_presentation(draft, "5 mg / 1 mL ampoule", alone)
    make_rule(draft, "B1", presentation="", presentations=[packed.key], medicine=alone)
    return draft


def test_a_draft_goes_with_all_that_it_alone_held(
    draft: FormularyRevision, own: FormularyRevision, educator: Person
) -> None:
    discard(draft, by=educator, now=NOW)

    assert not FormularyRevision.objects.filter(number=2).exists()
    assert {each.revision for each in DoseRule.objects.all()} == {own}
    assert {each.revision for each in Presentation.objects.all()} == {own}
    assert [each.key for each in Medicine.objects.all()] == ["test-medicine"]
    line = AuditEntry.objects.get(action="discard formulary")
    assert (line.actor, line.subject) == (educator, "revision 2")
    assert line.before == {
        "number": 2,
        "name": "",
        "rules": 2,
        "sent back because": "",
        "medicines": ["new-one"],
    }


def test_the_number_of_a_discarded_draft_is_not_given_again(
    draft: FormularyRevision, own: FormularyRevision, educator: Person
) -> None:
    discard(draft, by=educator, now=NOW)

    assert draft_from(own, by=educator, now=NOW).number == 3


def test_what_was_sent_back_can_be_discarded(
    draft: FormularyRevision, director: Person, educator: Person
) -> None:
    hand_in(draft)
    send_back(draft, by=director, because="No", now=NOW)

    discard(draft, by=educator, now=NOW)

    assert not FormularyRevision.objects.filter(number=2).exists()


def test_nothing_but_a_draft_is_discarded(
    draft: FormularyRevision, own: FormularyRevision, director: Person, educator: Person
) -> None:
    demo = FormularyRevision.objects.create(number=0, is_demo=True)
    hand_in(draft)
    for kept, told in (
        (demo, "demonstration formulary"),
        (own, "approved already"),
        (draft, "submitted already"),
    ):
        with pytest.raises(ApprovalRefusedError, match=told):
            discard(kept, by=educator, now=NOW)

    assert FormularyRevision.objects.count() == 3


def test_what_a_signed_paper_is_kept_of_stays(draft: FormularyRevision, educator: Person) -> None:
    SignedDocument.objects.create(revision=draft, name="signed.pdf", content=b"%PDF-")

    with pytest.raises(ApprovalRefusedError, match="signed document is kept"):
        discard(draft, by=educator, now=NOW)

    assert (draft.rules.count(), SignedDocument.objects.count()) == (2, 1)


@pytest.mark.parametrize("role", sorted(set(Role) - {Role.EDUCATOR}))
def test_it_is_the_educators(draft: FormularyRevision, role: Role) -> None:
    with pytest.raises(PermissionDenied):
        discard(draft, by=PersonFactory.create(roles=[role]), now=NOW)

    assert FormularyRevision.objects.filter(number=2).exists()


def test_it_is_asked_before_it_is_done(
    draft: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    client = client_of(educator)
    page = shown(client, reverse("formulary:revision", args=[draft.number]))
    assert f'href="{url(draft)}"' in page

    asked = said(shown(client, url(draft)))

    assert "with 2 rules" in asked
    assert "no other revision speaks of: New one" in asked
    assert FormularyRevision.objects.filter(number=2).exists()

    done = client.post(url(draft), follow=True)

    assert "is discarded" in done.content.decode()
    assert not FormularyRevision.objects.filter(number=2).exists()


def test_a_page_that_was_left_open_says_why_it_is_refused(
    draft: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    hand_in(draft)

    refused = client_of(educator).post(url(draft))

    assert refused.status_code == 422
    assert "is submitted already" in refused.content.decode()
    assert client_of(educator).get(url(draft)).status_code == 404
