"""What the page of a revision tells who is about to sign it."""

from drills.formulary.actions import draft_from
from drills.formulary.models import FormularyRevision
from drills.people.models import Person
from tests.formulary.conftest import DOCUMENT, NOW, ClientOf, hand_in, make_rule, put_in_force
from tests.formulary.test_deciding import url
from tests.formulary.test_index import said, shown


def test_what_is_submitted_is_read_in_full_before_it_is_signed(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    """More than fit a glance lie open as well, each with its source; a draft may fold them."""
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    for number in range(20):
        make_rule(draft, f"A{number:03}")
    page = shown(client_of(director), url("revision", draft))
    assert '<details class="more"><summary>Rule by rule' in page

    hand_in(draft)
    page = shown(client_of(director), url("revision", draft))

    assert '<details class="more" open><summary>Rule by rule' in page
    assert '<details class="more"><summary>' not in page
    for number in range(20):
        assert f"<b>A{number:03}</b>" in page
    rule = draft.rules.get(code="A019")
    assert said(page).count(f"{rule.source}, {rule.version}, {rule.page}") == 21


def test_what_an_approval_takes_the_place_of_is_said_before_it(
    own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    hand_in(own)
    first = said(shown(client_of(director), url("revision", own)))
    assert "No revision was approved before: dose drills open with it." in first
    client_of(director).post(url("approve", own), {"document": DOCUMENT})
    own.refresh_from_db()
    draft = draft_from(own, by=educator, now=NOW)
    hand_in(draft)

    for person in (director, educator):
        page = said(shown(client_of(person), url("revision", draft)))
        assert f"It takes the place of {own}, approved by {director.name} on" in page
        assert "A drill that is made stays as it was made." in page
