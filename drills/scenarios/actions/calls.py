"""Call types changed row by row, reviewed, and brought in from a workbook."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from drills.engine.calls_workbook import ABOUT, Kept, cells_of, judged
from drills.engine.calls_workbook.columns import MOST_OF_ONE, OWNER_LENGTH
from drills.engine.workbook.problems import Problem
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person
from drills.scenarios.access import EDITORS
from drills.scenarios.ailments import patients_mark
from drills.scenarios.kept import (
    changes_of,
    digest_of,
    faults_in,
    kept_of,
    known,
    mark_of,
    row_of,
)
from drills.scenarios.models import CallType
from drills.scenarios.reading import call_world

MEANWHILE = "Somebody changed this since you opened it. What it says now stands beside."


class CallRefusedError(ValueError):
    """A change of a call type that cannot be; the text says why."""


class RowRefusedError(CallRefusedError):
    """A row that cannot be kept as it was written, with what is wrong in it by column."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.faults = {
            each.column: f"{each.got} came in; accepted is {each.accepted}."
            for each in reversed(tuple(problems))
        }
        super().__init__("Some of it cannot be kept as it was written.")


@transaction.atomic
def change_row(
    call: CallType,
    sheet: str,
    at: int | None,
    cells: Mapping[str, str],
    *,
    seen: str,
    by: Person,
    now: datetime,
) -> CallType:
    """Write one row of a sheet of a call type, or what it says of itself; None adds a row.

    `seen` is the mark of what was shown. Raises `RowRefusedError` with what is wrong by column,
    and `CallRefusedError` where the row was changed since or the call type would not be whole.
    """
    require_role(by, *EDITORS)
    call = _as_seen(call, sheet, at, seen)
    kept, problems = judged(sheet, cells, known())
    if problems:
        raise RowRefusedError(problems)
    before = row_of(call, sheet, at)
    if before is not None and cells_of(sheet, kept) == cells_of(sheet, before):
        return call
    after = kept_of(call)
    if sheet == ABOUT:
        after |= kept
    else:
        _refuse_double(after[sheet], kept, at)
        rows = after[sheet]
        after[sheet] = [*rows[:at], kept, *rows[at + 1 :]] if at is not None else [*rows, kept]
    _store(call, after, now)
    told = f"{call.slug}, {sheet}" if at is None else f"{call.slug}, {sheet} {at + 1}"
    written = before if before is None else cells_of(sheet, before)
    record("change call type", told, by=by, now=now, before=written, after=cells_of(sheet, kept))
    return call


@transaction.atomic
def remove_row(
    call: CallType, sheet: str, at: int, *, seen: str, by: Person, now: datetime
) -> CallType:
    """Take one row of a sheet out; raises `CallRefusedError` where it is needed."""
    require_role(by, *EDITORS)
    call = _as_seen(call, sheet, at, seen)
    after = kept_of(call)
    before = after[sheet].pop(at)
    _store(call, after, now)
    told = f"{call.slug}, {sheet} {at + 1}"
    record("change call type", told, by=by, now=now, before=cells_of(sheet, before), after="gone")
    return call


@transaction.atomic
def review_call(
    call: CallType, *, reviewer: str, version: int, patients: str, by: Person, now: datetime
) -> CallType:
    """Keep who reviewed a call type as it stands in a version; a later change takes it away.

    `patients` is the mark of its patients as they were shown. Raises `CallRefusedError` without a
    name, and where it is another version or has other patients by now.
    """
    require_role(by, *EDITORS)
    call = CallType.objects.select_for_update().get(pk=call.pk)
    reviewer = " ".join(reviewer.split())
    if not reviewer or len(reviewer) > OWNER_LENGTH:
        raise CallRefusedError(
            f"{len(reviewer)} letters came in. Say who reviewed it: a name and what they are, in "
            f"at most {OWNER_LENGTH}."
        )
    if version != call.version:
        raise CallRefusedError(
            f"Version {version} was looked at, and it is version {call.version} by now. Look at it "
            "again."
        )
    if patients != patients_mark(call):
        raise CallRefusedError("A problem of its patients was changed meanwhile. Look at it again.")
    before = call.reviewed_by
    call.reviewed_by, call.reviewed_on = reviewer, timezone.localdate(now)
    call.review_ended = ""
    call.save(update_fields=["reviewed_by", "reviewed_on", "review_ended"])
    record(
        "review call type",
        call.slug,
        by=by,
        now=now,
        before={"reviewed by": before},
        after={"reviewed by": reviewer, "version": version},
    )
    return call


@transaction.atomic
def import_calls(
    calls: Mapping[str, Kept], *, seen: str, by: Person, now: datetime
) -> tuple[int, int]:
    """Store the call types of a workbook: how many are new, and how many changed.

    Those that it does not speak of stay as they are. `seen` is the digest of those it speaks of as
    they were shown. Raises `CallRefusedError` where they are others by now or one is not whole.
    """
    require_role(by, *EDITORS)
    list(CallType.objects.select_for_update().filter(slug__in=calls))
    if seen != digest_of(calls):
        raise CallRefusedError("Somebody changed one of these call types since you looked.")
    if unfit := unfit_of(calls):
        raise CallRefusedError(unfit[0])
    new, changed = 0, 0
    for change in changes_of(calls):
        if change.is_same:
            continue
        new, changed = new + change.is_new, changed + (not change.is_new)
        call = CallType.objects.filter(slug=change.slug).first() or CallType(
            slug=change.slug, version=0
        )
        _save(call, calls[change.slug], now)
        after = "new" if change.is_new else [asdict(each) for each in change.steps]
        record("import call type", change.slug, by=by, now=now, after=after)
    return new, changed


def unfit_of(calls: Mapping[str, Kept]) -> list[str]:
    """What keeps any of some call types from being drawn, each as a sentence with its slug."""
    world = call_world()
    return [f"{slug}: {fault}" for slug, kept in calls.items() for fault in faults_in(kept, world)]


def _as_seen(call: CallType, sheet: str, at: int | None, seen: str) -> CallType:
    """The call type, locked; raises `CallRefusedError` where the row is another by now."""
    call = CallType.objects.select_for_update().get(pk=call.pk)
    is_gone = at is not None and row_of(call, sheet, at) is None
    if is_gone or mark_of(call, sheet, at) != seen:
        raise CallRefusedError(MEANWHILE)
    return call


def _refuse_double(rows: list[Kept], kept: Kept, at: int | None) -> None:
    others = [row for number, row in enumerate(rows) if number != at]
    if kept in others:
        raise CallRefusedError("There is a row that says the same.")
    if at is None and len(rows) >= MOST_OF_ONE:
        raise CallRefusedError(f"There are {len(rows)} rows, and at most {MOST_OF_ONE} are kept.")


def _store(call: CallType, after: Kept, now: datetime) -> None:
    """Keep it; raises `CallRefusedError` for what would keep it from being drawn and did not."""
    world = call_world()
    before = faults_in(kept_of(call), world)
    if worse := [each for each in faults_in(after, world) if each not in before]:
        raise CallRefusedError(worse[0])
    _save(call, after, now)


def _save(call: CallType, after: Kept, now: datetime) -> None:
    for column, value in after.items():
        setattr(call, column, value)
    call.lose_review("it was", timezone.localdate(now))
    call.save()
