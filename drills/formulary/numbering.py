"""The number of the next revision of the formulary."""

from django.db.models import Max

from drills.formulary.models import FormularyRevision
from drills.people.models import AuditEntry

DISCARD = "discard formulary"


def next_number() -> int:
    """One above every revision there is or was: the audit names revisions by their number, so that
    of a discarded one is not given again."""
    last: int = FormularyRevision.objects.aggregate(last=Max("number"))["last"] or 0
    lines = AuditEntry.objects.filter(action=DISCARD)
    discarded: list[int] = list(lines.values_list("before__number", flat=True))
    return max([last, *discarded]) + 1
