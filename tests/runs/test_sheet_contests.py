"""Contesting what an officer wrote at the open doors, and what a decision does to it."""

from datetime import timedelta

import pytest
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import PairingFactory, PersonFactory
from drills.engine.observing import WRONG_THING
from drills.people.models import AuditEntry, Person, Role
from drills.rigs.models import Rig
from drills.runs.actions import (
    ContestError,
    contest_sheet,
    decide_sheet_contest,
    short_of_standard,
    sign_off,
)
from drills.runs.calibrating import gather
from drills.runs.models import Sheet, SheetContest, SignOff, Verdict
from drills.runs.records import erase, record_of
from drills.scenarios.models import Drill
from tests.runs.conftest import NOW, ClientOf
from tests.runs.test_hands_on import ALL, closed, marked, numbers, opened, watched
from tests.runs.test_hands_on import call_type as call_type
from tests.runs.test_hands_on import sheet as sheet

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(days=1)


@pytest.fixture
def second(hire: Person) -> Person:
    """Another FTO of the hire's."""
    officer = PersonFactory.create(employee_number="SECOND", name="Sol Second", roles=[Role.FTO])
    PairingFactory.create(fto=officer, crew=hire)
    return officer


@pytest.fixture
def wrong(sheet: Sheet) -> Sheet:
    """A closed sheet on which the splint was written down as a wrong thing."""
    return closed(watched(sheet, marked(sheet, **ALL | {"splint": WRONG_THING})))


@pytest.fixture
def right(sheet: Sheet) -> Sheet:
    return closed(watched(sheet, marked(sheet, **ALL)))


def part(sheet: Sheet, thing: str) -> str:
    return str(numbers(sheet)[thing])


def contested(sheet: Sheet, what: str, by: Person) -> SheetContest:
    return contest_sheet(sheet, part=what, because="It was the right one", by=by, now=NOW)


def decided(found: SheetContest, verdict: Verdict, by: Person) -> Sheet:
    decide_sheet_contest(found, verdict=verdict, answer="I asked", by=by, now=LATER)
    return Sheet.objects.get(pk=found.sheet_id)


def told() -> dict[str, str]:
    rows = Evidence.objects.standing().select_related("fact__item")
    return {row.fact.skill or str(row.fact.item): row.outcome for row in rows}


def test_upheld_it_stands_as_it_was_written(wrong: Sheet, hire: Person, second: Person) -> None:
    before = list(Evidence.objects.values())
    found = decided(contested(wrong, part(wrong, "splint"), hire), Verdict.UPHELD, second)
    assert (found.outcome, found.voided) == ("wrong", [])
    assert list(Evidence.objects.values()) == before


def test_voided_the_sheet_is_judged_without_it_and_the_evidence_is_kept_anew(
    wrong: Sheet, hire: Person, second: Person
) -> None:
    assert told()["Splint"] == "wrong"
    found = decided(contested(wrong, part(wrong, "splint"), hire), Verdict.VOIDED, second)
    assert (found.outcome, found.missed) == ("right", [])
    assert found.seen[part(wrong, "splint")] == WRONG_THING
    assert told() == {"stage bleeding": "right", "Gauze roll": "right"}
    assert Evidence.objects.exclude(voided_at=None).filter(fact__item__name="Splint").exists()


def test_a_voided_must_have_was_seen_by_nobody_and_is_not_signed(
    wrong: Sheet, hire: Person, second: Person
) -> None:
    found = decided(contested(wrong, part(wrong, "splint"), hire), Verdict.VOIDED, second)
    assert short_of_standard(found) == ("voided, so that nobody saw the whole kit: Splint",)


def test_a_sign_off_that_rests_on_it_is_withdrawn_and_says_so(
    right: Sheet, hire: Person, fto: Person, second: Person
) -> None:
    signed = sign_off(right, by=fto, now=NOW)
    decided(contested(right, part(right, "splint"), hire), Verdict.VOIDED, second)
    signed.refresh_from_db()
    assert signed.withdrawn_by == second
    assert "no longer meets the standard" in signed.withdrawn_because
    assert "Splint" in signed.withdrawn_because


def test_a_sign_off_stays_where_what_is_voided_bears_nothing_of_it(
    right: Sheet, hire: Person, fto: Person, second: Person
) -> None:
    signed = sign_off(right, by=fto, now=NOW)
    decided(contested(right, "time", hire), Verdict.VOIDED, second)
    signed.refresh_from_db()
    assert signed.withdrawn_at is None
    assert set(Evidence.objects.standing().values_list("seconds", "time_state")) == {
        (None, "untimed")
    }


def test_where_time_is_asked_a_voided_time_bears_no_sign_off(
    right: Sheet, hire: Person, fto: Person, second: Person
) -> None:
    Drill.objects.update(limit_at_rig_s=60.0, pass_in_time_percent=100)
    right.refresh_from_db()
    sign_off(right, by=fto, now=NOW)
    decided(contested(right, "time", hire), Verdict.VOIDED, second)
    assert "its time was voided" in SignOff.objects.get().withdrawn_because


def test_a_waiting_contest_holds_the_sign_off_back(right: Sheet, hire: Person, fto: Person) -> None:
    contested(right, "time", hire)
    with pytest.raises(ValueError, match="signed once that is decided"):
        sign_off(right, by=fto, now=NOW)


def test_wrong_doors_that_are_voided_cost_nothing(
    sheet: Sheet, hire: Person, second: Person
) -> None:
    watched(sheet, marked(sheet, **ALL))
    Sheet.objects.filter(pk=sheet.pk).update(wrong_doors=2)
    found = closed(sheet)
    assert found.outcome == "partly"
    assert decided(contested(found, "doors", hire), Verdict.VOIDED, second).outcome == "right"


