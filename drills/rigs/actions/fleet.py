"""Rigs put on a layout, refitted, and picked by those who ride them."""

from datetime import datetime

from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.actions.own import end_all, look_anew
from drills.rigs.models import Layout, Rig, RigPick, Station


@transaction.atomic
def add_rig(
    unit: str, *, layout: Layout, by: Person, now: datetime, station: Station | None = None
) -> Rig:
    """Put a rig on the published revision of a layout, at a station if it has one.

    It changes to one that is to come on its day, as a new rig is stocked by what is in force.
    """
    # So that nobody retires the layout meanwhile.
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    revision = layout.published
    if revision is None:
        raise ValueError(f"{layout.name} has no published revision; publish one first.")
    rig = Rig.objects.create(unit=unit, layout=layout, revision=revision, station=station)
    _refit_with_the_next(layout, unit)
    after = {"layout": layout.slug} | ({"station": station.slug} if station else {})
    record("add rig", unit, by=by, now=now, after=after)
    return rig


def _refit_with_the_next(layout: Layout, unit: str) -> None:
    if coming := layout.coming:
        coming.refits = sorted({*coming.refits, unit})
        coming.save(update_fields=["refits"])


@transaction.atomic
def refit_rig(rig: Rig, *, by: Person, now: datetime) -> Rig:
    """Let a rig ride the published revision of its layout from now on."""
    rig = Rig.objects.select_for_update(of=("self",)).select_related("revision").get(pk=rig.pk)
    revision, was = rig.layout.published, rig.revision.number
    if revision is None or revision == rig.revision:
        return rig
    rig.revision = revision
    rig.save(update_fields=["revision"])
    look_anew([rig], by=by, now=now)
    record(
        "refit rig",
        rig.unit,
        by=by,
        now=now,
        before={"revision": was},
        after={"revision": revision.number},
    )
    return rig


@transaction.atomic
def move_rig(rig: Rig, *, layout: Layout, by: Person, now: datetime) -> Rig:
    """Let a rig ride what is in force of another layout from now on.

    Its own differences end, as they were told of places of the old one. `ValueError` where nothing
    of the other is in force.
    """
    # Both layouts at once and in one order, so that neither is retired or published meanwhile.
    both = Layout.objects.select_for_update().filter(pk__in=(rig.layout_id, layout.pk))
    layout = {each.pk: each for each in both.order_by("pk")}[layout.pk]
    rig = Rig.objects.select_for_update(of=("self",)).select_related("layout").get(pk=rig.pk)
    was, revision = rig.layout, layout.published
    if was == layout:
        return rig
    if revision is None:
        raise ValueError(f"{layout.name} has nothing in force. A layout that has is accepted.")
    if coming := was.coming:
        coming.refits = [unit for unit in coming.refits if unit != rig.unit]
        coming.save(update_fields=["refits"])
    end_all(rig, by=by, now=now)
    rig.layout, rig.revision = layout, revision
    rig.save(update_fields=["layout", "revision"])
    _refit_with_the_next(layout, rig.unit)
    before, after = {"layout": was.slug}, {"layout": layout.slug, "revision": revision.number}
    record("move rig", rig.unit, by=by, now=now, before=before, after=after)
    return rig


def pick_rig(person: Person, rig: Rig, *, now: datetime) -> RigPick:
    """Make a rig the one the person rides today."""
    return RigPick.objects.create(person=person, rig=rig, revision=rig.revision, picked_at=now)
