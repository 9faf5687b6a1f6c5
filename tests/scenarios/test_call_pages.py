"""The pages of call types. Who may: the table of access."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.formulary.models import FormularyRevision
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Need, Rig
from drills.scenarios.ailments import patients_mark
from drills.scenarios.kept import kept_of
from drills.scenarios.models import AgeBand, CallType, Problem
from tests.calls import FINDINGS, need
from tests.formulary.conftest import make_rule
from tests.scenarios.conftest import NOW, ClientOf

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}
LIST = reverse("scenarios:calls")


def url(name: str, *args: object) -> str:
    return reverse(f"scenarios:{name}", args=["bleeding", *args])


def said(content: bytes) -> str:
    """The words of a page, without its signs."""
    text = re.sub(r"<(script|style)[^>]*>.*?</\1>", " ", content.decode(), flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def fields(page: bytes) -> dict[str, str]:
    """What the form of a row would send if it were sent as it stands."""
    form = re.search(r'<form method="post" class="plain callrow".*?</form>', page.decode(), re.S)
    assert form
    text = form[0]
    found = {
        name: unescape(value)
        for name, value in re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', text)
        if name != "csrfmiddlewaretoken"
    }
    for name, body in re.findall(r'<textarea[^>]*name="([^"]+)"[^>]*>(.*?)</textarea>', text, re.S):
        found[name] = unescape(body)
    for name, body in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', text, re.S):
        chosen = re.search(r'<option value="([^"]*)" selected', body)
        found[name] = chosen[1] if chosen else re.findall('value="([^"]*)"', body)[0]
    return found


def send(client: Client, at: str, changes: dict[str, str], **headers: Any) -> Any:
    """Open a form, write into it and send it."""
    return client.post(at, fields(client.get(at).content) | changes, **headers)


@pytest.fixture
def client(bleeding: CallType, educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


def test_the_list_says_what_nobody_reviewed(client: Client, bleeding: CallType) -> None:
    words = said(client.get(LIST).content)

    assert "Severe bleeding not reviewed 2 2 none" in words
    assert "Nobody has reviewed any of the 1. A drill made from one says so." in words
    bleeding.reviewed_by = "Dr Example"
    bleeding.save()
    words = said(client.get(LIST).content)
    assert "reviewed by Dr Example" in words
    assert "Nobody has reviewed" not in words


def test_what_a_layout_lacks_stands_on_the_list_and_on_the_page(
    client: Client, bleeding: CallType
) -> None:
    Need.objects.create(key="seal", name_us="Chest seal", name_intl="Chest seal", category="x")
    bleeding.needs = [
        *bleeding.needs,
        need("seal", "must"),
        need("tourniquet-limb", "must") | {"quantity": 99},
    ]
    bleeding.save()

    assert "Practice rig: 1 not aboard , 1 too few" in said(client.get(LIST).content)
    words = said(client.get(url("call")).content)
    assert "Chest seal must, not aboard 0 of 1" in words
    assert re.search(r"Tourniquet-limb too few for the most patients \d of 99", words)


def test_what_a_layout_cannot_serve_stands_on_a_page_of_the_layout(
    client: Client, bleeding: CallType, rig: Rig
) -> None:
    """The worst first, with what is missing; one that is retired is not counted."""
    Need.objects.create(key="seal", name_us="Chest seal", name_intl="Chest seal", category="x")
    needs = [*bleeding.needs, need("seal", "must")]
    CallType.objects.create(**kept_of(bleeding) | {"slug": "stab", "name": "Stab", "needs": needs})
    layout = rig.revision.layout.slug
    at = reverse("scenarios:on_layout", args=[layout])
    assert f'href="{at}"' in client.get(reverse("rigs:layout", args=[layout])).content.decode()

    words = said(client.get(at).content)

    assert "Cannot be served 1 Stab Chest seal: not aboard" in words
    assert words.index("Cannot be served") < words.index("Served 1 Severe bleeding")
    assert "Too few" not in words
    assert "What is missing most Chest seal 1 Must-haves" in words
    assert "without a need" not in words
    CallType.objects.filter(slug="stab").update(retired_on=NOW)
    assert "Stab" not in said(client.get(at).content)
    assert client.get(reverse("scenarios:on_layout", args=["none-such"])).status_code == 404


def test_who_may_only_read_is_offered_no_change(
    bleeding: CallType, fto: Person, client_of: ClientOf
) -> None:
    page = client_of(fto).get(url("call")).content.decode()

    assert FINDINGS in page
    assert "Change" not in page
    assert "Mark as reviewed" not in page
    assert "<form" not in page.partition("<main")[2].partition("</main>")[0]


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_another_sample_is_another_call_and_its_address_gives_it_again(
    client: Client, headers: dict[str, str]
) -> None:
    Problem.objects.update(
        states=[{"severity": 2, "findings": FINDINGS, "age_bands": ["adult"], "gcs": [3, 15]}]
    )
    pages = [client.get(f"{url('call')}?seed={n}", headers=headers).content for n in range(1, 6)]
    samples = [
        re.search(r'<section class="sec" id="sample".*?</section>', page.decode(), re.S)
        for page in pages
    ]

    assert len({found[0] for found in samples if found}) == 5
    assert (
        client.get(f"{url('call')}?seed=3", headers=headers).content.count(FINDINGS.encode()) == 2
    )
    assert "?seed=6" in pages[-1].decode()
    is_whole = b"<main" in pages[0]
    assert is_whole is not bool(headers)


@pytest.mark.parametrize("seed", ["x", "0", "99999999999999999999", ""])
def test_a_seed_that_is_none_shows_the_first_sample(client: Client, seed: str) -> None:
    assert b"number 1</span>" in client.get(f"{url('call')}?seed={seed}").content


def test_a_call_type_that_cannot_be_drawn_says_so_on_its_page(
    client: Client, bleeding: CallType
) -> None:
    AgeBand.objects.all().delete()

    words = said(client.get(url("call")).content)
    assert "It cannot always be drawn: There is no age band adult." in words


def test_a_need_that_is_of_no_use_as_it_stands_is_told_on_the_page(
    client: Client, bleeding: CallType
) -> None:
    assert "Not whole" not in said(client.get(url("call")).content)
    row = bleeding.needs[0] | {"need": "tranexamic-acid", "grade": "useful"}
    bleeding.needs = [*bleeding.needs, row]
    bleeding.save()

    words = said(client.get(url("call")).content)
    assert "Not whole: 2" in words
    assert "tranexamic-acid (useful) goes with Syringe, which is not asked for" in words


@pytest.mark.parametrize(("problem", "is_told"), [("seizure", True), ("bleed", False)])
def test_a_call_type_that_no_rule_is_for_says_that_it_asks_no_dose(
    client: Client, bleeding: CallType, problem: str, is_told: bool, settings: Any
) -> None:
    """By the rules in force; where none are, nothing is said of it."""
    words = "no rule of the formulary is for anybody of it"
    assert words not in said(client.get(url("call")).content)

    settings.READINESS_DEMO = True
    of_demo = FormularyRevision.objects.create(number=0, is_demo=True)
    make_rule(of_demo, problems=[{"problem": problem, "severities": []}])
    assert (words in said(client.get(url("call")).content)) == is_told


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_need_is_changed_with_its_line_in_the_audit(
    client: Client, bleeding: CallType, educator: Person, headers: dict[str, str]
) -> None:
    bleeding.reviewed_by = "Dr Example"
    bleeding.save()

    response = send(
        client, url("row", "needs", 1), {"quantity": "2", "per": "patient"}, headers=headers
    )

    assert response.status_code == (200 if headers else 302)
    bleeding.refresh_from_db()
    assert bleeding.needs[0]["quantity"] == 2
    assert bleeding.needs[0]["per"] == "patient"
    assert bleeding.needs[0]["why"] == "tourniquet-limb is why"
    assert [row["need"] for row in bleeding.needs] == ["tourniquet-limb", "board-splints", "gauze"]
    assert bleeding.version == 2
    assert bleeding.reviewed_by == ""
    line = AuditEntry.objects.get(action="change call type")
    assert (line.actor, line.subject) == (educator, "bleeding, needs 1")
    assert line.before
    assert line.after
    assert (line.before["quantity"], line.after["quantity"]) == ("1", "2")


def test_sending_a_row_as_it_stands_changes_nothing(client: Client, bleeding: CallType) -> None:
    bleeding.reviewed_by = "Dr Example"
    bleeding.save()

    for at in (
        *(url("row", sheet, 1) for sheet in ("needs", "patients", "phrases")),
        url("add_row", "calls"),
    ):
        assert send(client, at, {}).status_code == 302

    bleeding.refresh_from_db()
    assert (bleeding.version, bleeding.reviewed_by) == (1, "Dr Example")
    assert not AuditEntry.objects.filter(action="change call type").exists()


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_row_that_is_wrong_names_what_came_in_and_loses_nothing(
    client: Client, bleeding: CallType, headers: dict[str, str]
) -> None:
    typed = {"need": "unicorn", "quantity": "many", "why": "Because <it> is so"}

    response = send(client, url("row", "needs", 1), typed, headers=headers)

    assert response.status_code == 422
    assert fields(response.content).items() >= typed.items()
    words = said(response.content)
    assert '"unicorn" came in; accepted is the key or the name of a need that is here.' in words
    assert '"many" came in; accepted is a whole number of at least 1 and at most 99.' in words
    assert "As it is kept Need tourniquet-limb" in words
    bleeding.refresh_from_db()
    assert bleeding.version == 1


def test_a_phrase_is_added_and_taken_out(client: Client, bleeding: CallType) -> None:
    added = {"phrase": "{patient} hurt, {place}.", "age_bands": "adult"}
    assert send(client, url("add_row", "phrases"), added).status_code == 302
    bleeding.refresh_from_db()
    assert bleeding.phrases[1] == {
        "text": "{patient} hurt, {place}.",
        "age_bands": ["adult"],
        "problems": [],
    }

    assert send(client, url("row", "phrases", 1), {"removes": "on"}).status_code == 302
    bleeding.refresh_from_db()
    assert [each["text"] for each in bleeding.phrases] == ["{patient} hurt, {place}."]
    assert AuditEntry.objects.filter(action="change call type").count() == 2


def test_a_phrase_that_a_patient_needs_stays(client: Client, bleeding: CallType) -> None:
    response = send(client, url("row", "phrases", 1), {"removes": "on"})

    assert response.status_code == 422
    assert "It has no phrases. Nothing is changed." in said(response.content)
    bleeding.refresh_from_db()
    assert len(bleeding.phrases) == 1


def test_the_same_row_is_not_kept_twice(client: Client, bleeding: CallType) -> None:
    again = fields(client.get(url("row", "phrases", 1)).content)
    del again["seen"]

    response = send(client, url("add_row", "phrases"), again)

    assert "There is a row that says the same." in said(response.content)
    assert response.status_code == 422


def test_who_changes_a_row_that_somebody_changed_is_told(
    client: Client, bleeding: CallType
) -> None:
    mine = fields(client.get(url("row", "needs", 1)).content)
    send(client, url("row", "needs", 1), {"why": "Said by another"})

    response = client.post(url("row", "needs", 1), mine | {"why": "Said by me"})

    words = said(response.content)
    assert response.status_code == 422
    assert "Somebody changed this since you opened it." in words
    assert "As it is kept" in words
    assert "Said by another" in words
    assert fields(response.content)["why"] == "Said by me"
    bleeding.refresh_from_db()
    assert bleeding.needs[0]["why"] == "Said by another"


def test_source_owner_and_date_are_changed(client: Client, bleeding: CallType) -> None:
    given = {"source": "Protocol book, page 4", "owner": "Training", "date": "2026-10-01"}
    assert send(client, url("add_row", "calls"), given).status_code == 302

    words = said(client.get(url("call")).content)
    assert "Source Protocol book, page 4, 1 Oct 2026" in words
    assert "Owner Training" in words


def test_what_is_looked_for_and_asked_for_is_changed_by_key_and_told_in_words(
    client: Client, bleeding: CallType
) -> None:
    form = said(client.get(url("add_row", "calls")).content)
    assert "Traffic past the scene traffic" in form
    assert "A fire crew fire" in form
    given = {"hazards_here": "dog; traffic", "may_ask_for": "police"}

    assert send(client, url("add_row", "calls"), given).status_code == 302

    words = said(client.get(url("call")).content)
    assert "Looked for Traffic past the scene; A dog or another animal" in words
    assert "May be asked for Police, to make it safe or close the road" in words
    assert "Must be asked for none said" in words
    bleeding.refresh_from_db()
    assert bleeding.hazards_here == ["traffic", "dog"]


@pytest.mark.parametrize(
    "at",
    [
        ("row", "phrases", 9),
        ("row", "calls", 1),
        ("add_row", "nothing"),
        ("row", "book", 1),
        ("row", "phrases", 0),
    ],
)
def test_there_is_no_page_of_what_a_call_type_has_not(client: Client, at: tuple[Any, ...]) -> None:
    assert client.get(url(*at)).status_code == 404


def test_a_keeper_is_led_from_what_is_missing_to_what_is_not_tied(
    bleeding: CallType, rig: Rig, keeper: Person, client_of: ClientOf
) -> None:
    at = reverse("scenarios:on_layout", args=[rig.revision.layout.slug])
    assert "without a need" not in said(client_of(keeper).get(at).content)
    Need.objects.create(key="seal", name_us="Chest seal", name_intl="Chest seal", category="x")
    CallType.objects.update(needs=[*bleeding.needs, need("seal", "must")])

    words = said(client_of(keeper).get(at).content)

    assert f"{rig.revision.untied.count()} things without a need: tie them" in words


def test_a_review_is_kept_with_who_and_when(
    client: Client, bleeding: CallType, educator: Person
) -> None:
    given = {"reviewer": " Dr  Example, director ", "patients": patients_mark(bleeding)}
    response = client.post(url("review"), given | {"version": "1"})

    assert response.status_code == 302
    bleeding.refresh_from_db()
    assert bleeding.reviewed_by == "Dr Example, director"
    line = AuditEntry.objects.get(action="review call type")
    assert (line.actor, line.subject) == (educator, "bleeding")
    assert line.after == {"reviewed by": "Dr Example, director", "version": 1}
    words = said(client.get(url("call")).content)
    assert f"Reviewed by Dr Example, director , {bleeding.reviewed_on:%-d %b %Y}" in words


@pytest.mark.parametrize(
    ("given", "fault"),
    [
        ({"reviewer": "  ", "version": "1"}, "Say who reviewed it"),
        ({"reviewer": "x" * 121, "version": "1"}, "121 letters came in."),
        ({"reviewer": "Dr Example", "version": "7"}, "it is version 1 by now"),
        ({"reviewer": "Dr Example"}, "it is version 1 by now"),
        ({"reviewer": "Dr Example", "version": "1", "patients": "x"}, "changed meanwhile. Look"),
    ],
)
def test_a_review_without_a_name_or_of_other_words_is_none(
    client: Client, bleeding: CallType, given: dict[str, str], fault: str
) -> None:
    response = client.post(url("review"), {"patients": patients_mark(bleeding)} | given)

    assert response.status_code == 422
    assert fault in said(response.content)
    bleeding.refresh_from_db()
    assert bleeding.reviewed_by == ""


def test_the_pages_are_found_from_the_sheets_of_who_may_read_them(
    client: Client, hire: Person, client_of: ClientOf, rig: Rig
) -> None:
    assert f'href="{LIST}"' in client.get("/", follow=True).content.decode()
    assert f'href="{LIST}"' not in client_of(hire).get("/", follow=True).content.decode()
