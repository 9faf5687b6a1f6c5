"""What a file of past records would add, told before anything is."""

import hashlib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from django.utils import timezone

from drills.competency.models import Evidence
from drills.competency.past.here import here_now
from drills.competency.past.meaning import Meaning, Record
from drills.engine.past_records import AT, SECONDS, TIMED_OUT, Entry, read_records
from drills.engine.workbook.problems import Problem, Remark, Report
from drills.people.models import Person

AT_ONCE = 500


@dataclass(frozen=True)
class Plan:
    """What would be stored, in the order of the file, and how many records are here already;
    nothing may be stored while there is a problem."""

    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]
    records: tuple[Record, ...]
    known: int

    @property
    def fingerprint(self) -> str:
        """The same for two plans exactly when they would store the same."""
        told = sorted(each.source for each in self.records)
        return hashlib.sha256(repr(told).encode()).hexdigest()

    @cached_property
    def of_people(self) -> dict[str, int]:
        """How many records there are of each person, by number."""
        return dict(Counter(each.person.employee_number for each in self.records))

    @cached_property
    def by_revision(self) -> dict[str, int]:
        """How many there are on each revision, the most first."""
        return dict(Counter(str(each.revision) for each in self.records).most_common())

    @cached_property
    def by_modality(self) -> dict[str, int]:
        """How many came by each modality, the most first."""
        return dict(Counter(each.entry.modality for each in self.records).most_common())

    @property
    def timed(self) -> int:
        """How many have a time."""
        return sum(each.entry.seconds is not None for each in self.records)

    @cached_property
    def days(self) -> tuple[date, date] | None:
        """The first and the last day, by the agency's clock; None of nothing."""
        days = [timezone.localdate(each.at) for each in self.records]
        return (min(days), max(days)) if days else None


def plan_records(data: bytes, *, by: Person | None, now: datetime) -> Plan:
    """Check a file against who and what is here, every problem at once."""
    report, zone = Report(), timezone.get_default_timezone()
    entries = read_records(data, report, zone=zone, now=now)
    records = _understood(entries, Meaning(here_now(), report, by, zone)) if entries else []
    _refuse_doubles(records, report)
    _remark_untimed(records, report)
    known = _known(each.source for each in records)
    new = tuple(each for each in records if each.source not in known)
    return Plan(report.problems, report.remarks, new, len(records) - len(new))


def _understood(entries: Iterable[Entry], meaning: Meaning) -> list[Record]:
    return [each for each in map(meaning.of, entries) if each is not None]


def _remark_untimed(records: Iterable[Record], report: Report) -> None:
    for each in records:
        if each.entry.outcome == TIMED_OUT and each.entry.seconds is None:
            text = "no time is told, so it counts as wrong and for no time"
            report.remark("", each.entry.row, SECONDS, text)


def _refuse_doubles(records: Iterable[Record], report: Report) -> None:
    first: dict[str, int] = {}
    for each in records:
        earlier = first.setdefault(each.source, each.entry.row)
        if earlier != each.entry.row:
            got = f"the same record as in row {earlier}"
            accepted = "each record once; a time or a source_reference of its own tells two apart"
            report.refuse("", each.entry.row, AT, got, accepted)


def _known(sources: Iterable[str]) -> set[str]:
    """Those of some sources that evidence has already, voided evidence as well."""
    wanted = list(sources)
    found: set[str] = set()
    for start in range(0, len(wanted), AT_ONCE):
        some = Evidence.objects.filter(source__in=wanted[start : start + AT_ONCE])
        found.update(some.order_by().values_list("source", flat=True))
    return found
