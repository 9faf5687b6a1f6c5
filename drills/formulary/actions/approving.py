"""The approval of a formulary: by the director here, or on paper and recorded by an educator."""

import re
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
    that are said to be meant: each of them must be. Nobody approves what they submitted. Raises
    `ApprovalRefusedError`.
    """
    require_role(by, Role.DIRECTOR)
    revision = locked(revision)
    document = document.strip()
    _refuse_own(revision, by)
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

    Both are named from then on: who signed, and the educator who recorded it. Who signed is neither
    who records it nor who submitted it, and did so once it was submitted. Raises
    `ApprovalRefusedError`.
    """
    require_role(by, Role.EDUCATOR)
    revision = locked(revision)
    name, document = signature.name.strip(), signature.document.strip()
    changes = _refuse(revision, document, contradictions, meant)
    _refuse_name(name, revision, by)
    _refuse_day(signature.on, revision, today=timezone.localdate(now))
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


def _refuse_own(revision: FormularyRevision, by: Person) -> None:
    """Raise `ApprovalRefusedError` where who would approve a revision submitted it."""
    if revision.state == FormularyState.SUBMITTED and revision.submitted_by_id == by.pk:
        raise ApprovalRefusedError(
            f"{by.name} submitted it, and nobody approves their own: it takes another medical "
            "director, or send it back and have another educator submit it."
        )


def _refuse_name(name: str, revision: FormularyRevision, by: Person) -> None:
    if not name:
        raise ApprovalRefusedError("Name the medical director who signed it.")
    for person, did in ((by, "records"), (revision.submitted_by, "submitted")):
        if person is not None and _is_named(person, name):
            raise ApprovalRefusedError(
                f"{name} came in as who signed it, and {person.name} is who {did} it: it takes the "
                "name of the medical director, who is somebody else."
            )


def _is_named(person: Person, name: str) -> bool:
    """Whether a name is that of a person, with titles or in another order, or their number."""
    said, own = _words(name), _words(person.name)
    is_whole = len(own) > 1 and set(own) <= set(said)
    return is_whole or said in (own, _words(person.employee_number))


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _refuse_day(on: date, revision: FormularyRevision, *, today: date) -> None:
    if on > today:
        raise ApprovalRefusedError(f"It is signed on {on}, which is still to come.")
    if revision.submitted_at and on < (since := timezone.localdate(revision.submitted_at)):
        raise ApprovalRefusedError(
            f"It is signed on {on}, before it was submitted; {since} to {today} is accepted."
        )
