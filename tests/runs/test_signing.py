"""Signing off what was seen at a rig: who may, of what, and taking it back."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError

from drills.demo.factories import PersonFactory
from drills.engine.observing import BROUGHT, HELPED
from drills.engine.signing import SigningError
from drills.people.models import AuditEntry, Person, Role, RoleGrant
from drills.rigs.models import Rig
from drills.runs.actions import (
    leave_sheet,
    set_signing,
    short_of_standard,
    sign_off,
    signing_settings,
    stop_watch,
    withdraw_sign_off,
)
from drills.runs.models import Phase, PhaseSpell, Sheet, SigningSettings, SignOff
from drills.scenarios.models import CallType, Drill
from tests.runs.conftest import NOW
from tests.runs.test_hands_on import ALL, closed, marked, opened, watched
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_hands_on import sheet as sheet

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(hours=1)
BLEEDING, IMMOBILISATION = "circulation and bleeding", "immobilisation"


@pytest.fixture
def met(sheet: Sheet) -> Sheet:
    """A closed sheet of the hire's on which everything was brought alone."""
    watched(sheet, marked(sheet, **ALL))
    return closed(sheet)


@pytest.fixture
def signed(met: Sheet, fto: Person) -> SignOff:
    return sign_off(met, by=fto, now=LATER)


def in_a_phase(person: Person) -> Phase:
    phase = Phase.objects.create(number=1, name="Looking on")
    PhaseSpell.objects.create(person=person, phase=phase, began_on=NOW.date())
    return phase


def test_covers_every_category_the_run_touched(signed: SignOff, met: Sheet, fto: Person) -> None:
    assert (signed.categories, signed.person, signed.officer) == (
        [BLEEDING, IMMOBILISATION],
        met.person,
        fto,
    )
    assert (signed.seen_at, signed.signed_at) == (met.stopped_at, LATER)
    assert signed.revision == met.drill.revision


def test_who_signed_what_of_whom_is_in_the_audit(signed: SignOff, fto: Person) -> None:
    line = AuditEntry.objects.get(action="sign off")

    assert (line.actor, line.subject, line.before) == (fto, "HIRE", None)
    assert line.after == {
        "categories": [BLEEDING, IMMOBILISATION],
        "layout": "practice-rig",
        "seen": "2026-11-25",
    }


def test_signed_twice_is_signed_once(signed: SignOff, met: Sheet, educator: Person) -> None:
    again = sign_off(met, by=educator, now=LATER + timedelta(days=1))

    assert (again, again.officer, SignOff.objects.count()) == (signed, signed.officer, 1)
    assert AuditEntry.objects.filter(action="sign off").count() == 1


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({**ALL, "gauze_roll": HELPED}, "marks 50 of 100, 90 asked"),
        ({"tourniquet": BROUGHT}, "1 kit with a must-have missing"),
    ],
)
def test_what_did_not_meet_the_standard_is_not_signed(
    sheet: Sheet, fto: Person, said: dict[str, Any], words: str
) -> None:
    Drill.objects.update(pass_marks_percent=90, no_must_missed=True)
    watched(sheet, marked(sheet, **said))
    closed(sheet)

    with pytest.raises(SigningError, match=words):
        sign_off(sheet, by=fto, now=LATER)
    assert not SignOff.objects.exists()


def test_the_limit_of_the_drill_is_stretched_by_the_allowance(met: Sheet, hire: Person) -> None:
    """The officer's watch stopped at 41 s."""
    Drill.objects.update(limit_at_rig_s=30.0, pass_in_time_percent=100)
    met = Sheet.objects.get(pk=met.pk)
    assert short_of_standard(met) == ("in time 0 of 1, 100 in 100 asked",)

    Person.objects.filter(pk=hire.pk).update(time_allowance="1.5")

    assert short_of_standard(Sheet.objects.get(pk=met.pk)) == ()


def test_a_sheet_that_is_open_is_not_signed(sheet: Sheet, fto: Person) -> None:
    with pytest.raises(SigningError, match="is not started"):
        sign_off(sheet, by=fto, now=LATER)

    watched(sheet, marked(sheet, **ALL))

    with pytest.raises(SigningError, match="stopped, and not closed"):
        sign_off(sheet, by=fto, now=LATER)


