"""A draft that is not wanted any more."""

from datetime import datetime

from django.db import transaction

from drills.formulary.actions.locking import locked, refuse_state
from drills.formulary.models import (
    DoseRule,
    FormularyRevision,
    FormularyState,
    Medicine,
    Presentation,
    SignedDocument,
)
from drills.formulary.numbering import DISCARD
from drills.formulary.readiness import IS_DEMONSTRATION, ApprovalRefusedError
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role


@transaction.atomic
def discard(revision: FormularyRevision, *, by: Person, now: datetime) -> None:
    """Remove a draft with its rules, its presentations and the medicines it alone spoke of.

    Raises `ApprovalRefusedError` for whatever is no draft, unless it was overtaken, and for what a
    signed paper is kept of: the record of an approval is never removed.
    """
    require_role(by, Role.EDUCATOR)
    revision = locked(revision)
    if revision.is_demo:
        raise ApprovalRefusedError(IS_DEMONSTRATION)
    if not is_overtaken(revision):
        refuse_state(revision, FormularyState.DRAFT, "")
    if SignedDocument.objects.filter(revision=revision).exists():
        raise ApprovalRefusedError(f"A signed document is kept with {revision}; it stays.")
    told = {
        "number": revision.number,
        "name": revision.name,
        "rules": revision.rules.count(),
        "sent back because": revision.sent_back_because,
    }
    medicines = alone_in(revision)
    # As a whole: row by row each would read its revision anew.
    DoseRule.objects.filter(revision=revision).delete()
    Presentation.objects.filter(revision=revision).delete()
    told["medicines"] = [each.key for each in medicines]
    Medicine.objects.filter(pk__in=[each.pk for each in medicines]).delete()
    record(DISCARD, f"revision {revision.number}", by=by, now=now, before=told)
    revision.delete()


def is_overtaken(revision: FormularyRevision) -> bool:
    """Whether it waits for an approval that it can get no more, since a later one has it."""
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    is_older = bool(approved and revision.is_older_than(approved))
    return revision.state == FormularyState.SUBMITTED and is_older


def alone_in(revision: FormularyRevision) -> list[Medicine]:
    """The medicines that no other revision speaks of."""
    spoken = [
        {*of.objects.filter(revision=revision).values_list("medicine", flat=True)}
        for of in (DoseRule, Presentation)
    ]
    elsewhere = [
        {*of.objects.exclude(revision=revision).values_list("medicine", flat=True)}
        for of in (DoseRule, Presentation)
    ]
    alone = set.union(*spoken) - set.union(*elsewhere)
    return list(Medicine.objects.filter(pk__in=alone).order_by("key"))
