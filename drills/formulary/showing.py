"""What the page of one revision shows."""

from typing import Any

from django.utils import timezone

from drills.formulary.contradicting import contradicting
from drills.formulary.differences import differences, packings
from drills.formulary.finding import grouped
from drills.formulary.models import (
    FormularyRevision,
    FormularyState,
    Presentation,
    SignedDocument,
)
from drills.formulary.readiness import fault_of
from drills.formulary.reports import revision_in_force, rules_of, sorted_out
from drills.formulary.waiting import ended_by


def shown_of(revision: FormularyRevision) -> dict[str, Any]:
    """A revision with what it changes, what in it disagrees, and what stands against it."""
    rules = rules_of(revision)
    before = _before(revision)
    return {
        "revision": revision,
        "before": before,
        "is_older": bool(before and revision.is_older_than(before)),
        "differences": differences(rules_of(before) if before else [], rules),
        "packings": packings(presentations_of(before), presentations_of(revision))
        if before
        else [],
        "pairs": contradicting(rules),
        "faults": [(rule, told) for rule in rules if (told := fault_of(rule))],
        "medicines": grouped(rules),
        "count": len(rules),
        "drilled": len(sorted_out(rules)[0]),
        "ends": ended_by(revision),
        "signed": SignedDocument.objects.filter(revision=revision).defer("content").first(),
    }


def _before(revision: FormularyRevision) -> FormularyRevision | None:
    """What it is held against: the approved one, on a demonstration without one that which is
    drilled there; or of the approved and older ones the one before."""
    rows = FormularyRevision.objects.exclude(pk=revision.pk)
    if revision.state in (FormularyState.DRAFT, FormularyState.SUBMITTED):
        drilled = revision_in_force(timezone.now())
        of_demo = drilled if drilled != revision and not revision.is_demo else None
        return rows.filter(state=FormularyState.APPROVED).first() or of_demo
    return rows.filter(number__lt=revision.number, state=FormularyState.SUPERSEDED).last()


def presentations_of(of: FormularyRevision | None) -> list[Presentation]:
    """How medicines come in a revision; nothing where there is none."""
    return list(of.presentations.select_related("medicine", "need")) if of else []
