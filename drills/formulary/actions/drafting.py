"""Drafts of the formulary: made from a revision, submitted to the director, and sent back."""

from datetime import datetime

from django.db import transaction

from drills.formulary.actions.locking import locked, refuse_state
from drills.formulary.models import DoseRule, FormularyRevision, FormularyState, Presentation
from drills.formulary.models.texts import TEXT_LENGTH
from drills.formulary.numbering import next_number
from drills.formulary.readiness import IS_DEMONSTRATION, ApprovalRefusedError, refuse_unfit
from drills.formulary.reports import rules_of
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role


@transaction.atomic
def draft_from(source: FormularyRevision, *, by: Person, now: datetime) -> FormularyRevision:
    """A new draft with all that a revision says, under the next number; of the demonstration, each
    rule keeps its status, so that what no document stands behind cannot be approved."""
    require_role(by, Role.EDUCATOR)
    locked(source)
    about = ("name", "written_from", "written_version", "written_on", "notes")
    said = {field: getattr(source, field) for field in about}
    draft = FormularyRevision.objects.create(number=next_number(), **said)
    presentations = list(source.presentations.all())
    rules = list(source.rules.all())
    for row in (*presentations, *rules):
        row.pk, row.revision = None, draft
    Presentation.objects.bulk_create(presentations)
    DoseRule.objects.bulk_create(rules)
    record(
        "draft formulary",
        f"revision {draft.number}",
        by=by,
        now=now,
        after={"from": source.number, "rules": len(rules)},
    )
    return draft


@transaction.atomic
def submit(revision: FormularyRevision, *, by: Person, now: datetime) -> FormularyRevision:
    """Give a draft to the medical director; it is changed no more unless it is sent back.

    Raises `ApprovalRefusedError` for what could not be approved anyway.
    """
    require_role(by, Role.EDUCATOR)
    revision = locked(revision)
    if revision.is_demo:
        raise ApprovalRefusedError(IS_DEMONSTRATION)
    refuse_state(revision, FormularyState.DRAFT, "")
    refuse_unfit(revision, rules_of(revision))
    revision.state = FormularyState.SUBMITTED
    revision.submitted_by, revision.submitted_at = by, now
    revision.sent_back_by, revision.sent_back_because = None, ""
    revision.save(
        update_fields=[
            *("state", "submitted_by", "submitted_at", "sent_back_by", "sent_back_because")
        ]
    )
    record("submit formulary", f"revision {revision.number}", by=by, now=now)
    return revision


@transaction.atomic
def send_back(
    revision: FormularyRevision, *, by: Person, because: str, now: datetime
) -> FormularyRevision:
    """Make a submitted revision a draft again, with the medical director's reason.

    Raises `ApprovalRefusedError` without one.
    """
    require_role(by, Role.DIRECTOR)
    revision = locked(revision)
    refuse_state(revision, FormularyState.SUBMITTED, "it is not with the director")
    because = because.strip()
    if not because:
        raise ApprovalRefusedError("Say what has to change, so that the educator can change it.")
    if len(because) > TEXT_LENGTH:
        raise ApprovalRefusedError(
            f"The reason has {len(because)} characters; it takes {TEXT_LENGTH} at most."
        )
    revision.state = FormularyState.DRAFT
    revision.sent_back_by, revision.sent_back_because = by, because
    revision.save(update_fields=["state", "sent_back_by", "sent_back_because"])
    record(
        "send formulary back",
        f"revision {revision.number}",
        by=by,
        now=now,
        after={"because": because},
    )
    return revision
