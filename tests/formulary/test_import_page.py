"""The pages that take and give workbooks of the formulary. Who may: the table of access."""

import re
from dataclasses import replace
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from drills.engine.formulary_workbook import Book, blank_book, read_book, to_xlsx, to_zip
from drills.formulary.models import FormularyRevision
from drills.formulary.workbook.told import book_of, known
from drills.people.models import AuditEntry, Person
from tests.formulary.conftest import NOW, ClientOf, put_in_force
from tests.formulary.test_import import changed
from tests.formulary.test_index import SAFETY, said, shown

URL, STORE = reverse("formulary:import"), reverse("formulary:store")
HTMX = {"HX-Request": "true"}


def sent(content: bytes, name: str = "formulary.xlsx") -> dict[str, SimpleUploadedFile]:
    return {"workbook": SimpleUploadedFile(name, content)}


def looked_at(client: Client, book: Book) -> str:
    response = client.post(URL, sent(to_xlsx(book)))
    assert response.status_code == 200
    return unescape(response.content.decode())


def hidden(page: str) -> dict[str, str]:
    """What the page would send back to be stored."""
    return dict(re.findall(r'<input type="hidden" name="(book|against)" value="([^"]*)"', page))


@pytest.fixture
def in_force(own: FormularyRevision, director: Person) -> FormularyRevision:
    return put_in_force(own, by=director)


