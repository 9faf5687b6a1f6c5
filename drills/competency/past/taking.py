"""A file of past records stored, whole or not at all."""

import hashlib
from datetime import datetime

from django.db import transaction

from drills.competency.actions import Circumstances, record_history
from drills.competency.alone import alone
from drills.competency.past.meaning import Record
from drills.competency.past.planning import Plan, plan_records
from drills.engine.past_records import TIMED_OUT
from drills.engine.recipes import LOCATE
from drills.engine.timing import CUT_OFF, UNTIMED, UNVERIFIED
from drills.people.audit import Line, record, record_all
from drills.people.models import AuditEntry, Person

IMPORT, OF_PERSON = "import past records", "import past records of"
NAME_LENGTH = 120
# How a prompt was chosen nobody wrote down.
CHOSEN_BY = "past"


class NotTakenError(ValueError):
    """Raised when nothing was stored: the plan has problems, or is no more what was looked at."""

    def __init__(self, plan: Plan) -> None:
        super().__init__("Nothing was stored.")
        self.plan = plan


@transaction.atomic
def take_records(
    data: bytes, *, seen: str | None, by: Person | None, now: datetime, name: str = ""
) -> Plan:
    """Store what a file would add, if that is still the plan with the fingerprint `seen`; None
    stands for whatever it is. `name` is what the file is called where it comes from.

    Raises `NotTakenError`, and `UnderWayError` while a refit is under way: it reads the evidence up
    to a row, so that rows must not come in below it meanwhile. Two files at once are taken one
    after the other.
    """
    with alone(now, stage="taking in past records"):
        plan = plan_records(data, by=by, now=now)
        if plan.problems or seen not in (None, plan.fingerprint):
            raise NotTakenError(plan)
        if plan.records:
            line = _write_down(plan, data, name, by, now)
            record_history([(each.findings, _circumstances(each, line)) for each in plan.records])
        return plan


def _circumstances(each: Record, line: AuditEntry) -> Circumstances:
    """What is known of an answer that nobody here saw: neither what was to choose from, so that no
    chance of a lucky guess is taken off, nor a limit, nor what was thought beforehand."""
    entry = each.entry
    return Circumstances(
        person=each.person,
        revision=each.revision,
        rig=None,
        at=each.at,
        kind=LOCATE,
        depth_asked="",
        choices_offered=0,
        chosen_by=CHOSEN_BY,
        predictions={},
        predicted_by="",
        is_first=not entry.is_assisted,
        seconds=entry.seconds,
        time_state=UNTIMED if entry.seconds is None else UNVERIFIED,
        time_verdict=CUT_OFF if entry.outcome == TIMED_OUT else UNTIMED,
        limit_seconds=None,
        allowance=1.0,
        modality=entry.modality,
        is_assisted=entry.is_assisted,
        is_imported=True,
        reference=entry.reference,
        observed_by=each.observer,
        taken_in=line,
        source=each.source,
    )


def _write_down(plan: Plan, data: bytes, name: str, by: Person | None, now: datetime) -> AuditEntry:
    """One line of the file, which is given back, and one of each person of whom something came
    in."""
    file = hashlib.sha256(data).hexdigest()
    records, people = len(plan.records), len(plan.of_people)
    after = {"records": records, "known": plan.known, "people": people, "file": file}
    if name:
        after["name"] = name[:NAME_LENGTH]
    line = record(IMPORT, f"{records} records of {people} people", by=by, now=now, after=after)
    lines = [
        Line(subject=number, after={"records": count}) for number, count in plan.of_people.items()
    ]
    record_all(OF_PERSON, lines, by=by, now=now)
    return line
