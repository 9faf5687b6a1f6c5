"""What is asked: where people can stand, what they have to open, what lies where, and the kit.

All times are whole hundredths of a second (cs), so that sums are exact and a plan that is no
quicker is seen to be none.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from drills.engine.door import NotUnderstoodError


class StatementError(NotUnderstoodError):
    """A question that has no answer; the text says what is wrong with it."""


class Place(NamedTuple):
    """A place that is taken from: the code of its compartment, and the `part` of it that counts as
    a place of its own, empty of the whole."""

    code: str
    part: str = ""

    @property
    def name(self) -> str:
        """As it is printed, told apart from all others."""
        return f"{self.code} {self.part}" if self.part else self.code


@dataclass(frozen=True, slots=True)
class Need:
    """So many of a thing, `pick_cs` for each; `hands` is what one of them takes of a person."""

    name: str
    quantity: int
    pick_cs: int
    hands: int = 0


@dataclass(frozen=True, slots=True)
class Opening:
    """A compartment in the way, and what it takes to face, open and look into it, paid once.

    `locked` is the code of the compartment where it has a lock, which is paid for in the same.
    """

    code: str
    cs: int
    locked: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A lowest place that holds something needed, as it is reached from one side.

    Sources of one `place` share its stock, and only one of them is used. `openings` are the
    numbers of all that is opened on the way, itself among them; `stock` is by the number of the
    need, `bags` the numbers of the bags it lies in.
    """

    place: Place
    stop: int
    openings: tuple[int, ...]
    stock: Mapping[int, int]
    bags: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Way:
    """How a bag is reached: where one stands, and what is opened for it."""

    stop: int
    openings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Bag:
    """What may be brought whole: `cs` to take it up, and `hands` that it fills.

    `within` are the numbers of the bags that it lies in itself. A cot `carries`: whoever brings it
    has no limit of hands on that walk. `holds` is what comes with it and cannot be taken out, by
    the number of the need, such as the cot itself.
    """

    code: str
    cs: int
    ways: tuple[Way, ...]
    hands: int = 1
    within: frozenset[int] = frozenset()
    carries: bool = False
    holds: Mapping[int, int] = field(default_factory=dict, hash=False)


@dataclass(frozen=True)
class Statement:
    """The whole question.

    `walk_cs[i][j]` is the time from stop to stop, a metric; the last two are where the walk begins
    and where the patient is. `hands` is what a person can carry at a time without a cot, None
    without a limit.
    """

    needs: tuple[Need, ...]
    openings: tuple[Opening, ...]
    sources: tuple[Source, ...]
    bags: tuple[Bag, ...]
    walk_cs: tuple[tuple[int, ...], ...]
    hands: int | None = 2

    @property
    def stops(self) -> int:
        """How many places there are to stand at."""
        return len(self.walk_cs) - 2

    @property
    def begin(self) -> int:
        return len(self.walk_cs) - 2

    @property
    def end(self) -> int:
        return len(self.walk_cs) - 1

    @property
    def is_closed(self) -> bool:
        """Whether the walk ends where it began."""
        return self.walk_cs[self.begin][self.end] == 0

    @cached_property
    def content(self) -> tuple[Mapping[int, int], ...]:
        """What comes with each bag, by the number of the need."""
        found: list[dict[int, int]] = [dict(bag.holds) for bag in self.bags]
        seen: set[tuple[Place, int]] = set()
        for source in self.sources:
            for bag in source.bags:
                if (source.place, bag) in seen:
                    continue
                seen.add((source.place, bag))
                for need, count in source.stock.items():
                    found[bag][need] = found[bag].get(need, 0) + count
        return tuple(found)

    def there_is(self, need: int) -> int:
        """How many there are aboard of what is needed."""
        places = {each.place: each.stock.get(need, 0) for each in self.sources}
        return sum(places.values()) + sum(bag.holds.get(need, 0) for bag in self.bags)

    @cached_property
    def useful_bags(self) -> tuple[int, ...]:
        """The bags in which anything lies that is needed, and cots where hands may not do."""
        heavy = sum(need.hands * need.quantity for need in self.needs)
        filled = [number for number, content in enumerate(self.content) if content]
        most = heavy + sum(self.bags[number].hands for number in filled)
        is_full = self.hands is not None and most > self.hands
        cots = [n for n, bag in enumerate(self.bags) if bag.carries and is_full]
        return tuple(sorted({*filled, *cots}))

    def in_units(self) -> "Statement":
        """The same with a place of its own, at no cost, for each heavy thing that lies somewhere.

        So two people may take one each out of the same compartment.
        """
        found = [part for each in self.sources for part in self._parts(each)]
        return replace(self, sources=tuple(found))

    def _parts(self, source: Source) -> Iterator[Source]:
        light = {need: n for need, n in source.stock.items() if not self.needs[need].hands}
        if light or not source.stock:
            yield replace(source, stock=light)
        for need, count in source.stock.items():
            if self.needs[need].hands:
                for unit in range(min(count, self.needs[need].quantity)):
                    place = self.unit_of(source.place, need, unit)
                    yield replace(source, place=place, stock={need: 1})

    @staticmethod
    def unit_of(place: Place, need: int, unit: int) -> Place:
        """The place that one heavy thing of several has for itself."""
        return Place(place.code, f"{place.part} {need}.{unit}".lstrip())

    def at_stops(self, kept: Sequence[int]) -> "Statement":
        """The same with some of the stops alone, numbered anew in their order."""
        new = {stop: at for at, stop in enumerate(kept)}
        nodes = (*kept, self.begin, self.end)
        bags = [
            replace(
                bag, ways=tuple(replace(w, stop=new[w.stop]) for w in bag.ways if w.stop in new)
            )
            for bag in self.bags
        ]
        return replace(
            self,
            sources=tuple(replace(e, stop=new[e.stop]) for e in self.sources if e.stop in new),
            bags=tuple(bags),
            walk_cs=tuple(tuple(self.walk_cs[a][b] for b in nodes) for a in nodes),
        )

    def stops_of_use(self) -> tuple[int, ...]:
        """The stops where anything can be fetched."""
        bags = {way.stop for n in self.useful_bags for way in self.bags[n].ways}
        return tuple(sorted(bags | {each.stop for each in self.sources if each.stock}))

    def _check_walk(self) -> None:
        walk = np.array(self.walk_cs)
        for middle in range(len(walk)):
            longer = np.argwhere(walk > walk[:, middle][:, None] + walk[middle])
            if len(longer):
                start, end = longer[0]
                raise StatementError(f"From {start} to {end} it is quicker by way of {middle}.")

    def check(self) -> None:
        """Raise `StatementError` where times break the triangle or something is not aboard."""
        self._check_walk()
        for source in self.sources:
            heavy = [need for need in source.stock if self.needs[need].hands]
            if heavy and sum(source.stock.values()) > 1:
                raise StatementError(
                    f"{source.place.name}: each heavy thing has a place of its own."
                )
        for number, need in enumerate(self.needs):
            if self.there_is(number) < need.quantity:
                raise StatementError(
                    f"{need.name}: {need.quantity} are needed, and {self.there_is(number)} aboard."
                )
