"""The page of a revision, and what is done there."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from drills.formulary.actions import draft_from
from drills.formulary.models import FormularyRevision, FormularyState, Presentation
from drills.people.models import Person
from tests.formulary.conftest import (
    DOCUMENT,
    NOW,
    TODAY,
    ClientOf,
    hand_in,
    make_rule,
    put_in_force,
)
from tests.formulary.test_index import said, shown

PDF = b"%PDF-1.7 signed"


def url(name: str, revision: FormularyRevision) -> str:
    return reverse(f"formulary:{name}", args=[revision.number])


def of(revision: FormularyRevision) -> str:
    revision.refresh_from_db()
    return revision.state


@pytest.fixture
def disagreeing(own: FormularyRevision) -> FormularyRevision:
    """Two rules of it disagree."""
    make_rule(own, "A2", dose="0.1 mg/kg", source="Another book", page="p. 9")
    return own


def test_an_educator_submits_a_draft_and_a_director_approves_it(
    own: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    teacher, client = client_of(educator), client_of(director)
    assert url("approve", own) not in shown(client, url("revision", own))

    response = teacher.post(url("submit", own), follow=True)
    assert "Formulary, revision 1 is with the medical director." in response.content.decode()
    assert url("revision", own) in shown(client)
    assert url("approve", own) in shown(client, url("revision", own))
    response = client.post(url("approve", own), {"document": DOCUMENT}, follow=True)

    assert "Formulary, revision 1 is approved." in response.content.decode()
    own.refresh_from_db()
    assert (own.state, own.approved_by) == (FormularyState.APPROVED, director)
    assert url("approve", own) not in response.content.decode()


def test_what_it_changes_stands_before_its_approval(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    """How many rules now and then, each change with both values, and how many can be drilled."""
    for code, use in (("A2", "pain"), ("A3", "croup")):
        make_rule(own, code, indication=use)
    put_in_force(own, by=director)
    second = FormularyRevision.objects.create(number=2)
    make_rule(second, "A1", dose="0.3 mg/kg", version="8")
    make_rule(second, "A2", indication="pain")
    make_rule(second, "A4", indication="fever", presentation="10 mg tube")
    make_rule(second, "A5", indication="burns")
    Presentation.objects.filter(revision=second, container="vial").update(volume="2 mL")
    Presentation.objects.filter(revision=second, container="vial").update(strength="5 mg/mL")
    hand_in(second)

    page = said(shown(client_of(director), url("revision", second)))

    assert "Formulary, revision 1 has 3 rules." in page
    assert "This one has 4 : 2 added, 1 removed, 1 changed." in page
    assert "Of its rules 3 can be drilled." in page
    assert (
        "A1 Test medicine changed dose: was 0.2 mg/kg, becomes 0.3 mg/kg , 1.5 times as much "
        "version: was 7" in page
    )
    assert "A3 Test medicine removed croup: 0.2 mg/kg, at most 10 mg" in page
    assert "You approve 2 added, 1 removed, 1 changed. No drill asks what is removed." in page
    assert "A5 Test medicine added burns" in page
    assert "A2 Test medicine changed" not in page
    assert (
        "10-mg-2-ml-vial: was Test medicine 10 mg / 2 mL vial, becomes Test medicine 5 mg/mL, "
        "2 mL vial" in page
    )
    assert "10-mg-tube: was nothing, becomes Test medicine 10 mg tube" in page


def test_rules_that_disagree_stand_side_by_side_and_are_looked_at(
    disagreeing: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    hand_in(disagreeing)
    client = client_of(director)

    page = said(shown(client, url("revision", disagreeing)))
    refused = client.post(url("approve", disagreeing), {"document": DOCUMENT})
    assert of(disagreeing) == FormularyState.SUBMITTED
    approved = client.post(
        url("approve", disagreeing), {"document": DOCUMENT, "contradictions": "1"}
    )

    assert "Contradictions 1" in page
    assert "dose: 0.2 mg/kg against 0.1 mg/kg" in page
    assert "Another book, 7, p. 9; confirmed" in page
    assert "I have looked at the contradiction" in page
    assert refused.status_code == 422
    assert "1 contradiction is in it, and 0 were looked at." in refused.content.decode()
    assert approved.status_code == 302
    assert of(disagreeing) == FormularyState.APPROVED
    assert "Contradictions 1; 1 shown to who approved" in said(
        shown(client, url("revision", disagreeing))
    )


def test_a_director_sends_it_back_and_the_educator_reads_why(
    own: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    hand_in(own)

    empty = client_of(director).post(url("send_back", own), {"because": " "})
    client_of(director).post(url("send_back", own), {"because": "A1 is for children."})

    assert empty.status_code == 422
    assert "Say what has to change" in empty.content.decode()
    assert of(own) == FormularyState.DRAFT
    page = said(shown(client_of(educator), url("revision", own)))
    assert "Sent back by Di Rector: “A1 is for children.”" in page
    assert "Submit it" in page


def record(**fields: Any) -> dict[str, Any]:
    given = {"name": "Dr Paper", "on": TODAY.isoformat(), "document": DOCUMENT}
    return given | {"paper": SimpleUploadedFile("a.pdf", PDF)} | fields


def test_an_educator_records_what_was_signed_on_paper_and_it_can_be_had(
    own: FormularyRevision, educator: Person, hire: Person, client_of: ClientOf
) -> None:
    hand_in(own)
    client = client_of(educator)

    response = client.post(url("record", own), record(), follow=True)

    page = said(response.content.decode())
    assert of(own) == FormularyState.APPROVED
    assert "Signed by Dr Paper , 25 Nov 2026 Recorded by" in page
    assert educator.name in page
    paper = client.get(url("signed", own))
    assert paper.content == PDF
    assert paper["Content-Type"] == "application/pdf"
    assert paper["Content-Disposition"] == 'attachment; filename="formulary-1-signed.pdf"'
    assert paper["X-Content-Type-Options"] == "nosniff"
    assert client_of(hire).get(url("signed", own)).status_code == 403
    assert f"approved by Dr Paper on 25 Nov 2026, recorded by {educator.name}" in said(
        shown(client_of(hire))
    )


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"name": ""}, "Name the medical director who signed it."),
        ({"on": ""}, "Say on what day it was signed."),
        ({"on": "soon"}, "That is no day; it takes one such as 2026-11-28."),
        ({"on": "2999-01-01"}, "which is still to come"),
        ({"document": ""}, "Name the document"),
        ({"paper": ""}, "Attach the signed document: a PDF, or a picture"),
        ({"paper": SimpleUploadedFile("a.html", b"<html>")}, "a.html is neither; it takes a PDF"),
        ({"paper": SimpleUploadedFile("a.pdf", b"")}, "empty"),
    ],
)
def test_a_paper_that_is_not_taken_says_why_and_keeps_what_was_typed(
    fields: dict[str, Any],
    told: str,
    own: FormularyRevision,
    educator: Person,
    client_of: ClientOf,
) -> None:
    hand_in(own)

    response = client_of(educator).post(url("record", own), record(**fields))

    page = response.content.decode()
    assert response.status_code == 422
    assert told in page
    assert "Choose the file again." in page
    assert f'value="{fields.get("name", "Dr Paper")}"' in page or not fields.get("name", "x")
    assert of(own) == FormularyState.SUBMITTED


@pytest.mark.parametrize(
    ("document", "told"), [("", "Name the document"), ("x" * 201, "200 characters")]
)
def test_a_refused_approval_says_why_and_keeps_what_was_typed(
    document: str, told: str, own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    hand_in(own)

    response = client_of(director).post(url("approve", own), {"document": document})

    assert response.status_code == 422
    assert told in response.content.decode()
    assert f'value="{document}"' in response.content.decode()
    assert of(own) == FormularyState.SUBMITTED


def test_a_draft_that_cannot_be_approved_says_which_rules_and_is_not_submitted(
    own: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    make_rule(own, "A2", indication="pain", status="from memory")
    client = client_of(educator)

    page = said(shown(client, url("revision", own)))
    response = client.post(url("submit", own))

    assert "1 rule cannot be approved yet" in page
    assert "A2 Test medicine is from memory: no document was read" in page
    assert response.status_code == 422
    assert "A2 is from memory" in response.content.decode()
    assert of(own) == FormularyState.DRAFT


def test_an_older_draft_than_the_approved_one_is_approved_no_more(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    hand_in(own)
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)
    put_in_force(second, by=director)
    client = client_of(director)

    page = shown(client, url("revision", own))
    response = client.post(url("approve", own), {"document": DOCUMENT})

    assert url("approve", own) not in page
    assert "It is older than Formulary, revision 2, which is approved" in page
    assert response.status_code == 422
    assert "is older than Formulary, revision 2" in response.content.decode()
    assert of(own) == FormularyState.SUBMITTED


def test_the_demonstration_has_no_form_and_takes_no_approval(
    demo: FormularyRevision,
    director: Person,
    educator: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    client = client_of(director)
    for each in (client, client_of(educator)):
        page = shown(each, url("revision", demo))
        assert not any(url(name, demo) in page for name in ("approve", "submit", "record"))

    response = client.post(url("approve", demo), {"document": DOCUMENT})

    assert response.status_code == 422
    assert "is never approved." in response.content.decode()
    assert of(demo) == FormularyState.DRAFT


def test_a_draft_is_made_from_the_demonstration_and_says_what_it_lacks(
    demo: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    client = client_of(educator)

    response = client.post(url("draft", demo), follow=True)

    page = said(response.content.decode())
    assert "Formulary, revision 1 draft" in page
    assert "What cannot be approved 43" in page
    assert "Contradictions 1" in page
    assert "D023 cardiac arrest, potassium or overdose" in page


def test_what_is_approved_already_says_so(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)

    response = client_of(director).post(url("approve", own), {"document": "another"})

    assert response.status_code == 422
    assert "Formulary, revision 1 is approved already." in response.content.decode()
    own.refresh_from_db()
    assert own.document == DOCUMENT


@pytest.mark.parametrize("who", ["outsider", "hire", "fto", "educator", "keeper", "admin"])
def test_no_other_role_approves(
    who: str, own: FormularyRevision, client_of: ClientOf, request: pytest.FixtureRequest
) -> None:
    hand_in(own)
    client = client_of(request.getfixturevalue(who))

    response = client.post(url("approve", own), {"document": DOCUMENT})

    assert response.status_code == 403
    assert of(own) == FormularyState.SUBMITTED


def test_over_a_waiting_revision_nothing_says_that_nobody_can_approve(
    demo: FormularyRevision,
    own: FormularyRevision,
    director: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    hand_in(own)

    page = said(shown(client_of(director)))

    assert "nobody can" not in page
    assert "until a revision that waits is approved" in page


def test_a_superseded_revision_is_still_read_against_the_one_before_it(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director, now=NOW - timedelta(days=3))
    second = put_in_force(draft_from(own, by=educator, now=NOW), by=director)
    put_in_force(draft_from(second, by=educator, now=NOW), by=director)

    page = said(shown(client_of(educator), url("revision", second)))

    assert "Formulary, revision 2 superseded" in page
    assert "What it changes against revision 1" in page
    assert "0 added, 0 removed, 0 changed" in page


def test_what_was_removed_is_open_and_stands_after_the_approval_too(
    demo: FormularyRevision,
    demonstration: None,
    own: FormularyRevision,
    director: Person,
    client_of: ClientOf,
) -> None:
    """Without a revision before, the demonstration is what it replaced."""
    hand_in(own)
    client = client_of(director)
    before = shown(client, url("revision", own))
    client.post(url("approve", own), {"document": DOCUMENT})
    after = shown(client, url("revision", own))

    gone = demo.rules.count()
    for page in (before, after):
        assert "against the demonstration, which nobody approved" in said(page)
        assert f"1 added, {gone} removed, 0 changed" in said(page)
        removed = page.partition(f"Removed: {gone} rules")[2].partition("</ul>")[0]
        assert removed.count("<li") == gone
        assert not page.partition(f"Removed: {gone} rules")[0].endswith("<summary>")


def test_what_is_submitted_prints_with_where_it_is_signed(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    """A draft may still change, so nobody signs it."""
    assert "Signature" not in said(shown(client_of(director), url("revision", own)))
    hand_in(own)

    page = shown(client_of(director), url("revision", own))

    assert "Signature" in said(page)
    assert 'href="#decide"' in page
    assert 'id="decide"' in page
