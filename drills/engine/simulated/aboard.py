"""The kit of real layouts, to be lived with instead of a drawn one: which thing is which fact.

A thing of the simulator is a step: an item at one of its places, or a bag. What a revision puts
elsewhere stays the same thing; what it takes away is there no more.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from drills.engine.facts import BAG, Fact, steps
from drills.engine.layout import Layout
from drills.engine.simulated.cast import CATEGORIES, OTHER_LAYOUT, SLOW, Kit, at_hand

Ints = NDArray[np.int_]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Revised:
    """A revision that comes into force on a day: `things` are those that lie elsewhere from then
    on, by number; `bag` and `there` are as in a kit, of this layout. A share `told` of those who
    ride it are shown the new places that day."""

    day: int
    layout: int
    things: Ints
    bag: Ints
    there: Flags
    told: float


@dataclass(frozen=True, slots=True)
class Aboard:
    """A kit of layouts with their revisions, for one world alone, which changes it.

    `facts` are of each layout the days of its revisions, and by number the fact of each thing then.
    """

    kit: Kit
    revisions: tuple[Revised, ...]
    facts: tuple[tuple[tuple[int, Mapping[int, Fact]], ...], ...]

    def facts_on(self, layout: int, day: float) -> Mapping[int, Fact]:
        """The facts of a layout by the number of their thing, as it was arranged on a day."""
        before = [facts for since, facts in self.facts[layout] if since <= day]
        return before[-1] if before else self.facts[layout][0][1]


@dataclass(frozen=True, slots=True)
class _Lane:
    """One thing through the revisions of its layout; no fact where it is not there."""

    layout: int
    category: str
    facts: tuple[Fact | None, ...]


def aboard(
    rigs: Sequence[Sequence[tuple[int, Layout]]],
    rng: Generator,
    *,
    wanted: Mapping[str, float],
    told: float,
) -> Aboard:
    """The kit of some layouts, each as its revisions with the day from which they are in force.

    `wanted` weighs by key how often drills ask for an item, where that is not 1; a share `told` is
    shown what a revision moved.
    How quickly things are found and how often they are come across is drawn. Of bags in bags the
    inner one alone is asked for.
    """
    lanes = [lane for at, revisions in enumerate(rigs) for lane in _lanes(at, revisions)]
    # A kit numbers its bags after all else.
    lanes.sort(key=lambda lane: _any_fact(lane).kind == BAG)
    kit = _first_kit(lanes, len(rigs), rng, wanted)
    facts = tuple(
        tuple(
            (since, _facts_of(lanes, at, revision)) for revision, (since, _) in enumerate(revisions)
        )
        for at, revisions in enumerate(rigs)
    )
    for at, revisions in enumerate(rigs):
        kit.there[at], held = _as_arranged(lanes, facts[at][0][1], revisions[0][1])
        kit.bag[kit.there[at]] = held[kit.there[at]]
    return Aboard(kit, tuple(_revised(lanes, rigs, facts, told)), facts)


def _any_fact(lane: _Lane) -> Fact:
    return next(fact for fact in lane.facts if fact is not None)


def _lanes(at: int, revisions: Sequence[tuple[int, Layout]]) -> Iterator[_Lane]:
    """The things of one layout: what stays where it is, then what was put elsewhere."""
    named = {key: thing.category for _, each in revisions for key, thing in each.things.items()}
    found: dict[tuple[str, str], list[list[Fact | None]]] = defaultdict(list)
    for number, (_, layout) in enumerate(revisions):
        here = _by_thing(layout)
        for what in dict.fromkeys([*found, *here]):
            _lengthen(found[what], here.get(what, []), number)
    for (kind, key), rows in found.items():
        for row in rows:
            yield _Lane(at, kind if kind == BAG else named[key], tuple(row))


def _lengthen(rows: list[list[Fact | None]], facts: Sequence[Fact], number: int) -> None:
    """Go on with the rows of one thing in the next revision."""
    left = [fact for fact in facts if fact not in {row[-1] for row in rows}]
    for row in rows:
        stays = row[-1] in facts
        row.append(row[-1] if stays else left.pop(0) if left else None)
    rows += [[*[None] * number, fact] for fact in left]


def _by_thing(layout: Layout) -> dict[tuple[str, str], list[Fact]]:
    """The facts of each item and bag, in a stable order."""
    found: dict[tuple[str, str], list[Fact]] = defaultdict(list)
    for fact in dict.fromkeys(fact for way in _ways(layout) for fact in way):
        found[fact.kind, fact.thing].append(fact)
    return found


def _ways(layout: Layout) -> Iterator[tuple[Fact, ...]]:
    for key, thing in layout.things.items():
        for code in thing.places:
            yield steps(layout, key, code)


def _first_kit(
    lanes: Sequence[_Lane], layouts: int, rng: Generator, wanted: Mapping[str, float]
) -> Kit:
    """The things as drawn, in the first places of each; nothing is there yet."""
    things = sum(_any_fact(lane).kind != BAG for lane in lanes)
    many = len(lanes)
    named = sorted({lane.category for lane in lanes})
    slots: dict[Fact, int] = {}
    slot = np.array([slots.setdefault(_any_fact(lane), len(slots)) for lane in lanes])
    rival = _elsewhere(lanes, slot)
    return Kit(
        things=things,
        bag=np.full(many, -1),
        category=np.array([named.index(lane.category) % CATEGORIES for lane in lanes]),
        slow=rng.normal(0.0, SLOW, many),
        common=at_hand(things, many, rng),
        slot=np.tile(slot, (layouts, 1)),
        rival=np.tile(rival, (layouts, 1)),
        weight=np.tile(np.where(rival >= 0, OTHER_LAYOUT, 0.0), (layouts, 1)),
        place=np.tile(slot, (layouts, 1)),
        there=np.zeros((layouts, many), dtype=bool),
        wanted=np.array([wanted.get(_any_fact(lane).thing, 1.0) for lane in lanes]),
    )


def _elsewhere(lanes: Sequence[_Lane], slot: Ints) -> Ints:
    """For each thing the memory of the same on another layout, -1 for none."""
    first: dict[tuple[str, str], dict[int, int]] = defaultdict(dict)
    for at, lane in enumerate(lanes):
        fact = _any_fact(lane)
        first[fact.kind, fact.thing].setdefault(lane.layout, int(slot[at]))
    rival = np.full(len(lanes), -1)
    for at, lane in enumerate(lanes):
        fact = _any_fact(lane)
        others = first[fact.kind, fact.thing].items()
        rival[at] = next((s for layout, s in others if layout != lane.layout and s != slot[at]), -1)
    return rival


def _facts_of(lanes: Sequence[_Lane], layout: int, revision: int) -> dict[int, Fact]:
    return {
        at: fact
        for at, lane in enumerate(lanes)
        if lane.layout == layout and (fact := lane.facts[revision]) is not None
    }


def _as_arranged(
    lanes: Sequence[_Lane], facts: Mapping[int, Fact], layout: Layout
) -> tuple[Flags, Ints]:
    """What is there of all things, and the number of the bag that each lies in."""
    number = {fact: at for at, fact in facts.items()}
    there, bag = np.zeros(len(lanes), dtype=bool), np.full(len(lanes), -1)
    there[list(facts)] = True
    for *bags, item in _ways(layout):
        if bags:
            bag[number[item]] = number[bags[-1]]
    return there, bag


def _revised(
    lanes: Sequence[_Lane],
    rigs: Sequence[Sequence[tuple[int, Layout]]],
    facts: Sequence[Sequence[tuple[int, Mapping[int, Fact]]]],
    told: float,
) -> Iterator[Revised]:
    for at, revisions in enumerate(rigs):
        for number, (day, layout) in enumerate(revisions[1:], 1):
            before, after = facts[at][number - 1][1], facts[at][number][1]
            moved = [thing for thing in after if before.get(thing, after[thing]) != after[thing]]
            there, bag = _as_arranged(lanes, after, layout)
            yield Revised(day, at, np.array(moved, dtype=int), bag, there, told)
