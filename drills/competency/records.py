"""What this room keeps about one person: evidence, given out in words, and unlinked."""

import secrets
from datetime import datetime, time
from typing import Any

from django.utils import timezone

from drills.competency.expecting import leave_out
from drills.competency.models import Evidence, Fact, PersonOffset
from drills.people.models import Person
from drills.rigs.reading import layout_of

ERASED = "erased"
HELD_BACK = "shown once the run is finished"
ROWS_AT_ONCE = 500


def evidence_of(person: Person, *, held_since: datetime | None) -> list[dict[str, Any]]:
    """All that was observed of the person, the oldest first; voided evidence says that it is.

    Outcomes since an assessed run began that is still open are held back, as on its pages.
    """
    rows = person.evidence.select_related(
        "fact__item", "fact__bag", "fact__place", "revision__layout", "rig", "need", "observed_by"
    ).order_by("at", "id")
    told = []
    for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
        is_held = held_since is not None and row.at >= held_since
        told.append(_told(row) | ({"outcome": HELD_BACK, "depth reached": ""} if is_held else {}))
    return told


def offset_of(person: Person) -> dict[str, Any] | None:
    """What the newest fit holds of the person alone; None where it holds nothing."""
    row = PersonOffset.objects.filter(person=person).select_related("fit").first()
    if row is None:
        return None
    return {
        "fitted at": row.fit.made_at,
        "difference from anybody, log-odds": row.mean,
        "variance of what is not known of it": row.variance,
        "forgetting": row.forgetting,
        "speed": row.speed,
    }


def unlink_evidence(person: Person) -> int:
    """Leave what was observed of a person as counts that nobody can put together again.

    Fact, outcome, seconds and their verdict stay. What would lead to the person, or from one of
    their rows to the next, goes: the answer it came from, the time of day, and all that was set
    by the person's own record (limit, allowance, prediction, what a fit expected), or names where
    it is written down, who saw it and with whose it came in. A day is 1 in 90 of the time in which
    evidence loses half its weight.
    """
    own = person.evidence.order_by()
    rows = [
        Evidence(pk=row, at=_midnight(at), source=f"{ERASED} {secrets.token_hex(16)}")
        for row, at in own.values_list("pk", "at")
    ]
    Evidence.objects.bulk_update(rows, ["at", "source"], batch_size=ROWS_AT_ONCE)
    leave_out([row.pk for row in rows])
    return own.update(
        person=None,
        limit_seconds=None,
        allowance=1.0,
        prediction=None,
        predicted_by="",
        reference="",
        observed_by=None,
        taken_in=None,
    )


def seen_by(person: Person) -> int:
    """How many rows of others' past records say that this person watched."""
    return person.evidence_seen.count()


def unname_voids(person: Person) -> int:
    """Empty who voided others' evidence where it was a person who is being erased."""
    by_them = Evidence.objects.filter(voided_by__in=[person.employee_number, person.name])
    return by_them.update(voided_by=ERASED)


def _midnight(at: datetime) -> datetime:
    return timezone.make_aware(datetime.combine(timezone.localdate(at), time()))


def _told(row: Evidence) -> dict[str, Any]:
    return {
        "at": row.at,
        "what": _words(row),
        "layout": str(row.revision),
        "rig": row.rig.unit if row.rig else None,
        "need": row.need.name_us if row.need else None,
        "kind": row.kind,
        "outcome": row.outcome,
        "depth asked": row.depth_asked,
        "depth reached": row.depth_reached,
        "choices offered": row.choices_offered,
        "chosen by": row.chosen_by,
        "first answer": row.is_first,
        "chance thought beforehand": row.prediction,
        "thought by": row.predicted_by,
        "seconds": row.seconds,
        "seconds are": row.time_state,
        "in time": row.time_verdict,
        "limit in seconds": row.limit_seconds,
        "allowance": row.allowance,
        "how": row.get_modality_display(),
        "assisted": row.is_assisted,
        "device": row.device_class,
        "simulated": row.is_simulated,
        "imported from past records": row.is_imported,
        "source reference": row.reference,
        "observed by": str(row.observed_by) if row.observed_by else None,
        "voided": row.voided_at,
    }


def _words(row: Evidence) -> str:
    """A fact as it was called on the layout on which it was asked."""
    fact: Fact = row.fact
    if fact.skill:
        return fact.skill
    layout = layout_of(row.revision)
    paths = {each.key: layout.path(each.code) for each in layout.compartments}
    names = {each.key: each.name for each in layout.compartments}
    place = fact.place.key if fact.place else ""
    thing = fact.item.name if fact.item else names.get(fact.bag.key if fact.bag else "", "a bag")
    return f"{thing}: {paths.get(place, place)}"
