"""Where crews are posted: stations, and who belongs to which from which day on."""

from collections.abc import Collection, Mapping
from datetime import date, datetime

from django.core.validators import validate_slug
from django.db import transaction
from django.db.models import Q, QuerySet

from drills.engine.roster import WORD_LENGTH
from drills.people.audit import record
from drills.people.models import Person
from drills.people.naming import name_apart
from drills.rigs.models import Layout, Posting, Rig, Station


@transaction.atomic
def add_station(slug: str, name: str, *, by: Person | None, now: datetime) -> Station:
    """Add a station that people can be posted to and rigs belong to."""
    validate_slug(slug)
    name = name_apart(name, slug, kind="station", there=Station.objects.all(), longest=WORD_LENGTH)
    station = Station.objects.create(slug=slug, name=name)
    record("add station", slug, by=by, now=now, after={"name": name})
    return station


def stations_of(people: Collection[Person], *, today: date) -> dict[int, Station]:
    """The station of each person who is posted to one, by the person's id."""
    rows = _running(today).filter(person__in=people).select_related("station")
    return {row.person_id: row.station for row in rows.order_by("starts_on", "id")}


def posted_on(layout: Layout, *, today: date) -> QuerySet[Person]:
    """The people posted to a station of which a rig rides the layout, leavers left out."""
    return posted_to(layout.rigs.all(), today=today)


def posted_to(rigs: QuerySet[Rig], *, today: date) -> QuerySet[Person]:
    """The people posted to the stations of some rigs, leavers left out."""
    rows = _running(today).filter(station__rigs__in=rigs)
    return Person.objects.filter(pk__in=rows.values("person"), is_active=True)


def post_people(stations: Mapping[int, Station | None], *, today: date) -> None:
    """Post people, by their ids, to another station from today on; None is to none.

    The line in the audit is the caller's, with whatever else changes of a person.
    """
    running = _running(today).filter(person__in=stations)
    running.filter(starts_on__gte=today).delete()  # a posting of no day at all
    running.update(ends_on=today)
    Posting.objects.bulk_create(
        Posting(person_id=person_id, station=station, starts_on=today)
        for person_id, station in stations.items()
        if station is not None
    )


def _running(today: date) -> QuerySet[Posting]:
    """Postings that have begun and not ended; the day on which one ends belongs to the next."""
    return Posting.objects.filter(Q(ends_on=None) | Q(ends_on__gt=today), starts_on__lte=today)
