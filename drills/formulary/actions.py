"""The approval of a formulary, with its check and its line in the audit."""

from collections.abc import Iterator
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from drills.formulary.models import DoseRule, FormularyRevision, FormularyState, RuleStatus
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role


class ApprovalRefusedError(ValueError):
    """A revision that cannot be approved as it stands; the text says why."""


@transaction.atomic
def approve(
    revision: FormularyRevision, *, by: Person, document: str, now: datetime
) -> FormularyRevision:
    """Put a draft in force on a medical director's word; the one before is superseded."""
    require_role(by, Role.DIRECTOR)
    rows = FormularyRevision.objects.select_for_update().order_by("pk")
    locked = {each.pk: each for each in rows}  # so that two approvals at once are one after another
    revision = locked[revision.pk]
    document = document.strip()
    before = next((r for r in locked.values() if r.state == FormularyState.APPROVED), None)
    _refuse(revision, document, before)
    if before:
        before.state = FormularyState.SUPERSEDED
        before.save(update_fields=["state"])
    revision.state = FormularyState.APPROVED
    revision.approved_by, revision.approved_by_name = by, by.name
    revision.approved_on, revision.document = timezone.localdate(now), document
    revision.save(
        update_fields=["state", "approved_by", "approved_by_name", "approved_on", "document"]
    )
    record(
        "approve formulary",
        f"revision {revision.number}",
        by=by,
        now=now,
        before={"in force": before.number if before else None},
        after={"in force": revision.number, "document": document},
    )
    return revision


def _refuse(revision: FormularyRevision, document: str, before: FormularyRevision | None) -> None:
    """Raise `ApprovalRefusedError` for the first thing that stands against an approval."""
    if revision.is_demo:
        raise ApprovalRefusedError(
            "This is the demonstration formulary. It is not for patient care and is never approved."
        )
    if revision.state != FormularyState.DRAFT:
        raise ApprovalRefusedError(f"{revision} is {revision.get_state_display()} already.")
    if before and revision.is_older_than(before):
        raise ApprovalRefusedError(
            f"{revision} is older than {before}, which is approved: putting it in force would take "
            "that back. Bring it in again under the next number."
        )
    if not document:
        raise ApprovalRefusedError(
            "Name the document you approve it by, such as the protocols and their edition."
        )
    rules = list(revision.rules.all())
    if not rules:
        raise ApprovalRefusedError(f"{revision} has no rules, so there is nothing to approve.")
    faults = list(_unsourced(rules))
    if faults:
        raise ApprovalRefusedError(f"Every rule needs its source. {'; '.join(faults)}.")


def _unsourced(rules: list[DoseRule]) -> Iterator[str]:
    """Each rule that no document stands behind, with what it lacks."""
    for rule in rules:
        if rule.status == RuleStatus.DEMONSTRATION:
            yield f"{rule.code} is a demonstration value"
        elif rule.status == RuleStatus.FROM_MEMORY:
            yield f"{rule.code} is from memory: no document was read"
        elif rule.lacking:
            yield f"{rule.code} has no {' and no '.join(rule.lacking)}"
