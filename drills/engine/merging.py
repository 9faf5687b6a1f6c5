"""Bringing a workbook into a layout that exists: places keep their keys, items one set of terms."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from drills.engine.facts import BAG, Fact, facts_of
from drills.engine.layout import FACE_NAMES, Compartment, Layout, StockLine

REDRAWN = "drawn elsewhere"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference between two revisions: `what` happened to `name`, from `before` to `after`.

    Of a place `lines_inside` are the stock lines in it, which come along and are not told apart.
    `behind_lock` is whether it is or was kept behind a lock, so that paper does not say it.
    """

    what: str
    name: str
    before: str = ""
    after: str = ""
    lines_inside: int = 0
    behind_lock: bool = False


class _Kept(NamedTuple):
    """A line of an item: its par, the path of its place, and whether that is locked."""

    par: int
    path: str
    is_locked: bool


def settle(layout: Layout, known: Mapping[str, str], used: Collection[str] = ()) -> Layout:
    """Give every compartment its place key and every item one set of terms.

    `known` are place keys by the code each had last, `used` all keys the layout ever had. A
    compartment keeps the key it names, else the one its code had, else its code becomes the key,
    with a sign behind it where the key was another place's. Where lines of one item differ in
    terms the first line stands.
    """
    taken = {each.place for each in layout.compartments if each.place}
    kept = {
        each.code: known[each.code]
        for each in layout.compartments
        if not each.place and known.get(each.code, "") not in {"", *taken}
    }
    taken |= {*kept.values(), *used}
    compartments = []
    for each in layout.compartments:
        key = each.place or kept.get(each.code) or _free_key(each.code, taken)
        taken.add(key)
        compartments.append(replace(each, place=key))
    return replace(layout, compartments=tuple(compartments), stock=_with_first_terms(layout))


def _free_key(code: str, taken: set[str]) -> str:
    wanted = code
    while wanted in taken:
        wanted += "+"
    return wanted


def _with_first_terms(layout: Layout) -> tuple[StockLine, ...]:
    first: dict[str, StockLine] = {}
    for line in layout.stock:
        first.setdefault(line.key, line)
    return tuple(
        replace(
            first[line.key],
            compartment=line.compartment,
            par=line.par,
            critical=line.critical,
            expires=line.expires,
            notes=line.notes,
        )
        for line in layout.stock
    )


def changes(before: Layout | None, now: Layout) -> tuple[Change, ...]:
    """What `now` changes: places and lines added, moved, removed, renamed, and par changed."""
    if before is None:
        return (Change("added", now.name, after=f"{len(now.stock)} stock lines"),)
    return (*_place_changes(before, now), *_line_changes(before, now))


def _place_changes(before: Layout, now: Layout) -> list[Change]:
    was = {each.key: each for each in before.compartments}
    found = []
    for each in now.compartments:
        old = was.pop(each.key, None)
        if old is None:
            found.append(
                Change("added", now.path(each.code), behind_lock=_is_behind_lock(now, each))
            )
        elif change := _moved_place(before, old, now, each) or _renamed(before, old, now, each):
            behind_lock = _is_behind_lock(before, old) or _is_behind_lock(now, each)
            found.append(replace(change, behind_lock=behind_lock))
    return found + [
        Change("removed", before.path(each.code), behind_lock=_is_behind_lock(before, each))
        for each in was.values()
    ]


def _renamed(before: Layout, old: Compartment, now: Layout, each: Compartment) -> Change | None:
    if (old.code, old.name) == (each.code, each.name):
        return None
    return Change("renamed", each.name, before.path(old.code), now.path(each.code))


def _is_behind_lock(layout: Layout, place: Compartment) -> bool:
    """Whether a place is inside a locked one; the locked one itself may be named."""
    return bool(place.inside) and layout.is_locked(place.inside)


def _moved_place(before: Layout, old: Compartment, now: Layout, each: Compartment) -> Change | None:
    """Whether a place lies in another one, on another face, or elsewhere where it was."""
    was, becomes = before.path(old.code), now.path(each.code)
    inside = _lines_inside(now, each.code)
    if _parent_key(before, old) != _parent_key(now, each):
        return Change("moved", each.name, was, becomes, lines_inside=inside)
    faces = _face(before, old), _face(now, each)
    if faces[0] != faces[1]:
        was, becomes = f"{was}, {FACE_NAMES[faces[0]]}", f"{becomes}, {FACE_NAMES[faces[1]]}"
        return Change("moved", each.name, was, becomes, lines_inside=inside)
    spots = _spot(before, old), _spot(now, each)
    if None in spots or spots[0] == spots[1]:
        return None
    was, becomes = f"{was}, {_words(spots[0])}", f"{becomes}, {_words(spots[1])}"
    return Change(REDRAWN, each.name, was, becomes, lines_inside=inside)


