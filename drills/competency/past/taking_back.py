"""Files of past records that were taken in, and one of them taken back."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Count

from drills.competency.actions import void_taken_in
from drills.competency.models import Evidence, EvidenceQuerySet
from drills.competency.past.taking import IMPORT
from drills.people.audit import Line, record, record_all
from drills.people.models import AuditEntry, Person

TAKE_BACK, OF_PERSON = "take back past records", "take back past records of"
# Of a file the first so many figures of its fingerprint name it.
NAMED_BY = 8


@dataclass(frozen=True, slots=True)
class File:
    """A file that was taken in, by its line of the audit: how many of its records, of how many
    people, stand today; none once it was taken back, and `back` is the line of that. It is not
    remembered which those are where it came in before that was kept, nor where all were erased."""

    line: AuditEntry
    standing: int
    people: int
    is_remembered: bool = True
    back: AuditEntry | None = None

    @property
    def _told(self) -> dict[str, Any]:
        return self.line.after or {}

    @property
    def records(self) -> int:
        """How many came in."""
        return int(self._told["records"])

    @property
    def name(self) -> str:
        """What it was called; nothing where that was not kept."""
        return str(self._told.get("name", ""))

    @property
    def because(self) -> str:
        """Why it was taken back; nothing where it was not."""
        return str((self.back.after or {}).get("because", "")) if self.back else ""

    @property
    def reference(self) -> str:
        """What it is known by: a number of its own, and the beginning of its fingerprint."""
        return f"{self.line.pk}-{self._told['file'][:NAMED_BY]}"


class NotTakenBackError(ValueError):
    """Raised when nothing was taken back; the text says why."""


def files_taken_in() -> list[File]:
    """Every file that was taken in, the newest first, in four queries."""
    read = (
        _standing()
        .values("taken_in")
        .annotate(records=Count("source", distinct=True), people=Count("person", distinct=True))
    )
    stands = {row["taken_in"]: (row["records"], row["people"]) for row in read}
    lines = AuditEntry.objects.filter(action=IMPORT).select_related("actor").order_by("-pk")
    every = Evidence.objects.filter(taken_in__isnull=False).order_by()
    remembered = set(every.values_list("taken_in", flat=True).distinct())
    backs = AuditEntry.objects.filter(action=TAKE_BACK).select_related("actor").order_by("pk")
    # It is named by a reference that begins with the number of its line.
    taken_back = {(each.after or {})["import"].partition("-")[0]: each for each in backs}
    return [
        File(
            line,
            *stands.get(line.pk, (0, 0)),
            is_remembered=line.pk in remembered,
            back=taken_back.get(str(line.pk)),
        )
        for line in lines
    ]


@transaction.atomic
def take_back(number: int, *, because: str, by: Person, now: datetime) -> File:
    """Void what came in with a file and still stands; who did it, and why, is kept in the audit.

    The next refit leaves it out. Raises `AuditEntry.DoesNotExist`, and `NotTakenBackError` where
    nothing of it stands, or some of it is of whoever asks.
    """
    line = AuditEntry.objects.select_for_update().get(action=IMPORT, pk=number)
    rows = _standing().filter(taken_in=line)
    told = rows.values_list("person__employee_number", "source").distinct()
    counts = Counter(number for number, _ in told)
    if not counts and not Evidence.objects.filter(taken_in=line).exists():
        raise NotTakenBackError(
            "Which records came with it is not known, so nothing was taken back: it came in before "
            "that was kept, or everybody in it was erased."
        )
    if not counts:
        raise NotTakenBackError("Nothing of that file stands any more, so nothing was taken back.")
    if by.employee_number in counts:
        raise NotTakenBackError("Some of it is of yourself; somebody else takes it back.")
    file = File(line, counts.total(), len(counts))
    void_taken_in(line, by=by.employee_number, now=now)
    after = {"import": file.reference, "records": file.standing, "because": because}
    subject = f"{file.standing} records of {file.people} people"
    record(TAKE_BACK, subject, by=by, now=now, after=after)
    lines = [Line(subject=who, after={"records": count}) for who, count in counts.items()]
    record_all(OF_PERSON, lines, by=by, now=now)
    return file


def _standing() -> EvidenceQuerySet:
    return Evidence.objects.standing().filter(taken_in__isnull=False).order_by()
