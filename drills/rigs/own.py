"""A rig as it is: its layout, with the short list of what it carries elsewhere."""

from collections.abc import Collection
from dataclasses import dataclass

from drills.engine import layout as engine
from drills.engine.elsewhere import APPLIES, SAME, Elsewhere, standing
from drills.people.prepared import Prepared
from drills.rigs.models import Absence, Rig, RigDifference
from drills.rigs.reading import layout_of

# Asked with every prompt, so for the keys alone and in no order of the tables.
_DIFFERENCES = Prepared(
    lambda rig: (
        RigDifference.objects.open()
        .filter(rig=rig)
        .order_by()
        .values_list("item__key", "place__key", "here__key")
    )
)


@dataclass(frozen=True, slots=True)
class OwnLine:
    """One difference of a rig in words: the thing, where the layout says it is, where it is here.

    `here` is empty when it is not aboard. `applies` is whether the layout of the rig still says
    otherwise; where it does not and says not the same either, somebody must look. `codes` are
    those of the places it speaks of.
    """

    difference: RigDifference
    name: str
    says: tuple[str, ...]
    here: str
    applies: bool
    codes: tuple[str, ...]


def own_of(rig: Rig | None) -> tuple[Elsewhere, ...]:
    """What a rig carries elsewhere now, in a stable order."""
    if rig is None:
        return ()
    rows = _DIFFERENCES(rig=rig.pk)
    return tuple(sorted(Elsewhere(item, place or "", here or "") for item, place, here in rows))


def own_of_each(rigs: Collection[Rig]) -> dict[int, tuple[Elsewhere, ...]]:
    """The same of several rigs, by rig, in one query."""
    here = RigDifference.objects.open().filter(rig__in=rigs).order_by()
    found: dict[int, list[Elsewhere]] = {rig.pk: [] for rig in rigs}
    rows = here.values_list("rig_id", "item__key", "place__key", "here__key")
    for rig, item, place, now in rows:
        found[rig].append(Elsewhere(item, place or "", now or ""))
    return {rig: tuple(sorted(each)) for rig, each in found.items()}


def as_engine(difference: RigDifference) -> Elsewhere:
    """A difference in the engine's terms."""
    return Elsewhere(
        difference.item.key,
        difference.place.key if difference.place else "",
        difference.here.key if difference.here else "",
    )


def layout_on(rig: Rig) -> engine.Layout:
    """What there is to know on a rig: the layout it rides, with its own differences."""
    return layout_of(rig.revision, own_of(rig))


def unknown_pairs(rig: Rig, own: Collection[Elsewhere]) -> frozenset[tuple[str, str]]:
    """Things that nobody knows the place of on this rig, to be held out of drills there: the
    layout it rides now speaks of them otherwise than when the difference was told.

    `own` is what it carries elsewhere.
    """
    layout = layout_of(rig.revision) if own else None
    return frozenset(
        (each.thing, "")
        for each in own
        if layout is not None and standing(layout, each) not in {APPLIES, SAME}
    )


def own_lines(rig: Rig) -> list[OwnLine]:
    """The differences of a rig in words, by the name of the thing."""
    layout = layout_of(rig.revision)
    codes = {each.key: each.code for each in layout.compartments}
    return sorted(
        (_line(layout, codes, each) for each in _open(rig)), key=lambda line: line.name.casefold()
    )


def own_about(report: Absence) -> list[OwnLine]:
    """What the rig's own list says of a report: of its thing, or of the place it is about."""
    place = report.place_id
    return [
        each
        for each in own_lines(report.rig)
        if each.difference.item_id == report.item_id
        or (not report.item_id and place in {each.difference.place_id, each.difference.here_id})
    ]


def things_there(report: Absence) -> list[tuple[str, str]]:
    """What is in the place that was reported, on this rig, by key and name."""
    layout = layout_on(report.rig)
    place = report.place.key if report.place else ""
    here = [each.code for each in layout.compartments if each.key == place]
    return [(line.key, line.item) for code in here for line in layout.lines_in.get(code, ())]


def taken_from(report: Absence, thing: str) -> str:
    """The code of the place where the layout says a thing is that a report is about.

    It is where the crew looked, or, where the rig's own list sent them there, where that takes
    it from; empty when it may be any of the places the thing has.
    """
    if report.place is None:
        return ""
    layout = layout_of(report.rig.revision)
    told = report.rig.differences.open().filter(item__key=thing, here=report.place).first()
    wanted = told.place if told else report.place
    known = layout.things.get(thing)
    return next(
        (
            code
            for code in (known.places if known else ())
            if wanted and layout.by_code[code].key == wanted.key
        ),
        "",
    )


def _line(layout: engine.Layout, codes: dict[str, str], row: RigDifference) -> OwnLine:
    thing = layout.things.get(row.item.key)
    if row.place:
        said = [codes[row.place.key]] if row.place.key in codes else []
    else:
        said = list(thing.places) if thing else []
    here = codes.get(row.here.key, "") if row.here else ""
    return OwnLine(
        difference=row,
        name=thing.name if thing else row.item.name,
        says=tuple(map(layout.path, said)),
        here=layout.path(here) if here else row.here.key if row.here else "",
        applies=standing(layout, as_engine(row)) == APPLIES,
        codes=tuple(filter(None, (*said, here))),
    )


def _open(rig: Rig) -> "list[RigDifference]":
    rows = rig.differences.open().select_related("item", "place", "here", "by", "rig")
    return list(rows)
