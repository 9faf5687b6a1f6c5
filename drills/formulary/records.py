"""What this room keeps about one person: what they did with revisions of the formulary."""

from typing import Any

from drills.formulary.models import FormularyRevision
from drills.people.models import Person


def record_of(person: Person) -> dict[str, list[dict[str, Any]]]:
    """The revisions that the person approved, recorded, submitted or sent back."""
    rows = FormularyRevision.objects.all()
    return {
        "formulary approved": [_approval(each) for each in rows.filter(approved_by=person)],
        "formulary recorded": [_approval(each) for each in rows.filter(recorded_by=person)],
        "formulary submitted": [
            {"formulary": str(each), "at": each.submitted_at}
            for each in rows.filter(submitted_by=person)
        ],
        "formulary sent back": [
            {"formulary": str(each), "because": each.sent_back_because}
            for each in rows.filter(sent_back_by=person)
        ],
    }


def _approval(of: FormularyRevision) -> dict[str, Any]:
    return {"formulary": str(of), "on": of.approved_on, "document": of.document}


def approvals_kept(person: Person) -> list[str]:
    """What keeps the name of an erased person: who approved what dose people are drilled on, and
    who recorded that a director had signed it.

    The keys to the person empty themselves; the name on the approval stays, as on paper.
    """
    rows = FormularyRevision.objects.all()
    approved = [f"{each}, approved" for each in rows.filter(approved_by=person)]
    return approved + [f"{each}, recorded" for each in rows.filter(recorded_by=person)]
