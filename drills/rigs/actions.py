"""Changes to layouts and rigs, each with its check and its line in the audit."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import astuple
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from drills.engine import layout as engine
from drills.engine.layout import item_key
from drills.engine.merging import settle
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import (
    Absence,
    Compartment,
    Item,
    ItemTerms,
    Layout,
    Need,
    Place,
    Point,
    Revision,
    RevisionState,
    Rig,
    RigPick,
    Station,
    StockLine,
)
from drills.rigs.reading import codes_by_place, layout_of
from drills.rigs.ties import index_of


@transaction.atomic
def import_layout(
    layout: engine.Layout, *, by: Person | None, now: datetime, publish: bool = False
) -> Revision:
    """Store a workbook as the draft of its layout, and publish it if asked.

    The same slug is the next revision of that layout. A workbook that says what the published
    revision or the draft says makes no new one; an open draft is replaced.
    """
    rows = Layout.objects.select_for_update()  # so that two workbooks at once are two drafts
    row, _ = rows.get_or_create(slug=layout.slug, defaults={"name": layout.name})
    current, draft = row.published, row.draft
    codes = codes_by_place(row)
    settled = settle(layout, {code: key for key, code in codes.items()}, used=codes)
    if current and layout_of(current) == settled:
        return current
    if not draft or layout_of(draft) != settled:
        if draft:
            _delete_draft(draft)
        draft = _store(row, settled, now=now)
        record("import layout", f"{row.slug} {draft.number}", by=by, now=now)
    return publish_revision(draft, by=by, now=now) if publish else draft


@transaction.atomic
def publish_revision(
    revision: Revision,
    *,
    by: Person | None,
    now: datetime,
    refitted: Collection[str] | None = None,
) -> Revision:
    """Put a draft in force: the one before retires, and rigs of the layout ride the new one.

    `refitted` are the unit numbers of those that do at once, all of them when it is left out; the
    others ride on as they are until `refit_rig`. `ValueError` names what is no rig of the layout.
    """
    revision = _locked(revision)
    if revision.state != RevisionState.DRAFT:
        return revision
    layout = revision.layout
    layout.revisions.filter(state=RevisionState.PUBLISHED).update(state=RevisionState.RETIRED)
    revision.state, revision.published_at = RevisionState.PUBLISHED, now
    revision.save(update_fields=["state", "published_at"])
    layout.name = revision.name
    layout.save(update_fields=["name"])
    units = set(layout.rigs.values_list("unit", flat=True))
    chosen = units if refitted is None else set(refitted)
    if strange := sorted(chosen - units):
        known = ", ".join(sorted(units)) or "none"
        raise ValueError(
            f"{', '.join(strange)} came in for rigs of this layout; there are: {known}."
        )
    layout.rigs.filter(unit__in=chosen).update(revision=revision)
    record(
        "publish revision",
        f"{layout.slug} {revision.number}",
        by=by,
        now=now,
        after={"refitted": sorted(chosen)},
    )
    return revision


def _locked(revision: Revision) -> Revision:
    """The revision as it is now, and nobody else's to change until this is done."""
    rows = Revision.objects.select_for_update(of=("self",)).select_related("layout")
    return rows.get(pk=revision.pk)


@transaction.atomic
def discard_draft(revision: Revision, *, by: Person, now: datetime) -> None:
    """Throw a draft away; a layout that never was anything else goes with it.

    What was published meanwhile, in another tab, stays.
    """
    revision = _locked(revision)
    if revision.state != RevisionState.DRAFT:
        return
    layout = revision.layout
    record("discard draft", f"{layout.slug} {revision.number}", by=by, now=now)
    _delete_draft(revision)
    if not layout.revisions.exists():
        layout.delete()


def _delete_draft(draft: Revision) -> None:
    """Delete a draft, and the places and items that nothing but the draft ever spoke of.

    What was in force is never deleted, so nobody was ever asked about them. An item that a keeper
    tied stays, so that the next import is tied as well.
    """
    places = list(draft.compartments.values_list("place", flat=True))
    keys = {*draft.terms.values_list("item__key", flat=True), *_fixture_keys(draft.points.all())}
    draft.delete()
    Place.objects.filter(pk__in=places, compartments=None, absences=None).delete()
    unused = Item.objects.filter(key__in=keys - _fixture_keys(Point.objects.all()))
    unused.filter(terms=None, absences=None, decision=None).delete()


def _fixture_keys(points: QuerySet[Point]) -> set[str]:
    """Keys of the items that outlets and controls are; they have no terms."""
    return set(map(item_key, points.values_list("name", flat=True).distinct()))


@transaction.atomic
def add_rig(
    unit: str, *, layout: Layout, by: Person, now: datetime, station: Station | None = None
) -> Rig:
    """Put a rig on the published revision of a layout, at a station if it has one."""
    revision = layout.published
    if revision is None:
        raise ValueError(f"{layout.name} has no published revision; publish one first.")
    rig = Rig.objects.create(unit=unit, layout=layout, revision=revision, station=station)
    after = {"layout": layout.slug} | ({"station": station.slug} if station else {})
    record("add rig", unit, by=by, now=now, after=after)
    return rig


