"""What one rig carries elsewhere than its layout says: told, ended, and looked at anew."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from drills.engine.elsewhere import MOST_OF_A_RIG, SAME, standing
from drills.engine.layout import Layout
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Absence, Item, Place, Rig, RigDifference
from drills.rigs.own import as_engine
from drills.rigs.reading import layout_of

NAMES_SHOWN = 3


class DifferenceError(ValueError):
    """A difference that cannot be told; the text says what came in and what would be accepted."""


@transaction.atomic
def tell_difference(
    rig: Rig,
    *,
    thing: str,
    place: str,
    here: str,
    note: str = "",
    report: Absence | None = None,
    seen: str | None = None,
    by: Person,
    now: datetime,
) -> RigDifference:
    """Say that a rig carries a thing elsewhere than its layout says, or not at all.

    `place` and `here` are codes of compartments of the revision the rig rides: where the layout
    says it is, empty for all its places, and where it is on this rig, empty when it is not
    aboard. `seen` is the slug and number of the revision they were chosen on, if they were: a code
    may be of another place in the next. What was told before of the same line ends with it.
    Raises `DifferenceError`.
    """
    rows = Rig.objects.select_for_update(of=("self",)).select_related("revision__layout")
    rig = rows.get(pk=rig.pk)
    _refuse_other(rig, seen)
    layout = layout_of(rig.revision)
    place = _checked(layout, thing, place, here)
    spots = {
        code: Place.objects.get(layout=rig.layout_id, key=layout.by_code[code].key)
        for code in filter(None, (place, here))
    }
    open_ones = list(rig.differences.open().select_related("item", "place", "here"))
    replaced = [each for each in open_ones if _speaks_of(each, thing, spots.get(place))]
    if len(open_ones) - len(replaced) >= MOST_OF_A_RIG:
        raise DifferenceError(
            f"{rig} differs in {len(open_ones)} things already, and at most {MOST_OF_A_RIG} are "
            "kept. With more it is another layout: change the layout, or make one for this rig."
        )
    _end(replaced, by=by, now=now)
    record("tell difference", f"{rig.unit}: {thing}"[:160], by=by, now=now, after={"here": here})
    return RigDifference.objects.create(
        rig=rig,
        item=Item.objects.get(key=thing),
        place=spots.get(place),
        here=spots.get(here),
        note=note,
        report=report,
        since=now,
        by=by,
    )


@transaction.atomic
def end_difference(difference: RigDifference, *, by: Person, now: datetime) -> bool:
    """Say that a thing is as the layout says again; once, and whether it was."""
    return bool(_end([difference], by=by, now=now))


def end_all(rig: Rig, *, by: Person | None, now: datetime) -> int:
    """End every difference of a rig, whose layout is another now. How many there were."""
    rows = RigDifference.objects.open().filter(rig=rig)
    return _end(rows.select_related("rig", "item", "place", "here"), by=by, now=now)


def look_anew(rigs: Iterable[Rig], *, by: Person | None, now: datetime) -> int:
    """End the differences of rigs that were refitted which their layout says now as well.

    The others stay: what still applies, and what somebody must look at. How many ended.
    """
    rows = RigDifference.objects.open().filter(rig__in=rigs)
    rows = rows.select_related("rig__revision__layout", "item", "place", "here")
    said = [
        each for each in rows if standing(layout_of(each.rig.revision), as_engine(each)) == SAME
    ]
    return _end(said, by=by, now=now)


def _end(rows: Iterable[RigDifference], *, by: Person | None, now: datetime) -> int:
    ended = 0
    for each in rows:
        still_open = RigDifference.objects.open().filter(pk=each.pk)
        if still_open.update(ended_at=now, ended_by=by):
            record("end difference", str(each)[:160], by=by, now=now)
            ended += 1
    return ended


def _speaks_of(difference: RigDifference, thing: str, place: Place | None) -> bool:
    """Whether it is of the same line of stock; without a place it is of every line."""
    if difference.item.key != thing:
        return False
    return place is None or difference.place is None or difference.place == place


def _refuse_other(rig: Rig, seen: str | None) -> None:
    """Raise `DifferenceError` where places were chosen on another revision than the rig rides."""
    if seen is not None and seen != rig.revision.slug_and_number:
        raise DifferenceError(
            f"{rig} rides {rig.revision} by now, and the places were chosen on another revision. "
            "Nothing was told. Choose them again."
        )


def _checked(layout: Layout, thing: str, place: str, here: str) -> str:
    """The place of the layout that is meant; raises `DifferenceError` where nothing differs."""
    known = layout.things.get(thing)
    if known is None:
        came = f"“{thing[:60]}” came in." if thing else "No thing was chosen."
        raise DifferenceError(f"{came} A thing that {layout.name} carries is accepted.")
    if place and place not in known.places:
        said = "; ".join(map(layout.path, known.places[:NAMES_SHOWN]))
        raise DifferenceError(
            f"“{place[:60]}” came in for where the layout says it is. "
            f"{known.name} is in: {said}. One of these is accepted, or all."
        )
    if len(known.places) == 1:
        place = known.places[0]
    _refuse_here(layout, here, place)
    return place


def _refuse_here(layout: Layout, here: str, place: str) -> None:
    """Raise `DifferenceError` where a rig cannot have a thing, or has it as the layout says."""
    if here and here not in layout.by_code:
        raise DifferenceError(
            f"“{here[:60]}” came in for the place on this rig. A place of {layout.name} is "
            "accepted, or that it is not aboard."
        )
    if here and here == place:
        raise DifferenceError(
            f"{layout.path(here)} is where the layout says it is, so nothing differs. "
            "Another place is accepted, or that it is not aboard."
        )
