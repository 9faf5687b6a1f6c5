"""Labels made and renewed, and scanning slowed down."""

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.crypto import salted_hmac

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Place, PlaceLabel, Rig, ScanTally

# Ours, no source. A crew that checks every door of a rig scans some fifty in a shift.
SCANS_COUNTED_FOR = timedelta(minutes=10)
SCANS_OF_PERSON, SCANS_OF_ADDRESS = 60, 30
NO_WAIT = timedelta(0)


@transaction.atomic
def make_labels(
    rig: Rig, places: Collection[Place], *, by: Person, now: datetime
) -> list[PlaceLabel]:
    """Give each of the places a label that has none on this rig; gives back the new ones.

    Raises ValueError for a place that the rig's revision does not have.
    """
    rig = _locked(rig)
    here = _places_of(rig)
    strange = sorted(place.key for place in places if place.pk not in here)
    if strange:
        raise ValueError(f"Rig {rig.unit} has no place {', '.join(strange)}.")
    labelled = set(rig.labels.open().values_list("place", flat=True))
    new = [place for place in places if place.pk not in labelled]
    return _made(rig, new, by=by, now=now) if new else []


@transaction.atomic
def renew_labels(
    rig: Rig, places: Collection[Place] | None, *, by: Person, now: datetime
) -> tuple[int, int]:
    """End the labels of the places, or of the whole rig, at once, and make new ones.

    A place that the rig's revision no longer has gets none. Gives back how many ended and how
    many were made.
    """
    rig = _locked(rig)
    old = rig.labels.open().select_related("place")
    if places is not None:
        old = old.filter(place__in=places)
    was = [label.place for label in old]
    if not was:
        return 0, 0
    old.update(ended_at=now, ended_by=by)
    record("end labels", rig.unit, by=by, now=now, before={"places": _keys(was)})
    here = _places_of(rig)
    again = [place for place in was if place.pk in here]
    if again:
        _made(rig, again, by=by, now=now)
    return len(was), len(again)


def scan_of_person(person: Person, *, now: datetime) -> timedelta:
    """Count a scan by somebody who is signed in; how long to wait instead, if at all."""
    return _counted(person_tally(person), SCANS_OF_PERSON, now=now)


def scan_of_stranger(address: str, *, now: datetime) -> timedelta:
    """Count a scan from an address by nobody we know; how long to wait instead, if at all."""
    return _counted(_hash("address", address), SCANS_OF_ADDRESS, now=now)


def person_tally(person: Person) -> str:
    """Under what the scans of a person are counted."""
    return _hash("person", str(person.pk))


@transaction.atomic
def _counted(who: str, most: int, *, now: datetime) -> timedelta:
    rows = ScanTally.objects.select_for_update()
    row, is_new = rows.get_or_create(who=who, defaults={"began_at": now})
    if is_new:
        ScanTally.objects.filter(began_at__lte=now - SCANS_COUNTED_FOR).delete()
    if now - row.began_at >= SCANS_COUNTED_FOR:
        row.began_at, row.scans = now, 0
    if row.scans >= most:
        return row.began_at + SCANS_COUNTED_FOR - now
    row.scans += 1
    row.save(update_fields=["began_at", "scans"])
    return NO_WAIT


def _made(rig: Rig, places: Collection[Place], *, by: Person, now: datetime) -> list[PlaceLabel]:
    record("make labels", rig.unit, by=by, now=now, after={"places": _keys(places)})
    return PlaceLabel.objects.bulk_create(
        PlaceLabel(rig=rig, place=place, made_at=now, made_by=by) for place in places
    )


def _locked(rig: Rig) -> Rig:
    """The rig as it is now, and nobody else's labels of it meanwhile."""
    return Rig.objects.select_for_update().get(pk=rig.pk)


def _places_of(rig: Rig) -> set[int]:
    return set(rig.revision.compartments.values_list("place", flat=True))


def _keys(places: Collection[Place]) -> list[str]:
    return sorted(place.key for place in places)


def _hash(kind: str, value: str) -> str:
    return salted_hmac(f"rigs.scan.{kind}", value, algorithm="sha256").hexdigest()
