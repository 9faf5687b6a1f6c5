"""The record of who did what."""

from datetime import datetime
from typing import Any

from drills.people.models import AuditEntry, Person


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
