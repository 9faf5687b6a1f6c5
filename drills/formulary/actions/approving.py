"""The approval of a formulary: by the director here, or on paper and recorded by an educator."""

from collections.abc import Collection, Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from drills.formulary.actions.locking import locked, refuse_state
from drills.formulary.contradicting import contradicting
from drills.formulary.flagged import flagged_of
from drills.formulary.models import FormularyRevision, FormularyState, SignedDocument
from drills.formulary.papers import Paper, Signature
from drills.formulary.readiness import (
    IS_DEMONSTRATION,
    ApprovalRefusedError,
    refuse_document,
    refuse_unfit,
)
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
    meant: Collection[str] = (),
    now: datetime,
) -> FormularyRevision:
    """Put a submitted revision in force on a medical director's word; the one before is superseded.

    `contradictions` is how many were shown to who approves, `meant` the keys of the flagged changes
    that are said to be meant: each of them must be. Raises `ApprovalRefusedError`.
    """
    require_role(by, Role.DIRECTOR)
    revision = locked(revision)
    document = document.strip()
    changes = _refuse(revision, document, contradictions, meant)
    says = {
        "approved_by": by,
        "approved_by_name": by.name,
        "approved_on": timezone.localdate(now),
        "document": document,
        "contradictions_shown": contradictions,
        "changes_meant": changes,
    }
    before = _put_in_force(revision, says)
    record(
        "approve formulary",
        f"revision {revision.number}",
        by=by,
        now=now,
        before={"in force": before},
        after={
            "in force": revision.number,
            "document": document,
            "contradictions": contradictions,
            "changes meant": changes,
        },
    )
    return revision


@transaction.atomic
def record_signed(
    revision: FormularyRevision,
    *,
    by: Person,
    signature: Signature,
    contradictions: int = 0,
    meant: Collection[str] = (),
    now: datetime,
) -> FormularyRevision:
    """Put a submitted revision in force that a medical director signed on paper, which is kept.

    Both are named from then on: who signed, and the educator who recorded it. Raises
    `ApprovalRefusedError`.
    """
    require_role(by, Role.EDUCATOR)
    revision = locked(revision)
    name, document = signature.name.strip(), signature.document.strip()
    changes = _refuse(revision, document, contradictions, meant)
    _refuse_signature(name, signature.on, today=timezone.localdate(now))
    says = {
        "approved_by_name": name,
        "approved_on": signature.on,
        "recorded_by": by,
        "recorded_by_name": by.name,
        "document": document,
        "contradictions_shown": contradictions,
        "changes_meant": changes,
    }
    before = _put_in_force(revision, says)
    _keep(signature.paper, revision)
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
            "changes meant": changes,
            "signed on": signature.on.isoformat(),
            "sha256": signature.paper.sha256,
        },
    )
    return revision


def _keep(paper: Paper, revision: FormularyRevision) -> None:
    SignedDocument.objects.create(
        revision=revision,
        name=paper.name,
        content_type=paper.content_type,
        content=paper.content,
        sha256=paper.sha256,
    )


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


def _refuse(
    revision: FormularyRevision, document: str, contradictions: int, meant: Collection[str]
) -> list[str]:
    """Raise `ApprovalRefusedError` for the first thing that stands against an approval; else the
    flagged changes, each of which was said to be meant."""
    if revision.is_demo:
        raise ApprovalRefusedError(IS_DEMONSTRATION)
    refuse_state(revision, FormularyState.SUBMITTED, "an educator submits it first")
    refuse_document(document)
    rules = rules_of(revision)
    refuse_unfit(revision, rules)
    count = len(contradicting(rules))
    if count != contradictions:
        raise ApprovalRefusedError(
            f"{count} contradiction{'s are' if count != 1 else ' is'} in it, and {contradictions} "
            "were looked at. Look at each and say so."
        )
    changes = [flag.key for each in flagged_of(revision) for flag in each.flags]
    if left := [each for each in changes if each not in meant]:
        raise ApprovalRefusedError(
            f"Not said to be meant, of {len(changes)} flagged changes: {'; '.join(left)}. "
            "Tick each that is meant, or send it back."
        )
    return changes


def _refuse_signature(name: str, on: date, *, today: date) -> None:
    if not name:
        raise ApprovalRefusedError("Name the medical director who signed it.")
    if on > today:
        raise ApprovalRefusedError(f"It is signed on {on}, which is still to come.")
