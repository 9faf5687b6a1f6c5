"""A figure that changed must not pass an import, a submission or an approval unseen."""

import pytest
from django.urls import reverse

from drills.formulary.actions import ApprovalRefusedError, approve, draft_from
from drills.formulary.flagged import flagged_of
from drills.formulary.models import DoseRule, FormularyRevision, FormularyState
from drills.formulary.workbook.told import book_of
from drills.people.models import AuditEntry, Person
from tests.formulary.conftest import (
    DOCUMENT,
    NOW,
    ClientOf,
    hand_in,
    make_rule,
    put_in_force,
)
from tests.formulary.test_deciding import record, url
from tests.formulary.test_import_page import looked_at
from tests.formulary.test_index import said, shown

TENFOLD = "dose: 0.2 mg/kg becomes 2 mg/kg, ten times as much as before"
SOURCE = (
    "the figure changed (dose), the source did not: still Patient care protocols, 7, no page, "
    "2026-11-25"
)
MEANT = [f"A1 {TENFOLD}", f"A1 {SOURCE}"]


@pytest.fixture
def tenfold(own: FormularyRevision, director: Person, educator: Person) -> FormularyRevision:
    """The approved revision again, its one dose ten times as much on the same source."""
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    DoseRule.objects.filter(revision=draft).update(dose="2 mg/kg")
    return draft


