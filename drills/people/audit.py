"""The record of who did what."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.people.models import AuditEntry, Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What one line of many tells of one subject."""

    subject: str
    before: Any = None
    after: Any = None


def record(
    action: str,
    subject: str,
    *,
    by: Person | None,
    now: datetime,
    before: Any = None,
    after: Any = None,
) -> AuditEntry:
    """Write one line of the audit; it shares the transaction of the change it tells of."""
    return AuditEntry.objects.create(
        at=now, actor=by, action=action, subject=subject, before=before, after=after
    )


def record_all(action: str, lines: Iterable[Line], *, by: Person | None, now: datetime) -> None:
    """Write a line for each subject of one action on many."""
    AuditEntry.objects.bulk_create(
        AuditEntry(
            at=now,
            actor=by,
            action=action,
            subject=each.subject,
            before=each.before,
            after=each.after,
        )
        for each in lines
    )
