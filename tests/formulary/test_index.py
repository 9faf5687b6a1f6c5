"""The page of the formulary, and the form of its approval. Who may open it: the table of access."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.formulary.models import FormularyRevision, FormularyState
from drills.people.models import Person
from tests.formulary.conftest import DOCUMENT, ClientOf, make_rule, put_in_force

URL = reverse("formulary:index")
SAFETY = (
    "Training only. Follow your local protocols and medical direction; "
    "check every dose with your partner."
)
NOTICE = "Demonstration only. Not for patient care."


def shown(client: Client) -> str:
    response = client.get(URL)
    assert response.status_code == 200
    return unescape(response.content.decode())


def approve_url(revision: FormularyRevision) -> str:
    return reverse("formulary:approve", args=[revision.number])


@pytest.mark.parametrize("who", ["outsider", "hire", "fto", "educator", "keeper", "admin"])
def test_without_approval_no_dose_is_shown(
    who: str,
    demo: FormularyRevision,
    own: FormularyRevision,
    client_of: ClientOf,
    request: pytest.FixtureRequest,
) -> None:
    page = shown(client_of(request.getfixturevalue(who)))

    assert "none is approved" in page
    assert SAFETY in page
    assert "<table" not in page
    assert "<form" not in page.partition('<main id="main"')[2].partition("</main>")[0]


def test_a_demonstration_says_so_in_plain_sight(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    page = shown(client_of(hire))

    assert SAFETY in page
    assert NOTICE in page
    assert "Nobody has approved it" in page
    assert page.index(NOTICE) < page.index("<table")


def test_each_rule_is_shown_with_its_source_version_date_and_status(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    rows = dict(re.findall(r"<tr><td><b>(D\d+)(.*?)</tr>", shown(client_of(hire)), re.DOTALL))

    assert len(rows) == 73
    for said in (
        "Atropine",
        "0.02 mg/kg, at least 0.1 mg, at most 0.5 mg",
        "may be repeated once",
        "1 mg / 10 mL",
        "AHA, Circulation 2010, paediatric advanced life support, Table 1",
        "version 2010; Table 1; 25 Nov 2026; confirmed",
        "IV/IO; Paramedic",
        ">yes<",
    ):
        assert said in rows["D020"]
    assert "demonstration value" in rows["D030"]
    assert "from memory" in rows["D004"]
    assert "not yet<small>15 g tube has no volume to draw up" in rows["D030"]


def test_what_cannot_be_drilled_is_listed_with_its_reason(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    page = shown(client_of(hire))

    assert "D030 Oral glucose: 15 g tube has no volume to draw up." in page


def test_what_is_in_force_says_who_approved_it_when_and_by_what(
    own: FormularyRevision, director: Person, hire: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)

    page = shown(client_of(hire))

    assert "Formulary, revision 1, approved by <b>Di Rector</b> on 25 Nov 2026" in page
    assert DOCUMENT in page
    assert "0.2 mg/kg, at most 10 mg" in page
    assert "Demonstration" not in page


def test_a_medical_director_sees_the_draft_and_approves_it(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    client = client_of(director)
    page = shown(client)
    assert "0.2 mg/kg, at most 10 mg" in page
    assert approve_url(own) in page

    response = client.post(approve_url(own), {"document": DOCUMENT}, follow=True)

    own.refresh_from_db()
    assert own.state == FormularyState.APPROVED
    assert own.approved_by == director
    assert "Formulary, revision 1 is approved." in response.content.decode()
    assert approve_url(own) not in response.content.decode()


def test_what_a_draft_changes_stands_before_its_approval(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    """How many rules now and then, each change with both values, and how many can be drilled."""
    for code in ("A2", "A3"):
        make_rule(own, code)
    put_in_force(own, by=director)
    second = FormularyRevision.objects.create(number=2)
    make_rule(second, "A1", dose="0.3 mg/kg", version="8")
    make_rule(second, "A2")
    make_rule(second, "A4", presentation="10 mg tube")
    make_rule(second, "A5", indication="burns")

    page = shown(client_of(director)).partition("Waiting for approval")[2]
    told = " ".join(re.sub("<[^>]+>", " ", page.partition("<form")[0]).split())

    assert "revision 1, which is approved, has 3 rules now." in told
    assert "This draft has 4 : 2 added, 1 removed, 1 changed." in told
    assert "Of its rules 3 can be drilled." in told
    assert "A1 Test medicine changed dose: was 0.2 mg/kg, becomes 0.3 mg/kg version: was 7" in told
    assert "A3 Test medicine removed seizure: 0.2 mg/kg, at most 10 mg" in told
    assert "A5 Test medicine added burns" in told
    assert "A2 Test medicine changed" not in told
    assert approve_url(second) in page


def test_an_older_draft_than_the_approved_one_is_approved_no_more(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)
    put_in_force(second, by=director)
    client = client_of(director)

    page = shown(client)
    response = client.post(approve_url(own), {"document": DOCUMENT})

    assert approve_url(own) not in page
    assert "It is older than Formulary, revision 2, which is approved" in page
    assert response.status_code == 422
    assert "is older than Formulary, revision 2" in response.content.decode()
    own.refresh_from_db()
    assert own.state == FormularyState.DRAFT


def test_over_a_waiting_draft_nothing_says_that_nobody_can_approve(
    demo: FormularyRevision,
    own: FormularyRevision,
    director: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    page = shown(client_of(director))

    assert "nobody can" not in page
    assert "until a revision that waits below is approved" in page
    assert "No revision is approved yet, so all is new." in page


@pytest.mark.parametrize(
    ("document", "told"),
    [("", "Name the document"), ("x" * 201, "200 characters"), (DOCUMENT, "A2 has no source")],
)
def test_a_refused_approval_says_why_and_keeps_what_was_typed(
    document: str,
    told: str,
    own: FormularyRevision,
    director: Person,
    client_of: ClientOf,
) -> None:
    make_rule(own, "A2", source="")

    response = client_of(director).post(approve_url(own), {"document": document})

    page = response.content.decode()
    assert response.status_code == 422
    assert told in page
    assert f'value="{document}"' in page
    own.refresh_from_db()
    assert own.state == FormularyState.DRAFT


def test_the_demonstration_has_no_form_and_takes_no_approval(
    demo: FormularyRevision, director: Person, client_of: ClientOf, demonstration: None
) -> None:
    client = client_of(director)
    assert approve_url(demo) not in shown(client)

    response = client.post(approve_url(demo), {"document": DOCUMENT})

    assert response.status_code == 422
    assert "is never approved." in response.content.decode()
    demo.refresh_from_db()
    assert demo.state == FormularyState.DRAFT


def test_what_is_approved_already_says_so(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    client = client_of(director)
    client.post(approve_url(own), {"document": DOCUMENT})

    response = client.post(approve_url(own), {"document": "another"})

    assert response.status_code == 422
    assert "Formulary, revision 1 is approved already." in response.content.decode()
    own.refresh_from_db()
    assert own.document == DOCUMENT


@pytest.mark.parametrize("who", ["outsider", "hire", "fto", "educator", "keeper", "admin"])
def test_no_other_role_approves(
    who: str, own: FormularyRevision, client_of: ClientOf, request: pytest.FixtureRequest
) -> None:
    client = client_of(request.getfixturevalue(who))

    response = client.post(approve_url(own), {"document": DOCUMENT})

    assert response.status_code == 403
    own.refresh_from_db()
    assert own.state == FormularyState.DRAFT


def test_a_stranger_signs_in_first(own: FormularyRevision) -> None:
    for response in (Client().get(URL), Client().post(approve_url(own), {"document": DOCUMENT})):
        assert response.status_code == 302
        assert response["Location"].startswith(reverse("people:sign_in"))

    own.refresh_from_db()
    assert own.state == FormularyState.DRAFT


def test_a_revision_that_is_not_there_is_none(director: Person, client_of: ClientOf) -> None:
    response = client_of(director).post(reverse("formulary:approve", args=[9]), {"document": "x"})

    assert response.status_code == 404


def test_it_is_closed_while_an_assessed_prompt_is_open(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    director.assessed_prompt_until = timezone.now() + timedelta(minutes=5)
    director.save(update_fields=["assessed_prompt_until"])
    client = client_of(director)

    for response in (client.get(URL), client.post(approve_url(own), {"document": DOCUMENT})):
        assert response.status_code == 403
        assert "Closed for now" in response.content.decode()

    own.refresh_from_db()
    assert own.state == FormularyState.DRAFT