@transaction.atomic
def refit_rig(rig: Rig, *, by: Person, now: datetime) -> Rig:
    """Let a rig ride the published revision of its layout from now on."""
    rig = Rig.objects.select_for_update(of=("self",)).select_related("revision").get(pk=rig.pk)
    revision, was = rig.layout.published, rig.revision.number
    if revision is None or revision == rig.revision:
        return rig
    rig.revision = revision
    rig.save(update_fields=["revision"])
    record(
        "refit rig",
        rig.unit,
        by=by,
        now=now,
        before={"revision": was},
        after={"revision": revision.number},
    )
    return rig


def pick_rig(person: Person, rig: Rig, *, now: datetime) -> RigPick:
    """Make a rig the one the person rides today."""
    return RigPick.objects.create(person=person, rig=rig, revision=rig.revision, picked_at=now)


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


def _store(row: Layout, layout: engine.Layout, *, now: datetime) -> Revision:
    last = row.revisions.order_by("-number").values_list("number", flat=True).first()
    revision = Revision.objects.create(
        layout=row,
        number=(last or 0) + 1,
        name=layout.name,
        body=layout.body,
        length_m=_text(layout.length_m),
        width_m=_text(layout.width_m),
        height_m=_text(layout.height_m),
        notes=layout.notes,
        imported_at=now,
    )
    compartments = _store_compartments(revision, layout)
    terms = _store_terms(revision, layout)
    StockLine.objects.bulk_create(
        (
            StockLine(
                compartment=compartments[line.compartment],
                terms=terms[line.key],
                order=order,
                par=line.par,
                is_critical=line.critical,
                expires=line.expires,
                notes=line.notes,
            )
            for order, line in enumerate(layout.stock)
        ),
        batch_size=500,
    )
    Point.objects.bulk_create(
        Point(
            revision=revision,
            order=order,
            code=point.code,
            kind=point.kind,
            name=point.name,
            face=point.face,
            x=point.x,
            y=point.y,
            serves=list(point.serves),
        )
        for order, point in enumerate(layout.points)
    )
    return revision


def _store_compartments(revision: Revision, layout: engine.Layout) -> dict[str, Compartment]:
    """Store parents before what lies in them; the order of the workbook is kept beside."""
    places = _store_places(revision.layout, layout)
    stored: dict[str, Compartment] = {}
    level = layout.children.get("", ())
    while level:
        rows = Compartment.objects.bulk_create(
            [
                _compartment_row(revision, each, places, stored, layout.order_of[each.code])
                for each in level
            ],
            batch_size=500,
        )
        stored |= {each.code: each for each in rows}
        level = tuple(child for each in level for child in layout.children.get(each.code, ()))
    return stored


def _store_places(row: Layout, layout: engine.Layout) -> dict[str, Place]:
    """The places of a layout by key, made where they do not exist yet."""
    new = [Place(layout=row, key=each.key) for each in layout.compartments]
    Place.objects.bulk_create(new, ignore_conflicts=True, batch_size=500)
    return {place.key: place for place in row.places.all()}


def _compartment_row(
    revision: Revision,
    each: engine.Compartment,
    places: dict[str, Place],
    stored: dict[str, Compartment],
    order: int,
) -> Compartment:
    return Compartment(
        revision=revision,
        place=places[each.key],
        order=order,
        code=each.code,
        name=each.name,
        inside=stored.get(each.inside),
        face=each.face,
        rect=list(astuple(each.rect)) if each.rect else None,
        also_face=each.also_face,
        also_rect=list(astuple(each.also_rect)) if each.also_rect else None,
        opens=each.opens,
        closure=each.closure,
        carried=each.carried,
        is_locked=each.locked,
        is_sealed=each.sealed,
        reach_from=list(each.reach_from),
        height=each.height,
        notes=each.notes,
    )


def _store_terms(revision: Revision, layout: engine.Layout) -> dict[str, ItemTerms]:
    """Terms by item key; outlets and controls are items as well, asked for like things."""
    names = {key: thing.name for key, thing in layout.things.items()}
    Item.objects.bulk_create(
        [Item(key=key, name=name) for key, name in names.items()],
        ignore_conflicts=True,
        batch_size=500,
    )
    items = Item.objects.in_bulk(list(names), field_name="key")
    needs = {need.key: need for need in Need.objects.all()}
    index = index_of(needs.values())
    first: dict[str, engine.StockLine] = {}
    for line in layout.stock:
        first.setdefault(line.key, line)
    rows = ItemTerms.objects.bulk_create(
        (
            ItemTerms(
                revision=revision,
                item=items[key],
                name=line.item,
                aliases=list(line.aliases),
                category=line.category,
                unit=line.unit,
                presentation=line.presentation,
                weight_kg=_text(line.weight_kg),
                need_given=line.need,
                need=needs.get(
                    index.tie(
                        given=line.need,
                        name=line.item,
                        aliases=line.aliases,
                        presentation=line.presentation,
                    )
                ),
            )
            for key, line in first.items()
        ),
        batch_size=500,
    )
    return {item_key(row.name): row for row in rows}


def _text(value: object) -> str:
    return "" if value is None else str(value)
