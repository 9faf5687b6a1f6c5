"""The pages on which the formulary is read. Who may open them: the table of access."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.formulary.actions import draft_from, send_back
from drills.formulary.models import FormularyRevision
from drills.people.models import Person
from tests.formulary.conftest import DOCUMENT, NOW, ClientOf, hand_in, make_rule, put_in_force

URL = reverse("formulary:index")
SAFETY = (
    "Training only. Follow your local protocols and medical direction; "
    "check every dose with your partner."
)
NOTICE = "Demonstration only. Not for patient care."


def shown(client: Client, url: str = URL) -> str:
    response = client.get(url)
    assert response.status_code == 200
    return unescape(response.content.decode())


def said(page: str) -> str:
    """The words of a page alone."""
    main = page.partition('<main id="main"')[2].partition("</main>")[0]
    return " ".join(re.sub("<[^>]+>", " ", main.partition(">")[2]).split())


def rule_url(revision: FormularyRevision, code: str) -> str:
    return reverse("formulary:rule", args=[revision.number, code])


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
    assert "mg" not in said(page)


def test_a_demonstration_says_so_in_plain_sight(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    client = client_of(hire)
    page = shown(client)

    assert SAFETY in page
    assert "Nobody has approved it" in page
    assert page.index(NOTICE) < page.index("Adenosine")
    for url in (rule_url(demo, "D020"), reverse("formulary:revision", args=[0])):
        assert NOTICE in said(shown(client, url))
        assert "never approved" in said(shown(client, url))


def test_medicines_are_listed_with_how_many_rules_and_what_for(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    page = said(shown(client_of(hire)))

    assert "Medicines 33, with 76 rules, of which 74 can be drilled" in page
    assert "Adenosine fast regular rhythm, first; fast regular rhythm, second 4 rules" in page
    assert "at most 0.5 mg" not in page


def test_each_letter_leads_to_the_first_medicine_that_begins_with_it(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    page = shown(client_of(hire))

    letters = re.findall(r'<a href="#(letter-[a-z])">', page)
    lines = re.findall(r'<li data-choice(?: id="(.*?)")?><a class="rowline".*?<b>(.)', page)
    assert letters == [name for name, _ in lines if name]
    assert letters == list(dict.fromkeys(f"letter-{first.lower()}" for _, first in lines))


@pytest.mark.parametrize(
    ("query", "codes"),
    [
        ("find=atropine", ["D020", "D021", "D022"]),
        ("find=ATROPINE+slow", ["D020", "D021"]),
        ("find=D073", ["D073"]),
        ("find=ET+epinephrine", ["D003"]),
        ("medicine=glucagon", ["D028", "D029"]),
        ("medicine=glucagon&find=D028", ["D028"]),
        ("find=nothing+like+it", []),
    ],
)
def test_rules_are_found_by_word_and_by_medicine(
    query: str,
    codes: list[str],
    demo: FormularyRevision,
    hire: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    """Plain, and as the part that is put in place of the one before."""
    client = client_of(hire)
    for headers in ({}, {"HX-Request": "true"}):
        response = client.get(f"{URL}?{query}", headers=headers)
        page = unescape(response.content.decode())
        found = page.partition('id="rules"')[2].partition("Not drilled yet")[0]

        assert re.findall(r"<b>(D\d+)", found) == codes
        assert ("No rule has all of that" in found) is not bool(codes)
        assert ("<html" in page) is not bool(headers)


def test_each_rule_is_shown_with_its_source_version_page_date_and_status(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    client = client_of(hire)

    page = said(shown(client, rule_url(demo, "D020")))
    for words in (
        "Atropine D020 slow pulse; IV/IO; child",
        "Dose 0.02 mg/kg, at least 0.1 mg, at most 0.5 mg",
        "Age under 14 y",
        "Weight any",
        "Again may be repeated once",
        "Comes as 1 mg / 10 mL syringe",
        "Source AHA, Circulation 2010, paediatric advanced life support, Table 1",
        "Version 2010 Page Table 1 Source read on 25 Nov 2026",
        "Where it is from confirmed",
        "Given by Paramedic",
        "Drilled yes",
        "Unsafe from 20 % off",
    ):
        assert words in page
    assert "From memory: no document was read" in said(shown(client, rule_url(demo, "D004")))
    assert "A demonstration value" in said(shown(client, rule_url(demo, "D030")))
    assert "Drilled not yet: 15 g tube has no volume to draw up" in said(
        shown(client, rule_url(demo, "D030"))
    )
    mixed = said(shown(client, rule_url(demo, "D007")))
    assert "Take 1 mL, with 9 mL of normal saline: 10 mcg/mL" in mixed
    assert "Unsafe from 10 % off, which is tighter" in mixed


def test_what_cannot_be_drilled_is_listed_with_its_reason(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    page = said(shown(client_of(hire)))

    assert "Not drilled yet: 2" in page
    assert "D034 Naloxone : 4 mg / 0.1 mL nasal spray is given whole" in page
    assert "D030 Oral glucose : 15 g tube has no volume to draw up." in page


def test_what_is_in_force_says_who_approved_it_when_and_by_what(
    own: FormularyRevision, director: Person, hire: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)
    client = client_of(hire)

    page = said(shown(client))

    assert "Formulary, revision 1, approved by Di Rector on 25 Nov 2026" in page
    assert DOCUMENT in page
    assert "Demonstration" not in page
    rule = shown(client, rule_url(own, "A1"))
    assert "0.2 mg/kg, at most 10 mg" in rule
    assert "Approved by Di Rector, 25 Nov 2026" in said(rule)


def test_a_rule_says_what_it_replaces(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    """Every figure with what it is of the one before, by the words of the flags."""
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    draft.rules.get().delete()
    make_rule(draft, dose="0.3 mg/kg", maximum="1,000 mcg", notes="seen")

    page = said(shown(client_of(educator), rule_url(draft, "A1")))
    told = page.partition("What it replaces Formulary, revision 1")[2]

    assert "Dose was 0.2 mg/kg, is 0.3 mg/kg : 1.5 times as much" in told
    assert "Maximum was 10 mg, is 1,000 mcg : a tenth as much" in told
    assert "Notes was nothing, is seen" in told
    assert "is seen :" not in told
    assert "What it replaces" not in said(shown(client_of(educator), rule_url(own, "A1")))


def test_a_rule_whose_vial_is_another_says_so_in_what_it_replaces(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    """It names the presentation it named; what that holds is what changed."""
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    vial = draft.presentations.get()
    was, vial.strength = vial.packed, "100 mg / 2 mL"
    vial.save()

    page = said(shown(client_of(educator), rule_url(draft, "A1")))

    told = f"Strength it is given from was {was}, is {vial.packed} : ten times as strong"
    assert told in page.partition("What it replaces")[2]


def test_an_address_without_a_revision_leads_to_the_rule_in_force(
    own: FormularyRevision, director: Person, hire: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)
    client = client_of(hire)

    response = client.get(reverse("formulary:rule_in_force", args=["A1"]))

    assert response["Location"] == rule_url(own, "A1")
    assert client.get(reverse("formulary:rule_in_force", args=["A9"])).status_code == 404


def test_nobody_but_readers_sees_what_is_not_in_force(
    own: FormularyRevision, director: Person, hire: Person, educator: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)
    second = hand_in(draft_from(own, by=educator, now=NOW))
    urls = [reverse("formulary:revision", args=[2]), rule_url(second, "A1")]

    for url in urls:
        assert client_of(hire).get(url).status_code == 403
        assert client_of(educator).get(url).status_code == 200
    assert "revision 2" not in shown(client_of(hire))
    assert client_of(educator).get(reverse("formulary:revision", args=[9])).status_code == 404


def test_the_list_says_how_each_revision_stands(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    put_in_force(own, by=director)
    second = draft_from(own, by=educator, now=NOW)
    hand_in(second)

    page = said(shown(client_of(educator), reverse("formulary:revisions")))

    assert "Formulary, revision 1 approved in force 1 rule. Approved by Di Rector on 25" in page
    assert "Formulary, revision 2 submitted 1 rule. Submitted by" in page
    assert page.index("revision 2") < page.index("revision 1")


def test_the_list_says_what_is_for_demonstration_in_whole_sentences(
    own: FormularyRevision,
    director: Person,
    educator: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    hand_in(own)
    send_back(own, by=director, because="No", now=NOW)

    page = said(shown(client_of(educator), reverse("formulary:revisions")))

    assert f"Sent back by Di Rector: “No”. {NOTICE}" in page


def test_it_is_closed_while_an_assessed_prompt_is_open(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    director.assessed_prompt_until = timezone.now() + timedelta(minutes=5)
    director.save(update_fields=["assessed_prompt_until"])
    client = client_of(director)
    approve = reverse("formulary:approve", args=[own.number])

    for response in (client.get(URL), client.post(approve, {"document": DOCUMENT})):
        assert response.status_code == 403
        assert "Closed for now" in response.content.decode()


def test_a_stranger_signs_in_first(own: FormularyRevision) -> None:
    response = Client().get(URL)

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("people:sign_in"))


def test_only_a_rule_of_what_is_in_force_is_drilled(
    demo: FormularyRevision,
    own: FormularyRevision,
    director: Person,
    educator: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    client = client_of(educator)
    assert "Drilled no: this revision is not in force" in said(shown(client, rule_url(own, "A1")))
    put_in_force(own, by=director)
    assert "Drilled yes" in said(shown(client, rule_url(own, "A1")))
    assert "Drilled no: this revision is not in force" in said(
        shown(client, rule_url(demo, "D045"))
    )
    put_in_force(draft_from(own, by=educator, now=NOW), by=director)
    assert "Drilled no: this revision is superseded" in said(shown(client, rule_url(own, "A1")))


def test_a_confirmed_rule_says_what_of_it_is_from_memory(
    demo: FormularyRevision, hire: Person, client_of: ClientOf, demonstration: None
) -> None:
    client = client_of(hire)

    page = said(shown(client, rule_url(demo, "D062")))

    assert "Where it is from confirmed in part" in page
    assert "Confirmed, but not all of it: the note says “bag strength from memory”." in page
    assert "not all of it" not in said(shown(client, rule_url(demo, "D001")))
