"""Photos that may be shown: never of a place that is locked or holds what is controlled."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Q

from drills.engine.layout import Compartment
from drills.engine.layout import Layout as EngineLayout
from drills.engine.ties import plain
from drills.rigs.models import ItemTerms, Need, Place, PlacePhoto, Revision, RevisionState
from drills.rigs.reading import layout_of
from drills.rigs.ties import decision_on, likest_of, own_strengths, worded_needs


@dataclass(frozen=True, slots=True)
class ShownPhoto:
    """A photo with the path of the place that it is of."""

    path: str
    photo: PlacePhoto


def photos_by_code(
    revision: Revision, codes: Iterable[str], *, layout: EngineLayout
) -> dict[str, ShownPhoto]:
    """For each place the photo of the nearest one up to its door, where there is any to be shown.

    `layout` is the revision as it is ridden, differences of a rig included.
    """
    codes = list(codes)
    photos = _photos_of(revision) if codes else {}
    nearest = {
        code: pictured[-1]
        for code in codes
        if (pictured := [each.code for each in _chain(layout, code) if each.key in photos])
    }
    if not nearest:
        return {}
    places = {layout.by_code[code].key for code in nearest.values()}
    hidden = controlled_among(places, revision.layout_id, also=revision)
    bad = controlled_codes(revision, layout, set(nearest.values()))
    return {
        code: ShownPhoto(layout.path(of), photos[key])
        for code, of in nearest.items()
        if of not in bad and (key := layout.by_code[of].key) not in hidden
    }


def _photos_of(revision: Revision) -> dict[str, PlacePhoto]:
    """Every photo of a layout's places, by key, the pictures themselves left out."""
    rows = PlacePhoto.objects.filter(place__layout=revision.layout_id).defer("image")
    return {row.place.key: row for row in rows.select_related("place")}


def _chain(layout: EngineLayout, code: str) -> tuple[Compartment, ...]:
    """From the door inwards; none of what the layout does not have."""
    return layout.chain(code) if code in layout.by_code else ()


def each_once(found: Iterable[ShownPhoto | None]) -> list[ShownPhoto]:
    """The photos in their order, none twice."""
    return list(dict.fromkeys(each for each in found if each))


def controlled_in(place: Place) -> Revision | None:
    """A revision in which a place is controlled, of those in force, to come, drafted or ridden."""
    for revision in _looked_at(place.layout_id):
        if _controlled_keys(revision, {place.key}):
            return revision
    return None


def controlled_among(keys: Collection[str], layout_id: int, *, also: Revision) -> set[str]:
    """The places, by key, that are controlled in any such revision."""
    revisions = [*_looked_at(layout_id), also]
    return {key for revision in revisions for key in _controlled_keys(revision, keys)}


def controlled_codes(revision: Revision, layout: EngineLayout, codes: Collection[str]) -> set[str]:
    """The places that are locked, have a locked one inside, or hold what is controlled: as tied
    or, while nobody has confirmed it, as it is likest to be."""
    inside = {code: list(_with_all_inside(layout, code)) for code in codes}
    keys = {
        code: {line.key for each in some for line in layout.lines_in.get(each, ())}
        for code, some in inside.items()
    }
    bad = controlled_items(revision, set().union(*keys.values()))
    return {
        code
        for code in codes
        if keys[code] & bad or any(layout.is_locked(each) for each in inside[code])
    }


def _looked_at(layout_id: int) -> list[Revision]:
    """All but the retired ones that no rig rides any more."""
    rows = Revision.objects.filter(layout=layout_id).filter(
        ~Q(state=RevisionState.RETIRED) | Q(rigs__isnull=False)
    )
    return list(rows.distinct().order_by("-number").select_related("layout"))


def _controlled_keys(revision: Revision, keys: Collection[str]) -> set[str]:
    """The places, by key, that are controlled in one revision."""
    layout = layout_of(revision)
    codes = {each.code: each.key for each in layout.compartments if each.key in keys}
    return {codes[code] for code in controlled_codes(revision, layout, codes)}


def controlled_items(revision: Revision, keys: Collection[str]) -> set[str]:
    """The items, by key, that are controlled in a revision: as tied, or as likest to be, or called
    as something controlled is, however it is packed."""
    terms = ItemTerms.objects.filter(revision=revision, item__key__in=keys)
    rows = list(terms.select_related("item__decision__need", "need"))
    words = _controlled_words()
    found = {row.item.key for row in rows if _is_called(row, words)}
    return found | _tied_to_controlled([row for row in rows if row.item.key not in found])


def _tied_to_controlled(rows: Collection[ItemTerms]) -> set[str]:
    """The items, by key, that are tied to what is controlled or likest to be it."""
    waiting = [row for row in rows if row.need is None and decision_on(row) is None]
    needs = {row.item.key: need for row in rows if (need := _need_of(row))}
    if waiting:
        needs |= likest_of(waiting, worded_needs())
    controlled = Need.objects.filter(is_controlled=True).exclude(medicine="")
    medicines = set(controlled.values_list("medicine", flat=True))
    own = {item for item, medicine in own_strengths(rows).items() if medicine in medicines}
    return own | {item for item, need in needs.items() if need.is_controlled}


def _controlled_words() -> tuple[str, ...]:
    """Names in both spellings and other words of the needs that are controlled."""
    needs = Need.objects.filter(is_controlled=True).select_related("further")
    words = (
        plain(word) for each in needs for word in (each.name_us, each.name_intl, *each.every_alias)
    )
    return tuple({word for word in words if word})


def _is_called(row: ItemTerms, words: Collection[str]) -> bool:
    """Whether the item's own words hold one of these whole."""
    said = [f" {plain(own)} " for own in (row.name, *row.aliases)]
    return any(f" {word} " in own for word in words for own in said)


def _need_of(row: ItemTerms) -> Need | None:
    decided = decision_on(row)
    return row.need or (decided.need if decided else None)


def _with_all_inside(layout: EngineLayout, code: str) -> Iterator[str]:
    yield code
    for inner in layout.children.get(code, ()):
        yield from _with_all_inside(layout, inner.code)
