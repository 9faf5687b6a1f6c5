"""What waits for a decision is told on the first page of whom it waits for."""

from html import unescape

import pytest
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.formulary.actions import draft_from, send_back
from drills.formulary.models import FormularyRevision
from drills.formulary.waiting import waits_for
from drills.people.models import Person, Role
from tests.formulary.conftest import NOW, ClientOf, hand_in, make_rule, put_in_force
from tests.formulary.test_index import said, shown

INDEX = reverse("formulary:index")
REASON = "A1 is for children alone."


def page_url(revision: FormularyRevision) -> str:
    return f'href="{reverse("formulary:revision", args=[revision.number])}"'


def sent_back(revision: FormularyRevision, director: Person) -> None:
    hand_in(revision)
    send_back(revision, by=director, because=REASON, now=NOW)


@pytest.mark.parametrize("page", ["formulary:index", "boards:educator", "boards:hire"])
def test_what_was_sent_back_is_told_to_an_educator_with_the_reason(
    page: str, own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    sent_back(own, director)

    content = shown(client_of(educator), reverse(page))

    assert f"was sent back by Di Rector: “{REASON}”" in said(content)
    assert page_url(own) in content
    assert "Mend it" in said(content)


@pytest.mark.parametrize("page", ["formulary:index", "boards:hire", "boards:fto"])
def test_what_is_submitted_is_told_to_a_director(
    page: str, own: FormularyRevision, client_of: ClientOf
) -> None:
    hand_in(own)
    director = PersonFactory.create(roles=[Role.DIRECTOR, Role.FTO])

    content = shown(client_of(director), reverse(page))

    assert "waits for the medical director" in said(content)
    assert page_url(own) in content
    assert "Read and decide" in said(content)


def test_what_waits_stands_before_the_medicines(
    demo: FormularyRevision,
    own: FormularyRevision,
    director: Person,
    client_of: ClientOf,
    demonstration: None,
) -> None:
    hand_in(own)

    content = shown(client_of(director))

    assert content.index(page_url(own)) < content.index('id="rules"')


def test_nobody_else_is_told(
    own: FormularyRevision, director: Person, hire: Person, client_of: ClientOf
) -> None:
    sent_back(own, director)

    for page in ("formulary:index", "boards:hire"):
        assert REASON not in unescape(client_of(hire).get(reverse(page)).content.decode())
    assert waits_for(director) == []


def test_an_administrator_reads_it_without_being_asked_to_do_it(
    own: FormularyRevision, admin: Person, client_of: ClientOf
) -> None:
    hand_in(own)

    words = said(shown(client_of(admin)))

    assert "waits for the medical director" in words
    assert "Read and decide" not in words


def test_what_can_be_submitted_no_more_waits_for_nothing(
    own: FormularyRevision, director: Person, educator: Person
) -> None:
    sent_back(own, director)
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)
    put_in_force(second, by=director)

    assert waits_for(educator) == []
    third = draft_from(second, by=educator, now=NOW)
    sent_back(third, director)
    assert [each.revision for each in waits_for(educator)] == [third]


def test_a_reason_is_closed_while_an_assessed_prompt_is_open(
    own: FormularyRevision, director: Person, educator: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent_back(own, director)
    monkeypatch.setattr(Person, "has_assessed_prompt", True)

    assert waits_for(educator) == []
