"""Bringing a workbook into a layout that exists: places keep their keys, items one set of terms."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from drills.engine.layout import Compartment, Layout, StockLine


@dataclass(frozen=True, slots=True)
class Change:
    """One difference between two revisions: `what` happened to `name`, from `before` to `after`."""

    what: str
    name: str
    before: str = ""
    after: str = ""


def settle(layout: Layout, known: Mapping[str, str]) -> Layout:
    """Give every compartment its place key and every item one set of terms.

    `known` are place keys by compartment code from the revision before. A compartment keeps the
    key it names, else the one its code had, else its code becomes the key. Where lines of one item
    differ in terms the first line stands.
    """
    taken = {each.place for each in layout.compartments if each.place}
    kept = {
        each.code: known[each.code]
        for each in layout.compartments
        if not each.place and known.get(each.code, "") not in {"", *taken}
    }
    taken |= set(kept.values())
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
            found.append(Change("added", now.path(each.code)))
        elif _parent_key(before, old) != _parent_key(now, each) or _face(before, old) != _face(
            now, each
        ):
            found.append(Change("moved", each.name, before.path(old.code), now.path(each.code)))
        elif (old.code, old.name) != (each.code, each.name):
            found.append(Change("renamed", each.name, before.path(old.code), now.path(each.code)))
    return found + [Change("removed", before.path(each.code)) for each in was.values()]


def _parent_key(layout: Layout, each: Compartment) -> str:
    return layout.by_code[each.inside].key if each.inside else ""


def _face(layout: Layout, each: Compartment) -> str:
    """The face of a top compartment; a nested one goes where its parent goes."""
    return "" if each.inside else layout.face_of(each.code)


def _line_changes(before: Layout, now: Layout) -> list[Change]:
    was, found = _lines_by_item(before), []
    for key, places in _lines_by_item(now).items():
        old = was.pop(key, {})
        name = now.things[key].name
        gone = [place for place in old if place not in places]
        come = [place for place in places if place not in old]
        for place in come:
            came_from = gone.pop(0) if gone else None
            found.append(
                Change("moved", name, old[came_from][1], places[place][1])
                if came_from
                else Change("added", name, after=places[place][1])
            )
        found += [Change("removed", name, before=old[place][1]) for place in gone]
        found += [
            Change("par changed", name, str(old[place][0]), f"{par} in {path}")
            for place, (par, path) in places.items()
            if place in old and old[place][0] != par
        ]
    for key, places in was.items():
        found += [
            Change("removed", before.things[key].name, before=path) for _, path in places.values()
        ]
    return found


def _lines_by_item(layout: Layout) -> dict[str, dict[str, tuple[int, str]]]:
    """Par and path by place key, for each item."""
    found: dict[str, dict[str, tuple[int, str]]] = {}
    for line in layout.stock:
        place = layout.by_code[line.compartment]
        found.setdefault(line.key, {})[place.key] = (line.par, layout.path(place.code))
    return found
