"""A revision written to the tables, all of it or nothing, and taken out of them."""

from dataclasses import astuple
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from drills.engine import layout as engine
from drills.engine.layout import item_key
from drills.rigs.models import (
    Compartment,
    Item,
    ItemTerms,
    Layout,
    Place,
    Point,
    Revision,
    StockLine,
)
from drills.rigs.ties import index_of, worded_needs


def store_revision(row: Layout, layout: engine.Layout, *, now: datetime) -> Revision:
    """Store a layout as the next draft of its row; places have their keys already."""
    last = row.revisions.order_by("-number").values_list("number", flat=True).first()
    revision = Revision.objects.create(
        layout=row, number=(last or 0) + 1, imported_at=now, **_about(layout)
    )
    _fill(revision, layout)
    return revision


def rewrite_draft(
    draft: Revision, before: engine.Layout, layout: engine.Layout, *, now: datetime
) -> None:
    """Let a draft say `layout` instead of `before`, in the same row.

    Where only compartments that were there are drawn or named otherwise, only those are written:
    a rectangle that moves by a unit is no reason to store thousands of lines again.
    """
    Revision.objects.filter(pk=draft.pk).update(imported_at=now, **_about(layout))
    draft.refresh_from_db()
    if _same_rows(before, layout):
        _redraw(draft, before, layout)
        if before.points != layout.points:
            keys = _fixture_keys(draft.points.all())
            draft.points.all().delete()
            _store_points(draft, layout)
            _store_items(layout)
            _forget([], keys)
        return
    places, keys = _spoken_of(draft)
    draft.points.all().delete()
    draft.compartments.all().delete()
    draft.terms.all().delete()
    _fill(draft, layout)
    _forget(places, keys)


def _same_rows(before: engine.Layout, layout: engine.Layout) -> bool:
    """Whether stock and the tree of places are the same."""
    return before.stock == layout.stock and _tree(before) == _tree(layout)


def _tree(layout: engine.Layout) -> list[tuple[str, str, str]]:
    return [(each.key, each.code, each.inside) for each in layout.compartments]


def _redraw(draft: Revision, before: engine.Layout, layout: engine.Layout) -> None:
    changed = {
        now.code: now
        for was, now in zip(before.compartments, layout.compartments, strict=True)
        if was != now
    }
    rows = list(draft.compartments.filter(code__in=changed))
    for row in rows:
        for name, value in _drawn(changed[row.code]).items():
            setattr(row, name, value)
    Compartment.objects.bulk_update(rows, list(_drawn(layout.compartments[0])))


def _about(layout: engine.Layout) -> dict[str, str]:
    return {
        "name": layout.name,
        "body": layout.body,
        "length_m": _text(layout.length_m),
        "width_m": _text(layout.width_m),
        "height_m": _text(layout.height_m),
        "notes": layout.notes,
    }


def _fill(revision: Revision, layout: engine.Layout) -> None:
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
    _store_points(revision, layout)


def _store_points(revision: Revision, layout: engine.Layout) -> None:
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
        inside=stored.get(each.inside),
        **_drawn(each),
    )


def _drawn(each: engine.Compartment) -> dict[str, Any]:
    """What a place is called and how it is drawn, whatever it is in and holds."""
    return {
        "name": each.name,
        "face": each.face,
        "rect": list(astuple(each.rect)) if each.rect else None,
        "also_face": each.also_face,
        "also_rect": list(astuple(each.also_rect)) if each.also_rect else None,
        "opens": each.opens,
        "closure": each.closure,
        "carried": each.carried,
        "is_locked": each.locked,
        "is_sealed": each.sealed,
        "reach_from": list(each.reach_from),
        "height": each.height,
        "notes": each.notes,
    }


def _store_items(layout: engine.Layout) -> dict[str, Item]:
    """The items of all that may be asked for, made where they do not exist yet, by key."""
    names = {key: thing.name for key, thing in layout.things.items()}
    Item.objects.bulk_create(
        [Item(key=key, name=name) for key, name in names.items()],
        ignore_conflicts=True,
        batch_size=500,
    )
    return Item.objects.in_bulk(list(names), field_name="key")


def _store_terms(revision: Revision, layout: engine.Layout) -> dict[str, ItemTerms]:
    """Terms by item key; outlets and controls are items as well, asked for like things."""
    items = _store_items(layout)
    needs = {need.key: need for need in worded_needs()}
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
    places, keys = _spoken_of(draft)
    draft.delete()
    _forget(places, keys)


def _spoken_of(draft: Revision) -> tuple[list[int], set[str]]:
    """The places of a draft, and the keys of its items."""
    places = list(draft.compartments.values_list("place", flat=True))
    return places, {
        *draft.terms.values_list("item__key", flat=True),
        *_fixture_keys(draft.points.all()),
    }


def _forget(places: list[int], keys: set[str]) -> None:
    """Delete the places and items that nothing speaks of any more; what was reported, told of a
    rig, labelled or photographed stays, so that undoing finds it again."""
    gone = Place.objects.filter(pk__in=places, compartments=None, absences=None, photo=None)
    gone.filter(labels=None, taken_from=None, put_to=None).delete()
    unused = Item.objects.filter(key__in=keys - _fixture_keys(Point.objects.all()))
    unused = unused.filter(terms=None, absences=None, decision=None, differences=None)
    unused.filter(pack_factors=None).delete()


def _fixture_keys(points: QuerySet[Point]) -> set[str]:
    """Keys of the items that outlets and controls are; they have no terms."""
    return set(map(item_key, points.values_list("name", flat=True).distinct()))