def test_who_was_called_away_is_not_signed_off(sheet: Sheet, fto: Person) -> None:
    leave_sheet(sheet, now=NOW)
    closed(sheet)

    with pytest.raises(SigningError, match="called away, so nothing of it counts"):
        sign_off(sheet, by=fto, now=LATER)


def test_who_was_called_away_after_the_watch_stopped_may_be(sheet: Sheet, fto: Person) -> None:
    watched(sheet, marked(sheet, **ALL))
    leave_sheet(sheet, now=NOW + timedelta(minutes=1))
    closed(sheet)

    assert sign_off(sheet, by=fto, now=LATER).categories


def test_nobody_signs_their_own(met: Sheet, hire: Person) -> None:
    """Nor does crew who are officers as well, whoever watched them."""
    RoleGrant.objects.create(person=hire, role=Role.FTO)
    hire.forget_roles()

    with pytest.raises(SigningError, match="nobody signs their own"):
        sign_off(met, by=hire, now=LATER)


def test_not_in_the_database_either(signed: SignOff, fto: Person) -> None:
    with pytest.raises(IntegrityError):
        SignOff.objects.filter(pk=signed.pk).update(person=fto)


def test_an_officer_signs_what_they_watched_and_is_not_the_one_observed(
    hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    """Of two officers who watch each other each signs the other's run alone."""
    other = PersonFactory.create(employee_number="OTHER", roles=[Role.FTO, Role.CREW])
    of_other = opened(other, fto, rig)
    watched(of_other, marked(of_other, **ALL))
    closed(of_other)

    with pytest.raises(SigningError, match="nobody signs their own"):
        sign_off(of_other, by=other, now=LATER)
    assert sign_off(of_other, by=fto, now=LATER).person == other


@pytest.mark.parametrize("role", [Role.CREW, Role.KEEPER, Role.DIRECTOR, Role.ADMIN])
def test_only_an_officer_or_an_educator_signs(met: Sheet, role: Role) -> None:
    somebody = PersonFactory.create(employee_number="OTHER", roles=[role])

    with pytest.raises(PermissionDenied):
        sign_off(met, by=somebody, now=LATER)


def test_who_left_is_not_signed_off(met: Sheet, hire: Person, fto: Person) -> None:
    Person.objects.filter(pk=hire.pk).update(is_active=False)

    with pytest.raises(SigningError, match="Noor Hire came in, who left the service"):
        sign_off(met, by=fto, now=LATER)


def test_what_would_have_lapsed_is_not_signed(met: Sheet, fto: Person) -> None:
    with pytest.raises(SigningError, match="seen on 2026-11-25, and a sign-off lapses 180 days"):
        sign_off(met, by=fto, now=NOW + timedelta(days=180))

    assert sign_off(met, by=fto, now=NOW + timedelta(days=179)).categories


def test_in_the_phases_each_category_is_ticked(met: Sheet, hire: Person, fto: Person) -> None:
    in_a_phase(hire)
    with pytest.raises(SigningError, match="No category came in"):
        sign_off(met, by=fto, now=LATER)

    assert sign_off(met, by=fto, now=LATER, ticked=[BLEEDING]).categories == [BLEEDING]

    with pytest.raises(SigningError, match=f"signed this run before, for {BLEEDING}"):
        sign_off(met, by=fto, now=LATER, ticked=[IMMOBILISATION])


def test_who_left_the_phases_is_signed_off_as_everybody(
    met: Sheet, hire: Person, fto: Person
) -> None:
    in_a_phase(hire)
    PhaseSpell.objects.update(ended_on=NOW.date())

    assert len(sign_off(met, by=fto, now=LATER).categories) == 2


def test_a_simulated_run_makes_a_simulated_sign_off(met: Sheet, fto: Person) -> None:
    Sheet.objects.update(is_simulated=True)

    assert sign_off(met, by=fto, now=LATER).is_simulated


def test_withdrawn_it_says_why_and_the_audit_keeps_what_it_was(
    signed: SignOff, educator: Person
) -> None:
    withdraw_sign_off(signed, because="  Another rig's bag. ", by=educator, now=LATER)

    found = SignOff.objects.get()
    assert (found.withdrawn_at, found.withdrawn_by) == (LATER, educator)
    assert found.withdrawn_because == "Another rig's bag."
    line = AuditEntry.objects.get(action="withdraw sign-off")
    assert (line.actor, line.subject) == (educator, "HIRE")
    assert (line.before or {})["categories"] == [BLEEDING, IMMOBILISATION]
    assert line.after == {"because": "Another rig's bag."}


@pytest.mark.parametrize("because", ["", "   ", "x" * 301])
def test_it_is_never_withdrawn_without_a_reason(signed: SignOff, fto: Person, because: str) -> None:
    with pytest.raises(SigningError, match=f"{len(because.strip())} letters came in as the reason"):
        withdraw_sign_off(signed, because=because, by=fto, now=LATER)

    assert SignOff.objects.get().withdrawn_at is None


def test_nobody_withdraws_their_own(signed: SignOff, hire: Person) -> None:
    RoleGrant.objects.create(person=hire, role=Role.FTO)
    hire.forget_roles()

    with pytest.raises(SigningError, match="nobody decides on their own"):
        withdraw_sign_off(signed, because="I was not ready", by=hire, now=LATER)


def test_the_first_reason_stands(signed: SignOff, fto: Person) -> None:
    withdraw_sign_off(signed, because="First", by=fto, now=LATER)

    with pytest.raises(SigningError, match="withdrawn before, and the first reason stands"):
        withdraw_sign_off(signed, because="Second", by=fto, now=LATER)
    assert SignOff.objects.get().withdrawn_because == "First"


def test_a_run_whose_sign_off_was_withdrawn_is_not_signed_again(
    signed: SignOff, met: Sheet, fto: Person
) -> None:
    withdraw_sign_off(signed, because="Wrong person", by=fto, now=LATER)

    with pytest.raises(SigningError, match="of this run was withdrawn"):
        sign_off(met, by=fto, now=LATER)


def test_a_stopped_watch_changes_nothing_of_what_was_signed(signed: SignOff, met: Sheet) -> None:
    before = SignOff.objects.values().get()
    stop_watch(met, marked(met, **ALL), now=LATER)

    assert SignOff.objects.values().get() == before


class TestSettings:
    def test_it_comes_with_90_and_180_days_and_three_years(self) -> None:
        kept = signing_settings()

        assert (kept.span.drill_after, kept.span.lapses_after, kept.hold_years) == (90, 180, 3)
        assert not SigningSettings.objects.exists()

    def test_the_service_sets_them_and_the_audit_keeps_both(self, educator: Person) -> None:
        for lapses in ("120", "150"):
            set_signing(drill_after="60", lapses_after=lapses, hold_years="7", by=educator, now=NOW)

        assert signing_settings().span.lapses_after == 150
        first, second = AuditEntry.objects.filter(action="set sign-offs")
        assert first.before is None
        assert second.before == first.after != second.after

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"drill_after": "0"}, "A drill is due after: '0' came in; a whole number from 1"),
            ({"lapses_after": "half"}, "A new run after: 'half' came in"),
            ({"lapses_after": "99999"}, "A new run after: '99999' came in"),
            ({"lapses_after": "90"}, "A drill after 90 days and a new run after 90"),
            ({"hold_years": "-1"}, "Held for: '-1' came in; a whole number from 0 to 100"),
            ({"hold_years": ""}, "Held for: '' came in"),
        ],
    )
    def test_what_cannot_be_is_refused_and_named(
        self, educator: Person, change: dict[str, str], words: str
    ) -> None:
        given = {"drill_after": "90", "lapses_after": "180", "hold_years": "3", **change}

        with pytest.raises(SigningError, match=words):
            set_signing(**given, by=educator, now=NOW)
        assert not SigningSettings.objects.exists()

    @pytest.mark.parametrize("role", [Role.CREW, Role.FTO, Role.DIRECTOR])
    def test_only_an_educator_or_an_administrator_sets_them(self, db: None, role: Role) -> None:
        somebody = PersonFactory.create(roles=[role])

        with pytest.raises(PermissionDenied):
            set_signing(drill_after="60", lapses_after="90", hold_years="7", by=somebody, now=NOW)

    @pytest.mark.parametrize("column", [{"number": 2}, {"drill_after_days": 180}])
    def test_the_table_takes_no_other(self, db: None, column: dict[str, int]) -> None:
        with pytest.raises(IntegrityError):
            SigningSettings.objects.create(**column, changed_at=NOW)
