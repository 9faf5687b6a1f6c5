"""What is not where the layout says: reported by crews, answered by the keeper."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import partial

from django.db import transaction
from django.db.models import QuerySet

from drills.engine.elsewhere import SAME, UNKNOWN, Elsewhere, on_rig, standing
from drills.engine.layout import Layout
from drills.people.audit import record
from drills.people.models import Person
from drills.people.prepared import Prepared
from drills.rigs.actions.drafting import edit_draft
from drills.rigs.actions.own import DifferenceError, end_difference, tell_difference
from drills.rigs.models import Absence, Answer, Item, Place, Reporting, Revision, Rig
from drills.rigs.own import as_engine, own_about, own_of, unknown_pairs
from drills.rigs.reading import layout_of

# A rig that was given another layout leaves its reports of places of the old one behind.
_REPORTED = Prepared(
    lambda rig, layout: (
        Absence.objects.open()
        .filter(rig=rig, revision__layout=layout)
        .order_by()
        .values_list("item__key", "place__key")
    )
)


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
    What is reported already and not answered is not reported again, but whoever says so as well
    hears what becomes of it.
    """
    Rig.objects.select_for_update().get(pk=rig.pk)  # so that two reports at once are one
    found = revision.compartments.filter(code__in=list(places)).select_related("place")
    waiting = rig.absences.open()
    item = Item.objects.get(key=thing) if thing else None
    here = [each.place for each in found]
    at = (
        _not_reported_yet(waiting, here) if item is None else _one_of_the_thing(waiting, item, here)
    )
    known = waiting.filter(item=item) if item else waiting.filter(item=None, place__in=here)
    _hear_too(list(known), by, now)
    record("report absence", f"{rig.unit}: {thing or 'contents'}"[:160], by=by, now=now)
    made = Absence.objects.bulk_create(
        Absence(rig=rig, revision=revision, item=item, place=place, reported_by=by, reported_at=now)
        for place in at
    )
    _hear_too(made, by, now)
    return made


def _hear_too(reports: Iterable[Absence], by: Person, now: datetime) -> None:
    Reporting.objects.bulk_create(
        (Reporting(absence=each, person=by, reported_at=now) for each in reports),
        ignore_conflicts=True,
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
def put_back(report: Absence, *, word: str = "", by: Person, now: datetime) -> bool:
    """It is again where this rig has it: where its own list says, or else the layout; once, and
    whether it was. Its line is drilled again."""
    return _answer(report, Answer.PUT_BACK, word, by, now)


@transaction.atomic
def as_layout_again(report: Absence, *, word: str = "", by: Person, now: datetime) -> bool:
    """It is where the layout says, and what the rig's own list says of it ends; once."""
    if not _answer(report, Answer.AS_LAYOUT, word, by, now):
        return False
    for line in own_about(report):
        end_difference(line.difference, by=by, now=now)
    return True


@transaction.atomic
def differs_here(
    report: Absence,
    *,
    thing: str,
    place: str,
    here: str,
    seen: str | None = None,
    word: str = "",
    by: Person,
    now: datetime,
) -> bool:
    """This rig carries it elsewhere, or not at all, and drills on it follow; once.

    `place`, `here` and `seen` are as in `tell_difference`, whose `DifferenceError` leaves all as
    it was.
    """
    if not _answer(report, Answer.DIFFERS, word, by, now):
        return False
    tell_difference(
        report.rig,
        thing=thing,
        place=place,
        here=here,
        note=word,
        report=report,
        seen=seen,
        by=by,
        now=now,
    )
    return True


@transaction.atomic
def layout_is_wrong(
    report: Absence,
    *,
    thing: str,
    place: str,
    here: str,
    seen: str | None = None,
    word: str = "",
    by: Person,
    now: datetime,
) -> bool:
    """The layout is to say so for every rig: a draft of it gets the change, unless what is to come
    says so already; once.

    Until it is published and this rig refitted, the rig differs, so that nothing is drilled as it
    is not. `DifferenceError` when there is nothing to change, in the rig's layout or the draft.
    """
    if not _answer(report, Answer.LAYOUT_WRONG, word, by, now):
        return False
    told = tell_difference(
        report.rig,
        thing=thing,
        place=place,
        here=here,
        note=word,
        report=report,
        seen=seen,
        by=by,
        now=now,
    )
    layout, change = report.rig.layout, as_engine(told)
    newest = layout.draft or layout.coming or layout.published
    if newest is None or standing(layout_of(newest), change) != SAME:
        where = f"to {here}" if here else "not carried"
        what = f"{told.item.name}: {where}, as reported on {report.rig.unit}"
        edit_draft(layout, partial(_as_told, change), what=what, by=by, now=now)
    return True


def _as_told(told: Elsewhere, draft: Layout) -> Layout:
    if standing(draft, told) == UNKNOWN:
        raise DifferenceError(
            f"The draft of {draft.name} has it neither where it was nor where it is now. Press "
            "Differs on this rig, and change the draft by hand."
        )
    return on_rig(draft, [told])


def _answer(report: Absence, answer: Answer, word: str, by: Person, now: datetime) -> bool:
    answered = (
        Absence.objects.open()
        .filter(pk=report.pk)
        .update(answered_by=by, answered_at=now, answer=answer, word=word)
    )
    if answered:
        record("answer absence", str(report)[:160], by=by, now=now, after={"answer": answer.label})
    return bool(answered)


@transaction.atomic
def see_answer(reporting: Reporting, *, by: Person, now: datetime) -> None:
    """Whoever reported it has seen what became of it; once."""
    seen = Reporting.objects.filter(pk=reporting.pk, person=by, seen_at=None)
    if seen.exclude(absence__answered_at=None).update(seen_at=now):
        record("see answer", str(reporting.absence)[:160], by=by, now=now)


def held_pairs(
    rig: Rig | None, own: tuple[Elsewhere, ...] | None = None
) -> frozenset[tuple[str, str]]:
    """Pairs of thing key and place key that drills on this rig leave out until answered.

    An empty thing is all that is in the place, an empty place is anywhere. `own` is what the rig
    carries elsewhere, where that was read already.
    """
    if rig is None:
        return frozenset()
    rows = _REPORTED(rig=rig.pk, layout=rig.layout_id)
    reported = frozenset((thing or "", place or "") for thing, place in rows)
    return reported | unknown_pairs(rig, own_of(rig) if own is None else own)
