"""A revision that waits is held against the others that wait, and what it was made from."""

import pytest

from drills.formulary.actions import draft_from, send_back
from drills.formulary.besides import MADE_FROM, SENT_BACK, WAITS, besides
from drills.formulary.models import DoseRule, FormularyRevision
from drills.formulary.reports import before_of
from drills.people.models import Person
from tests.formulary.conftest import NOW, ClientOf, hand_in, make_rule, put_in_force
from tests.formulary.test_deciding import url
from tests.formulary.test_index import said, shown


@pytest.fixture
def in_force(own: FormularyRevision, director: Person) -> FormularyRevision:
    return put_in_force(own, by=director)


def changed(draft: FormularyRevision, dose: str) -> FormularyRevision:
    DoseRule.objects.filter(revision=draft, code="A1").update(dose=dose, version=dose)
    return draft


def told(of: FormularyRevision) -> list[tuple[FormularyRevision, str]]:
    return [(each.revision, each.why) for each in besides(of, before_of(of))]


def test_two_that_wait_are_held_against_each_other(
    in_force: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    """And each change says against which: the one in force, or the other that waits."""
    first = hand_in(changed(draft_from(in_force, by=educator, now=NOW), "0.3 mg/kg"))
    second = changed(draft_from(in_force, by=educator, now=NOW), "0.1 mg/kg")
    make_rule(second, "B1")
    hand_in(second)

    assert told(first) == [(second, WAITS)]
    assert told(second) == [(first, WAITS)]
    page = said(shown(client_of(director), url("revision", second)))
    against_force, _, against_first = page.partition(f"Held against {first}")
    assert "against revision 1" in against_force
    assert "dose: was 0.2 mg/kg, becomes 0.1 mg/kg" in against_force
    assert "which waits as well; it is not in force" in against_first
    assert "dose: there 0.3 mg/kg, here 0.1 mg/kg" in against_first
    assert "B1 Test medicine added" in against_first.partition("Contradictions")[0]


def test_what_is_gone_here_is_told_as_well(
    in_force: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    first = draft_from(in_force, by=educator, now=NOW)
    make_rule(first, "B1")
    hand_in(first)
    second = hand_in(changed(draft_from(in_force, by=educator, now=NOW), "0.1 mg/kg"))

    page = said(shown(client_of(director), url("revision", second)))

    assert "B1 Test medicine removed" in page.partition(f"Held against {first}")[2]


def test_what_it_was_made_from_is_held_against_it_once_that_is_superseded(
    in_force: FormularyRevision, educator: Person, director: Person
) -> None:
    """While it is in force it is what all is held against anyway."""
    waited = changed(draft_from(in_force, by=educator, now=NOW), "0.3 mg/kg")
    assert told(waited) == []
    other = draft_from(in_force, by=educator, now=NOW)
    put_in_force(changed(other, "0.1 mg/kg"), by=director)
    in_force.refresh_from_db()
    late = draft_from(in_force, by=educator, now=NOW)

    assert told(late) == [(in_force, MADE_FROM)]
    # What a later one overtook can be approved no more, and is held against nothing.
    assert told(waited) == []


def test_one_that_was_sent_back_is_looked_at_and_a_mere_draft_is_not(
    in_force: FormularyRevision, educator: Person, director: Person
) -> None:
    back = hand_in(changed(draft_from(in_force, by=educator, now=NOW), "0.3 mg/kg"))
    send_back(back, by=director, because="Too much.", now=NOW)
    draft_from(in_force, by=educator, now=NOW)
    last = draft_from(in_force, by=educator, now=NOW)

    assert told(last) == [(back, SENT_BACK)]


def test_what_is_approved_and_the_demonstration_are_held_against_none(
    demo: FormularyRevision, in_force: FormularyRevision, educator: Person
) -> None:
    hand_in(changed(draft_from(in_force, by=educator, now=NOW), "0.3 mg/kg"))

    assert told(in_force) == told(demo) == []
