"""A revision written to the tables, all of it or nothing, and taken out of them."""

from dataclasses import astuple
from datetime import datetime

from django.db.models import QuerySet

from drills.engine import layout as engine
from drills.engine.layout import item_key
from drills.rigs.models import (
    Compartment,
    Item,
    ItemTerms,
    Layout,
    Need,
    Place,
    Point,
    Revision,
    StockLine,
)
from drills.rigs.ties import index_of


def store_revision(row: Layout, layout: engine.Layout, *, now: datetime) -> Revision:
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


def delete_draft(draft: Revision) -> None:
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
