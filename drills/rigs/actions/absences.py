"""What is not where the layout says: reported by crews, answered by the keeper."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Absence, Item, Place, Revision, Rig


@transaction.atomic
def report_absence(
    places: Iterable[str],
    *,
    thing: str,
    rig: Rig,
    revision: Revision,
    by: Person,
    now: datetime,
) -> list[Absence]:
    """Tell the keeper that a thing is not where the layout says.

    `places` are compartment codes of the revision that was asked about. A thing is one report,
    of its place where it has only one; `thing` is empty when the contents of each place differ.
    What is reported already and not answered is not reported again.
    """
    Rig.objects.select_for_update().get(pk=rig.pk)  # so that two reports at once are one
    found = revision.compartments.filter(code__in=list(places)).select_related("place")
    waiting = rig.absences.open()
    item = Item.objects.get(key=thing) if thing else None
    here = [each.place for each in found]
    at = (
        _not_reported_yet(waiting, here) if item is None else _one_of_the_thing(waiting, item, here)
    )
    record("report absence", f"{rig.unit}: {thing or 'contents'}"[:160], by=by, now=now)
    return Absence.objects.bulk_create(
        Absence(rig=rig, revision=revision, item=item, place=place, reported_by=by, reported_at=now)
        for place in at
    )


def _one_of_the_thing(
    waiting: QuerySet[Absence], item: Item, here: Sequence[Place]
) -> list[Place | None]:
    """Where to report a thing once: its place where it has one, else nowhere in particular."""
    if waiting.filter(item=item).exists():
        return []
    return [here[0] if len(here) == 1 else None]


def _not_reported_yet(waiting: QuerySet[Absence], here: Sequence[Place]) -> list[Place | None]:
    known = set(waiting.filter(item=None).values_list("place", flat=True))
    return [place for place in here if place.pk not in known]


@transaction.atomic
def answer_absence(report: Absence, *, by: Person, now: datetime) -> bool:
    """Mark a report as dealt with, so that its line is drilled again; once, and whether it was."""
    answered = Absence.objects.open().filter(pk=report.pk).update(answered_by=by, answered_at=now)
    if answered:
        record("answer absence", str(report)[:160], by=by, now=now)
    return bool(answered)


def held_pairs(rig: Rig | None) -> frozenset[tuple[str, str]]:
    """Pairs of thing key and place key that drills on this rig leave out until answered.

    An empty thing is all that is in the place, an empty place is anywhere.
    """
    if rig is None:
        return frozenset()
    rows = rig.absences.open().values_list("item__key", "place__key")
    return frozenset((thing or "", place or "") for thing, place in rows)
