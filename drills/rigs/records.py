"""What this room keeps about one person: given out in words, and taken away."""

from typing import Any

from django.db.models import QuerySet

from drills.people.models import Person
from drills.rigs.actions import person_tally
from drills.rigs.models import (
    Absence,
    DraftStep,
    PlaceLabel,
    RequiredRow,
    RigDifference,
    ScanTally,
    TieDecision,
)


def record_of(person: Person) -> dict[str, Any]:
    """Postings, rigs ridden, reports made and answered, differences told, ties, labels."""
    reported = person.reportings.select_related("absence__rig", "absence__item", "absence__place")
    answered = _absences().filter(answered_by=person).order_by("answered_at")
    picks = person.rig_picks.select_related("rig", "revision").order_by("picked_at")
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
            {
                "what": str(each.absence),
                "at": each.reported_at,
                "answered": each.absence.answered_at,
                "answer": each.absence.get_answer_display(),
                "word": each.absence.word,
                "seen": each.seen_at,
            }
            for each in reported
        ],
        "reports answered": [
            {
                "what": str(each),
                "at": each.answered_at,
                "answer": each.get_answer_display(),
                "word": each.word,
            }
            for each in answered
        ],
        "changes of drafts": [
            {"what": str(each), "at": each.changed_at} for each in _steps(person)
        ],
        "photos of places": [
            {"place": each.place.key, "words": each.alt, "at": each.uploaded_at}
            for each in person.place_photos.defer("image").select_related("place")
        ],
        "rows of required lists tied": _rows_tied(person),
        **_of_ties(person),
        **_of_labels(person),
    } | _of_differences(person)


def _of_ties(person: Person) -> dict[str, Any]:
    ties = TieDecision.objects.select_related("item", "need").filter(decided_by=person)
    packs = person.pack_factors.select_related("item")
    return {
        "items tied to needs": [{"tie": str(each), "at": each.decided_at} for each in ties],
        "packs counted": [{"pack": str(each), "at": each.decided_at} for each in packs],
    }


def _of_differences(person: Person) -> dict[str, Any]:
    """What the person said that rigs carry elsewhere, and what they ended of it."""
    return {
        "differences of rigs told": [
            {"what": str(each), "note": each.note, "at": each.since, "ended": each.ended_at}
            for each in _differences().filter(by=person)
        ],
        "differences of rigs ended": [
            {"what": str(each), "at": each.ended_at}
            for each in _differences().filter(ended_by=person)
        ],
    }


def erase(person: Person) -> tuple[dict[str, int], dict[str, int]]:
    """What goes and what stays without them, in rows of each kind.

    Reports, differences, ties and labels are of the rig and not of the person: their keys to the
    person empty themselves when the row of the person goes.
    """
    went = {
        "postings": person.postings.all().delete()[0],
        "rigs picked": person.rig_picks.all().delete()[0],
        "reports they hear of": person.reportings.all().delete()[0],
        "counts of scans": ScanTally.objects.filter(who=person_tally(person)).delete()[0],
    }
    stays = {
        "reports made": Absence.objects.filter(reported_by=person).count(),
        "reports answered": Absence.objects.filter(answered_by=person).count(),
        "differences of rigs told": _differences().filter(by=person).count(),
        "differences of rigs ended": _differences().filter(ended_by=person).count(),
        "changes of drafts": _steps(person).count(),
        "photos of places": person.place_photos.count(),
        "ties decided": TieDecision.objects.filter(decided_by=person).count(),
        "packs counted": person.pack_factors.count(),
        "rows of required lists tied": RequiredRow.objects.filter(decided_by=person).count(),
        "labels made": PlaceLabel.objects.filter(made_by=person).count(),
        "labels ended": PlaceLabel.objects.filter(ended_by=person).count(),
    }
    return went, stays


def _steps(person: Person) -> QuerySet[DraftStep]:
    rows = DraftStep.objects.select_related("revision__layout").filter(changed_by=person)
    return rows.order_by("changed_at")


def _differences() -> QuerySet[RigDifference]:
    return RigDifference.objects.select_related("rig", "item", "place", "here").order_by("since")


def _of_labels(person: Person) -> dict[str, Any]:
    rows = PlaceLabel.objects.select_related("place", "rig")
    made, ended = rows.filter(made_by=person), rows.filter(ended_by=person)
    return {
        "labels made": [{"label": str(each), "at": each.made_at} for each in made],
        "labels ended": [{"label": str(each), "at": each.ended_at} for each in ended],
    }


def _absences() -> QuerySet[Absence]:
    return Absence.objects.select_related("rig", "item", "place")


def _rows_tied(person: Person) -> list[dict[str, Any]]:
    rows = RequiredRow.objects.select_related("of").filter(decided_by=person)
    return [{"row": str(row), "needs": row.needs or "none", "at": row.decided_at} for row in rows]
