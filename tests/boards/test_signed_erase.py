"""Sign-offs, phases and notes of a person who is erased, and what the law holds of them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.actions import set_signing, sign_off, withdraw_sign_off
from drills.runs.models import DailyNote, ItemShown, Phase, PhaseItem, PhaseSpell, SignOff
from drills.scenarios.models import CallType
from tests.boards.persons import export, said_anywhere
from tests.boards.test_person_erase import erase
from tests.runs.conftest import NOW
from tests.runs.test_hands_on import ALL, marked, opened, watched
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_hands_on import closed as close

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed(hire: Person, fto: Person, rig: Rig, call_type: CallType) -> SignOff:
    """A sign-off of the hire's by the FTO, in a phase, with a note and a thing that was shown."""
    now = timezone.now()
    phase = Phase.objects.create(number=1, name="Looking on")
    item = PhaseItem.objects.create(phase=phase, order=1, words="Says the radio check")
    PhaseSpell.objects.create(person=hire, phase=phase, began_on=now.date(), by=fto)
    ItemShown.objects.create(item=item, person=hire, officer=fto, shown_on=now.date())
    DailyNote.objects.create(
        person=hire, officer=fto, phase=phase, day=now.date(), went_well="Calm", written_at=now
    )
    PhaseSpell.objects.update(ended_on=now.date())
    sheet = opened(hire, fto, rig)
    watched(sheet, marked(sheet, **ALL))
    return sign_off(close(sheet), by=fto, now=NOW + timedelta(hours=1))


def test_a_person_is_given_all_of_it_in_words(signed: SignOff, fto: Person) -> None:
    withdraw_sign_off(signed, because="Another rig's bag", by=fto, now=timezone.now())

    given = export()

    (told,) = given["signed off"]
    assert told["categories"] == ["circulation and bleeding", "immobilisation"]
    assert (told["by"], told["because"]) == ("Ola Field", "Another rig's bag")
    assert [each["phase"] for each in given["phases"]] == ["Phase 1: Looking on"]
    assert [each["what"] for each in given["shown"]] == ["Says the radio check"]
    assert [each["went well"] for each in given["daily notes"]] == ["Calm"]


def test_an_officer_is_given_counts_and_nobodys_name(signed: SignOff) -> None:
    given = export("FTO")

    counts = ("sign-offs given", "moved into phases", "shown to them", "daily notes written")
    assert [given[name] for name in counts] == [1, 1, 1, 1]
    assert "Noor Hire" not in str(given)
    assert "HIRE" not in str(given)


def test_the_law_holds_a_sign_off_with_the_name_on_it(signed: SignOff) -> None:
    said = erase()

    kept = SignOff.objects.get()
    assert (kept.person, kept.person_name, kept.sheet) == (None, "Noor Hire, HIRE", None)
    assert kept.officer == signed.officer
    assert "Held by law with the names on it: sign-off of circulation and bleeding" in said
    until = timezone.localdate(signed.signed_at + timedelta(days=3 * 366))
    assert f"until {until:%F}" in said


def test_the_name_stands_nowhere_else(signed: SignOff, fto: Person) -> None:
    withdraw_sign_off(signed, because="Mr Hire's bag was empty", by=fto, now=timezone.now())

    erase()

    columns = {column for column, text in said_anywhere() if "Noor Hire" in text or "HIRE" in text}
    assert columns == {"runs.SignOff.person_name"}
    withdrawn = AuditEntry.objects.get(action="withdraw sign-off")
    assert (withdrawn.subject, withdrawn.after) == ("(erased)", {"because": "(erased)"})
    assert (withdrawn.before or {})["layout"] == "practice-rig"


def test_phases_notes_and_what_was_shown_go(signed: SignOff) -> None:
    said = " ".join(erase().split())

    for kind in (DailyNote, ItemShown, PhaseSpell):
        assert not kind._base_manager.exists(), kind
    assert Phase.objects.exists()
    for words in ("1 daily notes", "1 things they showed", "1 phases"):
        assert words in said


def test_what_is_no_longer_held_goes(signed: SignOff, educator: Person) -> None:
    set_signing(
        drill_after="90", lapses_after="180", hold_years="0", by=educator, now=timezone.now()
    )
    SignOff.objects.update(signed_at=timezone.now() - timedelta(days=1))

    said = erase()

    assert not SignOff.objects.exists()
    assert "Held by law" not in said
    assert "1 sign-offs no longer held" in said


def test_what_was_held_goes_with_a_later_erasing_once_its_time_is_over(
    signed: SignOff, outsider: Person
) -> None:
    erase()
    SignOff.objects.update(signed_at=timezone.now() - timedelta(days=3 * 366 + 1))

    erase("OUTSIDER")

    assert not SignOff.objects.exists()


def test_who_signed_stays_named_on_what_is_held(signed: SignOff, hire: Person) -> None:
    said = erase("FTO")

    kept = SignOff.objects.get()
    assert (kept.officer, kept.by, kept.person) == (None, "Ola Field, FTO", hire)
    assert "Held by law with the names on it" in said
    assert "1 sign-offs they gave" in " ".join(said.split())
    note = DailyNote.objects.get()
    assert (note.officer, note.went_well) == (None, "Calm")


def test_who_signed_is_forgotten_where_nothing_is_held(signed: SignOff) -> None:
    SignOff.objects.update(signed_at=timezone.now() - timedelta(days=3 * 366 + 1))

    erase("FTO")

    assert SignOff.objects.get().by == "an officer erased since"