def test_with_every_must_have_voided_nothing_counts(
    right: Sheet, hire: Person, second: Person
) -> None:
    for thing in ("tourniquet", "splint"):
        decided(contested(right, part(right, thing), hire), Verdict.VOIDED, second)
    found = Sheet.objects.get()
    assert (found.outcome, found.told_outcome) == ("", "every must-have was voided, nothing counts")
    assert not Evidence.objects.standing().exists()
    assert short_of_standard(found) == ("every must-have was voided, so nothing of it counts",)


def test_what_was_voided_tells_nothing_of_motions(
    right: Sheet, hire: Person, second: Person
) -> None:
    decided(contested(right, "time", hire), Verdict.VOIDED, second)
    assert gather().left_out == {"voided in part after a contest": 1}


def test_what_was_written_stays_in_the_audit(wrong: Sheet, hire: Person, second: Person) -> None:
    decided(contested(wrong, part(wrong, "splint"), hire), Verdict.VOIDED, second)
    entry = AuditEntry.objects.get(action="decide contest")
    assert entry.actor == second
    assert entry.before == {"outcome": "wrong", "written": "Splint: Wrong thing"}
    assert entry.after == {"verdict": "voided", "answer": "I asked", "outcome": "right"}


def test_neither_its_officer_nor_its_person_decides(
    wrong: Sheet, hire: Person, fto: Person
) -> None:
    found = contested(wrong, "time", hire)
    for who, why in ((fto, "You wrote it"), (hire, "answer of their own")):
        with pytest.raises(ContestError, match=why):
            decided(found, Verdict.VOIDED, who)
    found.refresh_from_db()
    assert found.verdict == ""


def test_it_is_decided_once(wrong: Sheet, hire: Person, second: Person) -> None:
    found = contested(wrong, "time", hire)
    decided(found, Verdict.UPHELD, second)
    with pytest.raises(ContestError, match="The first decision stands"):
        decided(found, Verdict.VOIDED, second)


@pytest.mark.parametrize(
    ("what", "because", "why"),
    [
        ("time", " ", "No reason came in"),
        ("99", "x", "nothing of this sheet"),
        ("", "x", "nothing of this sheet"),
        ("doors", "x", "nothing of this sheet"),
    ],
)
def test_a_contest_that_cannot_be_taken_is_refused(
    right: Sheet, hire: Person, what: str, because: str, why: str
) -> None:
    with pytest.raises(ContestError, match=why):
        contest_sheet(right, part=what, because=because, by=hire, now=NOW)
    assert not SheetContest.objects.exists()


def test_nobody_contests_for_another_nor_before_it_is_closed(
    sheet: Sheet, hire: Person, second: Person
) -> None:
    watched(sheet, marked(sheet, **ALL))
    with pytest.raises(ContestError, match="not closed yet"):
        contested(Sheet.objects.get(), "time", hire)
    with pytest.raises(ContestError, match="contests it themselves"):
        contested(closed(sheet), "time", second)


def test_a_mark_is_contested_once(right: Sheet, hire: Person) -> None:
    contested(right, "time", hire)
    with pytest.raises(ContestError, match="contested once"):
        contested(right, "time", hire)
    with pytest.raises(IntegrityError):
        SheetContest.objects.create(sheet=right, part="time", because="x", made_at=NOW)


def page(client: Client, sheet: Sheet) -> str:
    return client.get(reverse("runs:sheet", args=[sheet.pk])).content.decode()


def test_from_the_sheet_of_the_person_to_the_page_of_who_decides(
    wrong: Sheet, hire: Person, fto: Person, second: Person, client_of: ClientOf
) -> None:
    own, address = client_of(hire), reverse("runs:contest_written", args=[wrong.pk])
    assert "Splint: Wrong thing" in page(own, wrong)
    refused = own.post(address, {"part": "time", "because": ""})
    assert refused.status_code == 422
    assert "No reason came in" in refused.content.decode()
    done = own.post(address, {"part": part(wrong, "splint"), "because": "Look again"}, follow=True)
    assert "Waits for another FTO or an educator" in done.content.decode()
    assert "Contest what was written" not in page(client_of(fto), wrong)
    found, listed = SheetContest.objects.get(), reverse("runs:contests")
    assert "Look again" not in client_of(fto).get(listed).content.decode()
    deciding = client_of(second)
    assert "Look again" in deciding.get(listed).content.decode()
    assert "1 contested mark waits" in deciding.get(reverse("boards:fto")).content.decode()
    decide = reverse("runs:decide_sheet", args=[found.pk])
    assert client_of(fto).post(decide, {"void": "1", "answer": "x"}).status_code == 404
    assert deciding.post(decide, {"answer": "x"}).status_code == 422
    assert deciding.post(decide, {"void": "1"}).status_code == 422
    deciding.post(decide, {"void": "1", "answer": "It was the splint"})
    content = page(own, wrong)
    assert "It was the splint" in content
    assert "<s>Wrong thing</s>" in content
    assert "nobody saw the whole kit" in content


def test_it_is_given_out_and_erased_with_its_person(
    wrong: Sheet, hire: Person, second: Person, rig: Rig, fto: Person
) -> None:
    decided(contested(wrong, part(wrong, "splint"), hire), Verdict.VOIDED, second)
    (kept,) = record_of(hire)["seen at the rig"]
    (said,) = kept["contested"]
    assert (said["what"], said["verdict"]) == ("Splint: Wrong thing", "voided")
    assert said["because"] == "It was the right one"
    assert erase(second, now=LATER)[1]["contests they decided"] == 1
    assert erase(hire, now=LATER)[0]["contests"] == 1
    assert not SheetContest.objects.exists()
    assert opened(PersonFactory.create(), fto, rig).contests.count() == 0