def test_an_import_shows_a_tenfold_dose_before_everything_else(
    tenfold: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    book = book_of(tenfold)
    tenfold.delete()

    page = said(looked_at(client_of(educator), book))

    first = page.partition("Store as draft")[0]
    assert "Look at this first 1 rule" in first
    assert "ten times as much as before" in first
    assert "The figure changed (dose), the source did not" in first
    assert "Nothing in its rules stands against an approval" not in page


@pytest.mark.parametrize("state", ["draft", "submitted"])
def test_a_revision_shows_a_tenfold_dose_before_everything_else(
    state: str,
    tenfold: FormularyRevision,
    educator: Person,
    director: Person,
    client_of: ClientOf,
) -> None:
    if state == "submitted":
        hand_in(tenfold)
    for who in (educator, director):
        page = said(shown(client_of(who), url("revision", tenfold)))
        assert "ten times as much as before" in page.partition("What it changes")[0]


@pytest.mark.parametrize("meant", [[], MEANT[:1], MEANT[1:], ["A1 dose: 0.2 mg/kg becomes 3"]])
def test_an_approval_without_every_tick_is_refused(
    meant: list[str], tenfold: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    hand_in(tenfold)

    response = client_of(director).post(
        url("approve", tenfold), {"document": DOCUMENT, "meant": meant}
    )

    page = said(response.content.decode())
    assert response.status_code == 422
    assert "Not said to be meant, of 2 flagged changes" in page
    assert all(each in page.partition("Tick each")[0] for each in MEANT if each not in meant)
    tenfold.refresh_from_db()
    assert tenfold.state == FormularyState.SUBMITTED


@pytest.mark.parametrize("way", ["approve", "record"])
def test_what_was_ticked_is_kept_with_the_approval_and_in_the_audit(
    way: str,
    tenfold: FormularyRevision,
    director: Person,
    educator: Person,
    client_of: ClientOf,
) -> None:
    hand_in(tenfold)
    client = client_of(director if way == "approve" else educator)
    page = shown(client, url("revision", tenfold))
    assert page.count('name="meant"') == 2

    given = record() if way == "record" else {"document": DOCUMENT}
    client.post(url(way, tenfold), given | {"meant": MEANT})

    tenfold.refresh_from_db()
    assert (tenfold.state, tenfold.changes_meant) == (FormularyState.APPROVED, MEANT)
    after = AuditEntry.objects.latest("pk").after
    assert after is not None
    assert after["changes meant"] == MEANT
    assert f"Said to be meant by who approved {MEANT[0]}" in said(
        shown(client, url("revision", tenfold))
    )


def test_a_small_change_with_its_new_source_is_not_flagged(
    tenfold: FormularyRevision, director: Person
) -> None:
    DoseRule.objects.filter(revision=tenfold).update(dose="0.3 mg/kg", version="8")
    assert flagged_of(tenfold) == []
    approve(hand_in(tenfold), by=director, document=DOCUMENT, now=NOW)


def test_a_rule_under_another_code_is_held_against_the_one_that_is_gone(
    tenfold: FormularyRevision,
) -> None:
    DoseRule.objects.filter(revision=tenfold).update(code="B7", version="8")

    (found,) = flagged_of(tenfold)

    assert [each.key for each in found.flags] == [f"B7 {TENFOLD}"]


def test_a_strength_that_becomes_another_is_flagged(tenfold: FormularyRevision) -> None:
    DoseRule.objects.filter(revision=tenfold).update(dose="0.2 mg/kg")
    tenfold.presentations.update(strength="100 mg / 2 mL")

    (found,) = flagged_of(tenfold)

    assert "ten times as strong as before" in found.flags[0].words
    assert found.is_loud


def test_a_second_strength_that_becomes_another_is_flagged(
    own: FormularyRevision, director: Person, educator: Person
) -> None:
    first = own.presentations.first()
    assert first is not None
    first.pk, first.key, first.strength = None, "second", "50 mg / 10 mL"
    first.save()
    DoseRule.objects.filter(revision=own).update(presentations=[])
    put_in_force(own, by=director)
    draft = draft_from(own, by=educator, now=NOW)
    draft.presentations.filter(key="second").update(strength="500 mg / 10 mL")

    (found,) = flagged_of(draft)

    assert "50 mg / 10 mL becomes 500 mg / 10 mL, ten times as strong" in found.flags[0].words
    assert found.is_loud


def test_a_dose_that_its_note_contradicts_is_ticked_in_a_first_revision(
    own: FormularyRevision, director: Person
) -> None:
    make_rule(own, "A2", indication="pain", notes="0.1 mL/kg of 0.2 mg/mL")
    hand_in(own)

    with pytest.raises(ApprovalRefusedError, match="A2 the note says"):
        approve(own, by=director, document=DOCUMENT, now=NOW)


@pytest.mark.parametrize("document", ["x", "-", "12", "edition", "abc 7", "protocol edition"])
def test_words_that_no_document_is_found_by_approve_nothing(
    document: str, own: FormularyRevision, director: Person, educator: Person, client_of: ClientOf
) -> None:
    hand_in(own)

    for way, who, given in (
        ("approve", director, {"document": document}),
        ("record", educator, record(document=document)),
    ):
        response = client_of(who).post(url(way, own), given)
        assert response.status_code == 422
        page = said(response.content.decode())
        assert f"&#x27;{document}&#x27; came in; it takes a name" in page
        assert "Patient care protocols, edition 7" in page
    own.refresh_from_db()
    assert own.state == FormularyState.SUBMITTED


def test_a_dose_against_its_own_note_is_marked_for_good(
    own: FormularyRevision, director: Person, hire: Person, client_of: ClientOf
) -> None:
    """On the page of the rule that crews read, and among the rules of its revision."""
    rule = make_rule(own, "A2", indication="pain", notes="0.1 mL/kg of 0.2 mg/mL")
    (flag,) = [flag for of in flagged_of(own) for flag in of.flags]
    words = f"Its note says otherwise: {flag.words.removeprefix('the note says ')}."
    put_in_force(own, by=director)

    for who, address in (
        (hire, reverse("formulary:rule", args=[own.number, "A2"])),
        (director, url("revision", own)),
    ):
        assert said(shown(client_of(who), address)).count(words) == 1
    assert "Its note says otherwise" not in shown(
        client_of(hire), reverse("formulary:rule", args=[own.number, "A1"])
    )
    assert rule.against_note == flag.words


def test_a_change_that_an_older_one_waits_with_is_told_apart(
    tenfold: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    """All is held against what is in force, so a later draft has the older one's changes too."""
    hand_in(tenfold)
    later = draft_from(tenfold, by=educator, now=NOW)
    DoseRule.objects.filter(revision=later).update(maximum="500 mg")
    hand_in(later)

    page = said(shown(client_of(director), url("revision", later)))
    first = page.partition("What it changes")[0]

    assert f"so what {tenfold} changes may be among it" in first
    assert f"ten times as much as before {tenfold}, which waits, has this too" in first
    assert first.count("has this too") == 1
    assert "has this too" not in shown(client_of(director), url("revision", tenfold))


def test_two_that_wait_are_numbered_with_what_they_follow_and_how_loud(
    tenfold: FormularyRevision, educator: Person, director: Person, client_of: ClientOf
) -> None:
    DoseRule.objects.filter(revision=tenfold).update(notes="0.1 mL/kg of 0.1 mg/mL")
    calm = draft_from(tenfold, by=educator, now=NOW)
    DoseRule.objects.filter(revision=calm).update(dose="0.2 mg/kg", notes="")
    hand_in(tenfold)
    hand_in(calm)

    page = said(shown(client_of(director)))
    one, _, two = page.partition("2 of 2.")

    assert "1 of 2." in one
    assert "1 rule changes by ten times or more, or stands against its own note" in one
    assert f"It follows {tenfold}, and to approve it ends that one." in two
    assert "ten times" not in two.partition("Read and decide")[0]


def test_rules_that_are_gone_stand_before_everything_else(
    tenfold: FormularyRevision, director: Person, client_of: ClientOf
) -> None:
    """A workbook that lost its last rows says nothing of them anywhere else at first sight."""
    DoseRule.objects.filter(revision=tenfold).delete()
    make_rule(tenfold, code="Z9", indication="another use")
    tenfold.submitted_at = NOW
    tenfold.state = FormularyState.SUBMITTED
    tenfold.save()

    page = said(shown(client_of(director), url("revision", tenfold)))

    first = page.partition("Look at this first")[2].partition("What it changes")[0]
    assert "1 of 1 rule is gone A1 " in first
    assert "twice or half" not in first


def test_where_no_rule_is_gone_nothing_is_said_of_it(
    tenfold: FormularyRevision, educator: Person, client_of: ClientOf
) -> None:
    page = said(shown(client_of(educator), url("revision", tenfold)))

    assert "Look at this first" in page
    assert "gone" not in page.partition("What it changes")[0]
