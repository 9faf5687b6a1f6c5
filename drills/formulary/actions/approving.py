"""The approval of a formulary: by the director here, or on paper and recorded by an educator."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from drills.formulary.actions.locking import locked, refuse_state
from drills.formulary.contradicting import contradicting
from drills.formulary.models import FormularyRevision, FormularyState, SignedDocument
from drills.formulary.papers import Signature
from drills.formulary.readiness import IS_DEMONSTRATION, ApprovalRefusedError, refuse_unfit
from drills.formulary.reports import rules_of
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role


@transaction.atomic
def approve(
    revision: FormularyRevision,
    *,
    by: Person,
    document: str,
    contradictions: int = 0,
    now: datetime,
) -> FormularyRevision:
    """Put a submitted revision in force on a medical director's word; the one before is superseded.

    `contradictions` is how many were shown to who approves. Raises `ApprovalRefusedError`.
    """
    require_role(by, Role.DIRECTOR)
    revision = locked(revision)
    document = document.strip()
    _refuse(revision, document, contradictions)
    says = {
        "approved_by": by,
        "approved_by_name": by.name,
        "approved_on": timezone.localdate(now),
        "document": document,
        "contradictions_shown": contradictions,
    }
    before = _put_in_force(revision, says)
    record(
        "approve formulary",
        f"revision {revision.number}",
        by=by,
        now=now,
        before={"in force": before},
        after={"in force": revision.number, "document": document, "contradictions": contradictions},
    )
    return revision


@transaction.atomic
def record_signed(
    revision: FormularyRevision,
    *,
    by: Person,
    signature: Signature,
    contradictions: int = 0,
    now: datetime,
) -> FormularyRevision:
    """Put a submitted revision in force that a medical director signed on paper, which is kept.

    Both are named from then on: who signed, and the educator who recorded it. Raises
    `ApprovalRefusedError`.
    """
    require_role(by, Role.EDUCATOR)
    revision = locked(revision)
    name, document = signature.name.strip(), signature.document.strip()
    _refuse(revision, document, contradictions)
    _refuse_signature(name, signature.on, today=timezone.localdate(now))
    says = {
        "approved_by_name": name,
        "approved_on": signature.on,
        "recorded_by": by,
        "recorded_by_name": by.name,
        "document": document,
        "contradictions_shown": contradictions,
    }
    before = _put_in_force(revision, says)
    paper = signature.paper
    SignedDocument.objects.create(
        revision=revision,
        name=paper.name,
        content_type=paper.content_type,
        content=paper.content,
        sha256=paper.sha256,
    )
    record(
        "record signed formulary",
        f"revision {revision.number}",
        by=by,
        now=now,
        before={"in force": before},
        after={
            "in force": revision.number,
            "document": document,
            "contradictions": contradictions,
            "signed on": signature.on.isoformat(),
            "sha256": paper.sha256,
        },
    )
    return revision


def _put_in_force(revision: FormularyRevision, says: Mapping[str, Any]) -> int | None:
    """Approve a revision and supersede the one before; the number of that."""
    before = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    if before:
        before.state = FormularyState.SUPERSEDED
        before.save(update_fields=["state"])
    for name, value in says.items():
        setattr(revision, name, value)
    revision.state = FormularyState.APPROVED
    revision.save(update_fields=["state", *says])
    return before.number if before else None


def _refuse(revision: FormularyRevision, document: str, contradictions: int) -> None:
    """Raise `ApprovalRefusedError` for the first thing that stands against an approval."""
    if revision.is_demo:
        raise ApprovalRefusedError(IS_DEMONSTRATION)
    refuse_state(revision, FormularyState.SUBMITTED, "an educator submits it first")
    if not document:
        raise ApprovalRefusedError(
            "Name the document you approve it by, such as the protocols and their edition."
        )
    rules = rules_of(revision)
    refuse_unfit(revision, rules)
    count = len(contradicting(rules))
    if count != contradictions:
        raise ApprovalRefusedError(
            f"{count} contradiction{'s are' if count != 1 else ' is'} in it, and {contradictions} "
            "were looked at. Look at each and say so."
        )


def _refuse_signature(name: str, on: date, *, today: date) -> None:
    if not name:
        raise ApprovalRefusedError("Name the medical director who signed it.")
    if on > today:
        raise ApprovalRefusedError(f"It is signed on {on}, which is still to come.")
