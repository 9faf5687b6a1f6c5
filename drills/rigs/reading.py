"""A revision as the engine's value object."""

from collections.abc import Collection, Iterable
from datetime import datetime
from decimal import Decimal
from functools import lru_cache

from drills.engine import layout as engine
from drills.engine.elsewhere import Elsewhere, on_rig
from drills.engine.scoring import NOTHING_MOVED, Moved, moved_since
from drills.rigs.models import (
    Compartment,
    ItemTerms,
    Layout,
    Revision,
    RevisionState,
    StockLine,
)


def layout_of(revision: Revision, differences: Iterable[Elsewhere] = ()) -> engine.Layout:
    """All that a revision says, as a rig with these differences has it.

    One that was in force never changes and is kept in memory; one to come may be called off,
    and be a draft again.
    """
    own = tuple(sorted(differences))
    if revision.state in (RevisionState.DRAFT, RevisionState.COMING):
        return on_rig(_read(revision), own)
    said = revision.pk, revision.imported_at
    return _kept_on_rig(*said, own) if own else _kept(*said)


def codes_by_place(layout: Layout) -> dict[str, str]:
    """The code that each place had last in a revision in force, by key, the latest place last.

    While none was in force it is the draft.
    """
    rows = Compartment.objects.filter(revision__layout=layout)
    if layout.revisions.exclude(state=RevisionState.DRAFT).exists():
        rows = rows.exclude(revision__state=RevisionState.DRAFT)
    last: dict[str, str] = {}
    for key, code in rows.order_by("revision__number").values_list("place__key", "code"):
        last.pop(key, None)
        last[key] = code
    return last


def terms_elsewhere(keys: Collection[str]) -> dict[str, dict[str, str]]:
    """What belongs to items that any layout carries, as cells of a workbook, by the item's key."""
    rows = ItemTerms.objects.filter(item__key__in=keys).select_related("item")
    return {
        row.item.key: {
            "item": row.name,
            "unit": row.unit,
            "category": row.category,
            "aliases": ";".join(row.aliases),
            "presentation": row.presentation,
            "weight_kg": row.weight_kg,
            "need": row.need_given,
        }
        for row in rows.order_by("revision_id")  # the newest last, which stands
    }


def moved_by(revision: Revision, since: Revision | None = None) -> Moved:
    """What a revision moved since the one before it, or an earlier one that is named."""
    said = revision.pk, revision.imported_at
    before = (since.pk, since.imported_at) if since else _kept_before(*said)
    return _kept_moves(before, said) if before else NOTHING_MOVED


@lru_cache(maxsize=32)
def _kept(revision_id: int, _imported_at: datetime) -> engine.Layout:
    """A number may come again, when what had it was taken back; then not at the same moment."""
    return _read(Revision.objects.select_related("layout").get(pk=revision_id))


@lru_cache(maxsize=64)
def _kept_on_rig(
    revision_id: int, imported_at: datetime, own: tuple[Elsewhere, ...]
) -> engine.Layout:
    return on_rig(_kept(revision_id, imported_at), own)


@lru_cache(maxsize=32)
def _kept_before(revision_id: int, _imported_at: datetime) -> tuple[int, datetime] | None:
    """What a revision that was in force followed, which never changes either."""
    before = Revision.objects.select_related("layout").get(pk=revision_id).before
    return (before.pk, before.imported_at) if before else None


@lru_cache(maxsize=32)
def _kept_moves(before: tuple[int, datetime], now: tuple[int, datetime]) -> Moved:
    return moved_since(_kept(*before), _kept(*now))


def forget_kept() -> None:
    """Drop what is kept in memory; for tests, whose databases come and go."""
    _kept.cache_clear()
    _kept_on_rig.cache_clear()
    _kept_before.cache_clear()
    _kept_moves.cache_clear()


def _read(revision: Revision) -> engine.Layout:
    rows = list(revision.compartments.select_related("place"))
    codes = {row.pk: row.code for row in rows}
    lines = StockLine.objects.filter(compartment__revision=revision).select_related(
        "terms", "terms__need"
    )
    return engine.Layout(
        name=revision.name,
        slug=revision.layout.slug,
        body=revision.body,
        length_m=_decimal(revision.length_m),
        width_m=_decimal(revision.width_m),
        height_m=_decimal(revision.height_m),
        notes=revision.notes,
        compartments=tuple(_compartment(row, codes) for row in rows),
        stock=tuple(_line(row, codes) for row in lines),
        points=tuple(
            engine.Point(
                point.code,
                point.kind,
                point.name,
                point.face,
                point.x,
                point.y,
                tuple(point.serves),
            )
            for point in revision.points.all()
        ),
    )


def _compartment(row: Compartment, codes: dict[int, str]) -> engine.Compartment:
    return engine.Compartment(
        code=row.code,
        name=row.name,
        inside=codes[row.inside_id] if row.inside_id else "",
        face=row.face,
        rect=_rect(row.rect),
        also_face=row.also_face,
        also_rect=_rect(row.also_rect),
        opens=row.opens,
        closure=row.closure,
        carried=row.carried,
        locked=row.is_locked,
        sealed=row.is_sealed,
        reach_from=tuple(row.reach_from),
        height=row.height,
        place=row.place.key,
        notes=row.notes,
    )


def _line(row: StockLine, codes: dict[int, str]) -> engine.StockLine:
    terms = row.terms
    return engine.StockLine(
        compartment=codes[row.compartment_id],
        item=terms.name,
        par=row.par,
        unit=terms.unit,
        category=terms.category,
        critical=row.is_critical,
        aliases=tuple(terms.aliases),
        presentation=terms.presentation,
        weight_kg=_decimal(terms.weight_kg),
        need=terms.need_given,
        expires=row.expires,
        notes=row.notes,
    )


def _rect(values: Iterable[int] | None) -> engine.Rect | None:
    return engine.Rect(*values) if values else None


def _decimal(text: str) -> Decimal | None:
    return Decimal(text) if text else None
