"""What the page of one revision shows."""

from typing import Any

from drills.formulary.besides import besides, presentations_of
from drills.formulary.contradicting import contradicting
from drills.formulary.differences import differences, packings
from drills.formulary.finding import grouped
from drills.formulary.flagged import beside, flagged
from drills.formulary.models import (
    FormularyRevision,
    SignedDocument,
)
from drills.formulary.readiness import fault_of
from drills.formulary.reports import before_of, rules_of, sorted_out
from drills.formulary.waiting import ended_by


def shown_of(revision: FormularyRevision) -> dict[str, Any]:
    """A revision with what it changes, what in it disagrees, and what stands against it."""
    rules = rules_of(revision)
    before = before_of(revision)
    old = rules_of(before) if before else []
    ends = ended_by(revision)
    return {
        "revision": revision,
        "before": before,
        "is_older": bool(before and revision.is_older_than(before)),
        "differences": differences(old, rules),
        "packings": packings(presentations_of(before), presentations_of(revision))
        if before
        else [],
        "besides": besides(revision, before),
        "flagged": beside(flagged(old, rules), ends),
        "pairs": contradicting(rules),
        "faults": [(rule, told) for rule in rules if (told := fault_of(rule))],
        "medicines": grouped(rules),
        "count": len(rules),
        "drilled": len(sorted_out(rules)[0]),
        "ends": ends,
        "signed": SignedDocument.objects.filter(revision=revision).defer("content").first(),
    }
