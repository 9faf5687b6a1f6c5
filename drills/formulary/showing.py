"""What the page of one revision shows."""

from typing import Any

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
from drills.formulary.reports import demonstration, rules_of, sorted_out
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
    """What it is held against: the approved one, or of the approved and older ones the one before;
    without one the demonstration, where that is what was drilled till then."""
    rows = FormularyRevision.objects.exclude(pk=revision.pk)
    if revision.is_demo:
        return None
    if revision.state in (FormularyState.DRAFT, FormularyState.SUBMITTED):
        before = rows.filter(state=FormularyState.APPROVED).first()
    else:
        older = rows.filter(number__lt=revision.number, state=FormularyState.SUPERSEDED)
        before = older.order_by("number").last()
    return before or demonstration()


def presentations_of(of: FormularyRevision | None) -> list[Presentation]:
    """How medicines come in a revision; nothing where there is none."""
    return list(of.presentations.select_related("medicine", "need")) if of else []