def _spot(layout: Layout, each: Compartment) -> tuple[int, int] | None:
    """Where a place is drawn, in what it is in where that is drawn as well."""
    if each.rect is None:
        return None
    above = layout.by_code[each.inside].rect if each.inside else None
    return (each.rect.x - above.x, each.rect.y - above.y) if above else (each.rect.x, each.rect.y)


def _words(spot: tuple[int, int] | None) -> str:
    return f"{spot[0]} from the left, {spot[1]} from the top" if spot else "not drawn"


def _lines_inside(layout: Layout, code: str) -> int:
    inside = sum(_lines_inside(layout, each.code) for each in layout.children.get(code, ()))
    return len(layout.lines_in.get(code, ())) + inside


def to_relearn(before: Layout, now: Layout) -> tuple[Fact, ...]:
    """The facts that were not true before, or not there, in the order of the layout.

    A bag that moved is one of them; what is known of its inside stays known. A place that is not
    carried and went into another, or onto another face, took along all that lies in it.
    """
    known = {fact: _stands(before, fact) for fact in facts_of(before)}
    return tuple(fact for fact in facts_of(now) if known.get(fact) != _stands(now, fact))


def _stands(layout: Layout, fact: Fact) -> tuple[str, ...]:
    """The places from that of a fact up to the bag it is in, or to the face."""
    found: list[str] = []
    for each in reversed(layout.chain(layout.by_key[fact.place].code)):
        found.append(each.key)
        if each.is_bag and (fact.kind, fact.thing) != (BAG, each.key):
            return tuple(found)
    return (*found, layout.face_of(layout.by_key[found[-1]].code))


def _parent_key(layout: Layout, each: Compartment) -> str:
    return layout.by_code[each.inside].key if each.inside else ""


def _face(layout: Layout, each: Compartment) -> str:
    """The face of a top compartment; a nested one goes where its parent goes."""
    return "" if each.inside else layout.face_of(each.code)


def _line_changes(before: Layout, now: Layout) -> list[Change]:
    was, becomes = _lines_by_item(before), _lines_by_item(now)
    found: list[Change] = []
    for key in becomes | was:
        thing = now.things.get(key) or before.things[key]
        found += _item_changes(thing.name, was.get(key, {}), becomes.get(key, {}))
    return found


def _item_changes(
    name: str, was: Mapping[str, _Kept], becomes: Mapping[str, _Kept]
) -> list[Change]:
    """What happened to the lines of one item; a line gone and a line come are one that moved."""
    gone = [kept for place, kept in was.items() if place not in becomes]
    come = [kept for place, kept in becomes.items() if place not in was]
    found = [
        Change("moved", name, old.path, new.path, behind_lock=old.is_locked or new.is_locked)
        for old, new in zip(gone, come, strict=False)
    ]
    found += [
        Change("added", name, after=new.path, behind_lock=new.is_locked)
        for new in come[len(gone) :]
    ]
    found += [
        Change("removed", name, before=old.path, behind_lock=old.is_locked)
        for old in gone[len(come) :]
    ]
    return found + _par_changes(name, was, becomes)


def _par_changes(name: str, was: Mapping[str, _Kept], becomes: Mapping[str, _Kept]) -> list[Change]:
    stayed = {place: (was[place], new) for place, new in becomes.items() if place in was}
    return [
        Change(
            "par changed",
            name,
            str(old.par),
            f"{new.par} in {new.path}",
            behind_lock=old.is_locked or new.is_locked,
        )
        for old, new in stayed.values()
        if old.par != new.par
    ]


def _lines_by_item(layout: Layout) -> dict[str, dict[str, _Kept]]:
    """What is kept of each item, by place key."""
    found: dict[str, dict[str, _Kept]] = {}
    for line in layout.stock:
        place = layout.by_code[line.compartment]
        found.setdefault(line.key, {})[place.key] = _Kept(
            line.par, layout.path(place.code), layout.is_locked(place.code)
        )
    return found
