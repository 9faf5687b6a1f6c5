"""Contesting what an officer wrote at the open doors, and deciding on it."""

from datetime import datetime
from typing import Any

from django.db import transaction

from drills.competency.actions import void_evidence
from drills.people.audit import record
from drills.people.models import Person
from drills.runs.actions.contesting import ContestError, read_answer, read_reason
from drills.runs.actions.observing import judge, lines_of
from drills.runs.actions.sheet_evidence import sources_of
from drills.runs.actions.signing import short_of_standard, touched_by, withdraw_sign_off
from drills.runs.actions.single_things import things_written
from drills.runs.models import DOORS, TIME, Sheet, SheetContest, SignOff, Verdict, VoidReason
from drills.runs.models.signing import BECAUSE_LENGTH


def parts_of(sheet: Sheet) -> dict[str, str]:
    """What of a closed sheet can be contested, with what was written, in words."""
    if not sheet.is_stopped:
        return {}
    found = {TIME: f"The time: {sheet.seconds or 0:.0f} s"}
    if sheet.is_of_single_things:
        return found | dict(things_written(sheet))
    for number, line in enumerate(lines_of(sheet)):
        found[str(number)] = f"{line.name}: {line.told(sheet.seen.get(str(number), ''))}"
    if sheet.wrong_doors:
        found[DOORS] = f"Wrong doors opened: {sheet.wrong_doors}"
    return found


@transaction.atomic
def contest_sheet(
    sheet: Sheet, *, part: str, because: str, by: Person, now: datetime
) -> SheetContest:
    """Keep that the person of a closed sheet contests one thing that was written on it.

    Raises `ContestError` without a reason, for what is not on it, and for what was contested.
    """
    reason = read_reason(because)
    if sheet.person_id != by.pk:
        raise ContestError("Whoever was seen contests it themselves.")
    if sheet.is_open:
        raise ContestError("This sheet is not closed yet. It is contested once it is.")
    if part not in parts_of(sheet):
        raise ContestError("That is nothing of this sheet. Choose one of its marks, or the time.")
    made, is_new = SheetContest.objects.get_or_create(
        sheet=sheet, part=part, defaults={"because": reason, "made_at": now}
    )
    if not is_new:
        raise ContestError("This was contested before. A mark is contested once.")
    record("contest answer", _subject(made), by=by, now=now, after={"because": reason})
    return made


@transaction.atomic
def decide_sheet_contest(
    waiting: SheetContest, *, verdict: Verdict, answer: str, by: Person, now: datetime
) -> None:
    """Uphold what was written, or void it: then the sheet is judged without it, its evidence is
    kept anew, and a sign-off that it no longer bears is withdrawn.

    What was written stays on the sheet and in the audit. Raises `ContestError` for the officer
    who wrote it, for one's own, and for what was decided before.
    """
    said = read_answer(answer)
    rows = Sheet.objects.select_for_update(of=("self",))
    sheet = rows.select_related("drill__revision__layout", "person", "rig").get(pk=waiting.sheet_id)
    found = SheetContest.objects.filter(pk=waiting.pk, decided_at=None).first()
    if found is None:
        raise ContestError("This was decided before. The first decision stands.")
    if sheet.person_id == by.pk:
        raise ContestError("Nobody decides on an answer of their own.")
    if sheet.officer_id == by.pk:
        raise ContestError("You wrote it, and nobody decides on what they wrote themselves.")
    before = _told(sheet, found.part)
    found.verdict, found.answer, found.decided_by, found.decided_at = verdict, said, by, now
    found.save()
    if verdict == Verdict.VOIDED:
        _void(sheet, found.part, by=by, now=now)
    after = {"verdict": verdict.value, "answer": said, "outcome": sheet.outcome}
    record("decide contest", _subject(found), by=by, now=now, before=before, after=after)


def _void(sheet: Sheet, part: str, *, by: Person, now: datetime) -> None:
    for source in sources_of(sheet):
        void_evidence(source, by=VoidReason.CONTESTED, now=now)
    sheet.voided = [*sheet.voided, part]
    judge(sheet, lines_of(sheet))
    sheet.save(update_fields=["voided", "outcome", "missed", "parts"])
    signed = SignOff.objects.filter(sheet=sheet, withdrawn_at=None).first()
    if signed and (fallen := _fallen(sheet, signed)):
        because = f"A mark of its run was voided after a contest. {fallen}."
        withdraw_sign_off(signed, because=because[:BECAUSE_LENGTH], by=by, now=now)


def _fallen(sheet: Sheet, signed: SignOff) -> str:
    """Why a sheet no longer bears its sign-off; empty where it does."""
    if short := short_of_standard(sheet):
        return f"It no longer meets the standard: {'; '.join(short)}"
    gone = [each for each in signed.categories if each not in touched_by(sheet)]
    return f"Nothing of it is left that was brought alone: {', '.join(gone)}" if gone else ""


def _told(sheet: Sheet, part: str) -> dict[str, Any]:
    return {"outcome": sheet.outcome, "written": parts_of(sheet)[part]}


def _subject(contest: SheetContest) -> str:
    return f"{contest.part} of sheet {contest.sheet_id}"
