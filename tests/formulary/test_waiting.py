"""What waits for a decision is told on the first page of whom it waits for."""

from html import unescape

import pytest
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.formulary.actions import draft_from, send_back, set_dosing
from drills.formulary.models import FormularyRevision
from drills.formulary.waiting import all_that_waits, set_anew, waits_for
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


def approved_later(director: Person) -> FormularyRevision:
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)
    return put_in_force(second, by=director)


@pytest.mark.parametrize("is_sent_back", [True, False])
def test_what_a_later_one_overtook_is_told_to_an_educator_until_it_is_discarded(
    own: FormularyRevision,
    director: Person,
    educator: Person,
    client_of: ClientOf,
    *,
    is_sent_back: bool,
) -> None:
    if is_sent_back:
        sent_back(own, director)
    else:
        hand_in(own)
    approved_later(director)
    client = client_of(educator)

    for page in ("formulary:index", "boards:educator", "boards:hire"):
        words = said(shown(client, reverse(page)))
        assert "was overtaken: Formulary, revision 2 was approved on 25 Nov 2026" in words
    client.post(reverse("formulary:discard", args=[own.number]))

    assert waits_for(educator) == []
    assert not FormularyRevision.objects.filter(number=1).exists()


def test_a_draft_that_was_never_handed_in_is_overtaken_in_silence(
    own: FormularyRevision, director: Person, educator: Person
) -> None:
    approved_later(director)

    assert all_that_waits(educator) == []
    third = draft_from(own, by=educator, now=NOW)
    sent_back(third, director)
    assert [each.revision for each in waits_for(educator)] == [third]


def test_what_an_approval_ends_is_said_before_it_and_after_it(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    """The newer one waits on when the older one is approved, so of that nothing is said."""
    hand_in(own)
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)
    hand_in(second)
    client, ends = client_of(director), "This ends Formulary, revision 1, which waits as well"
    first, newer = (reverse("formulary:revision", args=[number]) for number in (1, 2))

    assert "This ends" not in said(shown(client, first))
    assert ends in said(shown(client, newer))
    assert ends in said(shown(client_of(educator), newer))
    approval = {"document": "Protocols, edition 7"}
    done = client.post(reverse("formulary:approve", args=[2]), approval, follow=True)

    told = "Formulary, revision 1 can be approved no more; its educator is told."
    assert told in done.content.decode()


def test_an_overtaken_one_waits_for_no_director(
    own: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    hand_in(own)
    approved_later(director)

    assert waits_for(director) == []
    assert "was overtaken" in said(shown(client_of(director)))
    assert "Read and decide" not in said(shown(client_of(director)))


@pytest.mark.parametrize("page", ["formulary:index", "boards:hire"])
def test_a_director_is_told_who_set_how_doses_are_worked_out_until_seen(
    page: str, director: Person, educator: Person, client_of: ClientOf
) -> None:
    set_dosing(pounds="exact", rounding="half up", decided="Letter", by=educator, now=NOW)
    client = client_of(director)

    words = said(shown(client, reverse(page)))
    assert f"was changed by {educator.name}, 25 Nov 2026, 05:40." in words
    assert "Now: Pounds exactly, 0.45359237 kg each; a child's dose rounded half up;" in words
    assert "Before: Pounds divided by 2.2; a child's dose rounded half up;" in words
    assert "Decided by: Letter." in words
    client.post(reverse("formulary:settings_seen"))

    assert "was changed by" not in said(shown(client, reverse(page)))
    set_dosing(pounds="2.2", rounding="half up", decided="Letter", by=educator, now=NOW)
    assert "Before: Pounds exactly" in said(shown(client, reverse(page)))


def test_what_a_director_set_is_news_to_another_director_alone(
    director: Person, educator: Person
) -> None:
    set_dosing(pounds="exact", rounding="half up", decided="Letter", by=director, now=NOW)

    assert set_anew(director) == set_anew(educator) == []
    assert len(set_anew(PersonFactory.create(roles=[Role.DIRECTOR]))) == 1


def test_a_reason_is_closed_while_an_assessed_prompt_is_open(
    own: FormularyRevision, director: Person, educator: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent_back(own, director)
    monkeypatch.setattr(Person, "has_assessed_prompt", True)

    assert waits_for(educator) == []
