"""What this room keeps about one person: the approvals of a medical director."""

from typing import Any

from drills.formulary.models import FormularyRevision
from drills.people.models import Person


def approvals_of(person: Person) -> list[dict[str, Any]]:
    """Formulary revisions that the person approved."""
    return [
        {"formulary": str(each), "on": each.approved_on, "document": each.document}
        for each in FormularyRevision.objects.filter(approved_by=person)
    ]


def approvals_kept(person: Person) -> list[str]:
    """What keeps the name of an erased person: who approved what dose people are drilled on.

    The key to the person empties itself; the name on the approval stays, as on paper.
    """
    return [f"{each}, approved" for each in FormularyRevision.objects.filter(approved_by=person)]
