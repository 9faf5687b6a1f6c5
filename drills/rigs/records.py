"""What this room keeps about one person: given out in words, and taken away."""

from typing import Any

from django.db.models import QuerySet

from drills.people.models import Person
from drills.rigs.models import Absence, DraftStep, TieDecision


def record_of(person: Person) -> dict[str, Any]:
    """Postings, rigs ridden, reports made and answered, ties decided."""
    reported = _absences().filter(reported_by=person).order_by("reported_at")
    answered = _absences().filter(answered_by=person).order_by("answered_at")
    picks = person.rig_picks.select_related("rig", "revision").order_by("picked_at")
    ties = TieDecision.objects.select_related("item", "need").filter(decided_by=person)
    return {
        "postings": [
            {"station": each.station.name, "from": each.starts_on, "until": each.ends_on}
            for each in person.postings.select_related("station").order_by("starts_on")
        ],
        "rigs picked": [
            {"rig": each.rig.unit, "layout": str(each.revision), "at": each.picked_at}
            for each in picks
        ],
        "reports of what is not in its place": [
            {"what": str(each), "at": each.reported_at, "answered": each.answered_at}
            for each in reported
        ],
        "reports answered": [{"what": str(each), "at": each.answered_at} for each in answered],
        "changes of drafts": [
            {"what": str(each), "at": each.changed_at} for each in _steps(person)
        ],
        "items tied to needs": [{"tie": str(each), "at": each.decided_at} for each in ties],
    }


def erase(person: Person) -> tuple[dict[str, int], dict[str, int]]:
    """What goes and what stays without them, in rows of each kind.

    Reports and ties are of the rig and not of the person: their keys to the person empty
    themselves when the row of the person goes.
    """
    went = {
        "postings": person.postings.all().delete()[0],
        "rigs picked": person.rig_picks.all().delete()[0],
    }
    stays = {
        "reports made": Absence.objects.filter(reported_by=person).count(),
        "reports answered": Absence.objects.filter(answered_by=person).count(),
        "changes of drafts": _steps(person).count(),
        "ties decided": TieDecision.objects.filter(decided_by=person).count(),
    }
    return went, stays


def _steps(person: Person) -> QuerySet[DraftStep]:
    rows = DraftStep.objects.select_related("revision__layout").filter(changed_by=person)
    return rows.order_by("changed_at")


def _absences() -> Any:
    return Absence.objects.select_related("rig", "item", "place")