def test_looking_at_a_workbook_stores_nothing(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = changed(book_of(in_force), "A1", maximum="8 mg", source="")

    page = looked_at(client_of(educator), book)

    words = said(page)
    assert "would be revision 2, a draft" in words
    assert "0 added, 0 removed, 1 changed" in words
    assert "maximum: was 10 mg, becomes 8 mg" in words
    assert "1 rule cannot be approved as it stands" in words
    assert "Has no source: 1 rule A1 Test medicine row 2" in words
    assert SAFETY in words
    assert FormularyRevision.objects.count() == 1


def test_what_stops_what_is_said_by_kind_with_the_rules(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = changed(book_of(in_force), "A1", source="", problems=(("never-heard-of", ()),))
    bare = replace(book.rules[0], code="A2", indication="pain")
    sourced = replace(bare, code="A3", source="A document", status="from memory")
    book = replace(book, rules=(*book.rules, bare, sourced))

    page = looked_at(client_of(educator), book)

    words = said(page)
    assert 'href="#stops"' in page
    assert 'id="stops"' in page
    assert "an educator cannot submit the draft" in words
    assert "Has no source: 2 rules A1 Test medicine row 2 A2 Test medicine row 3" in words
    assert "Is from memory: no document was read: 1 rule A3 Test medicine row 4" in words
    passes = words.partition("they stop nothing")[2]
    assert 'no rule here spoke of "never-heard-of" before: 3 places A1' in passes
    assert "from memory" not in passes
    client_of(educator).post(STORE, hidden(page))
    assert FormularyRevision.objects.get(number=2).rules.count() == 3


def test_a_refused_workbook_tells_apart_what_would_stop_its_submission(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = changed(book_of(in_force), "A1", source="", level="nobody")

    response = client_of(educator).post(URL, sent(to_xlsx(book)))

    words = said(unescape(response.content.decode()))
    assert "1 problem in" in words
    assert "None of this is why the workbook is refused" in words
    assert "No source: 1 rule A1" in words


def test_a_draft_of_ones_own_does_not_claim_to_be_the_demonstration(
    demo: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    """The workbook began as the export of the demonstration, name and notice still in it."""
    book = changed(book_of(demo), "D002", dose="0.02 mg/kg")
    assert (book.name, book.notes) == ("Demonstration formulary", demo.notice)

    page = looked_at(client_of(educator), book)
    client_of(educator).post(STORE, hidden(page))

    assert "that of the demonstration" in said(page)
    draft = FormularyRevision.objects.get(is_demo=False)
    assert (draft.name, draft.notes, draft.warning) == ("Formulary", "", "")
    again = looked_at(client_of(educator), book)
    assert "nothing to store" in said(again)


def test_on_a_demonstration_site_nothing_loses_its_notice(
    own: FormularyRevision, director: Person, client_of: ClientOf, demonstration: None
) -> None:
    """Also what was approved there: it is an invented service's."""
    put_in_force(own, by=director)

    page = said(shown(client_of(director), reverse("formulary:rule", args=[own.number, "A1"])))

    assert "Demonstration only. Not for patient care." in page


def test_contradictions_are_shown_before_anything_is_stored(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = book_of(in_force)
    book = replace(book, rules=(*book.rules, replace(book.rules[0], code="A2", dose="0.1 mg/kg")))

    page = looked_at(client_of(educator), book)

    words = said(page)
    assert 'href="#contradictions"' in page
    assert 'id="contradictions"' in page
    assert "1 pair of its rules contradict each other" in words
    assert "A1 seizure" in words
    assert "A2 seizure" in words
    assert "dose: 0.2 mg/kg against 0.1 mg/kg" in words


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
@pytest.mark.parametrize("who", ["educator", "director"])
def test_what_was_looked_at_is_stored_as_it_was(
    in_force: FormularyRevision,
    client_of: ClientOf,
    who: str,
    headers: dict[str, str],
    request: pytest.FixtureRequest,
) -> None:
    person = request.getfixturevalue(who)
    client, book = client_of(person), changed(book_of(in_force), "A1", maximum="8 mg")

    response = client.post(STORE, hidden(looked_at(client, book)), headers=headers)

    url = reverse("formulary:revision", args=[2])
    assert response.headers["HX-Redirect" if headers else "Location"] == url
    assert book_of(FormularyRevision.objects.get(number=2)) == book
    assert AuditEntry.objects.filter(action="import formulary", actor=person).count() == 1
    assert "Formulary, revision 2 says what the workbook says." in shown(client, url)


def test_a_workbook_that_changes_nothing_offers_nothing_to_store(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    page = looked_at(client_of(educator), book_of(in_force))

    assert "It says what Formulary, revision 1 says." in said(page)
    assert STORE not in page


def test_every_problem_is_listed_and_nothing_is_stored(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = changed(book_of(in_force), "A1", dose="0.2 mg", level="surgeon")

    response = client_of(educator).post(URL, sent(to_zip(book), "formulary.zip"))

    words = said(unescape(response.content.decode()))
    assert response.status_code == 422
    assert "2 problems in formulary.zip nothing is stored" in words
    assert 'rules 2 A1 dose "0.2 mg" what is counted per kg, such as 0.1 mg/kg' in words
    assert 'rules 2 A1 level "surgeon" one of' in words
    assert STORE not in response.content.decode()


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("formulary.pdf", b"x", "formulary.pdf came in."),
        ("formulary.xlsx", b"", "The file is empty."),
        ("formulary.xlsx", b"nothing like it", "something that is no archive"),
        ("blank.xlsx", blank_book(), "a value in this column"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(
    db: None, educator: Person, client_of: ClientOf, name: str, content: bytes, told: str
) -> None:
    response = client_of(educator).post(URL, sent(content, name))

    assert response.status_code == 422
    assert told in unescape(response.content.decode())


def test_what_is_sent_back_bent_is_refused(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    """What the page holds comes from outside again, and is read as if it had never been read."""
    client = client_of(educator)
    held = hidden(looked_at(client, changed(book_of(in_force), "A1", notes="x")))
    for bent in ("", "???", held["book"][:-20], "A" + held["book"]):
        response = client.post(STORE, held | {"book": bent})

        assert response.status_code == 422
    assert FormularyRevision.objects.count() == 1


def test_what_came_in_force_meanwhile_is_looked_at_first(
    in_force: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    client = client_of(educator)
    book = changed(book_of(in_force), "A1", notes="mine")
    held = hidden(looked_at(client, book))
    other = FormularyRevision.objects.create(number=2)
    for row in (*in_force.presentations.all(), *in_force.rules.all()):
        row.pk, row.revision, row._state.adding = None, other, True
        row.save()
    put_in_force(other, by=director, now=NOW)

    response = client.post(STORE, held)

    page = unescape(response.content.decode())
    assert response.status_code == 422
    assert "Another revision has come in force since you looked." in page
    assert FormularyRevision.objects.count() == 2
    assert client.post(STORE, hidden(page)).status_code == 302
    assert FormularyRevision.objects.count() == 3


@pytest.mark.parametrize("kind", ["xlsx", "zip"])
def test_a_revision_goes_out_as_it_would_come_in(
    in_force: FormularyRevision, educator: Person, client_of: ClientOf, kind: str
) -> None:
    client = client_of(educator)
    url = reverse("formulary:export", args=[1, kind])
    assert url in shown(client, reverse("formulary:revision", args=[1]))

    response = client.get(url)

    assert response["Content-Disposition"] == f'attachment; filename="formulary-rev-1.{kind}"'
    assert read_book(response.content, known()).book == book_of(in_force)
    assert client.get(reverse("formulary:export", args=[1, "pdf"])).status_code == 404


def test_the_sample_is_the_demonstration(
    demo: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    response = client_of(educator).get(reverse("formulary:start_workbook", args=["sample"]))

    book = read_book(response.content, known()).book
    assert book == book_of(demo)
    assert book is not None
    assert book.notes == "Demonstration only. Not for patient care."


def test_there_is_no_sample_without_the_demonstration(
    db: None, educator: Person, client_of: ClientOf
) -> None:
    for which in ("sample", "other"):
        url = reverse("formulary:start_workbook", args=[which])
        assert client_of(educator).get(url).status_code == 404


def test_the_way_to_it_stands_where_revisions_are_listed(
    own: FormularyRevision, educator: Person, director: Person, admin: Person, client_of: ClientOf
) -> None:
    listed = reverse("formulary:revisions")

    assert URL in shown(client_of(educator), listed)
    assert URL in shown(client_of(director), listed)
    assert URL not in shown(client_of(admin), listed)
