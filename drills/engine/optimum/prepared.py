"""A statement made ready for the search: what cannot matter is left out, the rest is bit sets."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from drills.engine.optimum.statement import Bag, Source, Statement, Way
from drills.engine.optimum.tours import (
    MOST_IN_TABLE,
    MOST_SHARED,
    Table,
    both_table,
    order_of,
    tour_table,
)


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A source in bit sets: its stop, what is opened for it, and its place.

    `own_cs` is what its openings cost that no other source has.
    """

    source: Source
    number: int
    stop: int
    openings: int
    place: int
    stock: Mapping[int, int]
    own_cs: int


@dataclass(frozen=True, slots=True)
class Lift:
    """A bag that is brought whole, by its number, in one of its ways."""

    number: int
    bag: Bag
    way: Way


@dataclass(frozen=True, slots=True)
class Lifts:
    """Some bags that are brought whole."""

    each: tuple[Lift, ...] = ()

    @property
    def numbers(self) -> frozenset[int]:
        """The bags by their numbers."""
        return frozenset(lift.number for lift in self.each)

    @property
    def stops(self) -> int:
        """Where one stands for them."""
        return bits(lift.way.stop for lift in self.each)

    @property
    def openings(self) -> int:
        """What is opened for them."""
        return bits(opening for lift in self.each for opening in lift.way.openings)

    @property
    def cs(self) -> int:
        """What taking them up takes."""
        return sum(lift.bag.cs for lift in self.each)

    @property
    def hands(self) -> int:
        return sum(lift.bag.hands for lift in self.each)

    @property
    def carries(self) -> bool:
        """Whether a cot is among them, so that hands are no limit."""
        return any(lift.bag.carries for lift in self.each)


@dataclass(frozen=True, slots=True)
class Lifted:
    """A choice of bags, what is still needed beside them, and what picking that takes."""

    bags: Lifts
    left: tuple[int, ...]
    pick_cs: int

    @property
    def fixed_cs(self) -> int:
        """What is spent on it whatever is opened."""
        return self.bags.cs + self.pick_cs


class Tours(Protocol):
    """How long it takes to pass sets of stops: a bound, and the whole of it."""

    def least(self, stops: int) -> int:
        """Nothing that passes these stops takes less."""
        ...

    def exact(self, stops: int) -> int:
        """What passing these stops takes."""
        ...


class Walks:
    """The least walks through sets of stops: of all of them, or a bound from some of them."""

    def __init__(self, walk_cs: Sequence[Sequence[int]], first: Iterable[int] = ()) -> None:
        self._walk_cs = walk_cs
        self._stops = len(walk_cs) - 2
        self.kept = _kept(walk_cs, first)
        self.is_whole = len(self.kept) == self._stops
        nodes = [*self.kept, self._stops, self._stops + 1]
        self.table: Table = tour_table([[walk_cs[a][b] for b in nodes] for a in nodes])
        self._exact: dict[int, int] = {}

    def least(self, stops: int) -> int:
        """No walk through these stops takes less."""
        return int(self.table[self.known(stops)])

    def known(self, stops: int) -> int:
        """Those of some stops that are in the table."""
        if self.is_whole:
            return stops
        return sum(1 << at for at, stop in enumerate(self.kept) if stops >> stop & 1)

    def known_of(self, stops: NDArray[np.int64]) -> NDArray[np.int64]:
        """The same for a whole array of sets."""
        if self.is_whole:
            return stops
        found = np.zeros_like(stops)
        for at, stop in enumerate(self.kept):
            found |= ((stops >> stop) & 1) << at
        return found

    def exact(self, stops: int) -> int:
        """The least walk through these stops."""
        if self.is_whole:
            return int(self.table[stops])
        if stops not in self._exact:
            order = self.order(stops)
            nodes = [self._stops, *order, self._stops + 1]
            self._exact[stops] = sum(self._walk_cs[a][b] for a, b in pairwise(nodes))
        return self._exact[stops]

    def order(self, stops: int) -> tuple[int, ...]:
        """The stops in the order of the least walk."""
        return order_of(self._walk_cs, [each for each in range(self._stops) if stops >> each & 1])


class TwoWalks:
    """What two walks take together, neither of them empty; a bound where stops are many."""

    def __init__(self, first: Walks, second: Walks) -> None:
        self._first = first
        is_small = first.is_whole and len(first.kept) <= MOST_SHARED
        self.table = both_table(first.table, second.table) if is_small else first.table

    def least(self, stops: int) -> int:
        """No two walks through these stops take less."""
        return int(self.table[self._first.known(stops)])

    exact = least


def _kept(walk_cs: Sequence[Sequence[int]], first: Iterable[int]) -> tuple[int, ...]:
    """All stops where they fit in a table; else those that are passed anyway, then the farthest."""
    stops = len(walk_cs) - 2
    if stops <= MOST_IN_TABLE:
        return tuple(range(stops))
    kept = list(dict.fromkeys(first))[:MOST_IN_TABLE]
    while len(kept) < MOST_IN_TABLE:
        near = [*kept, stops, stops + 1]
        others = (each for each in range(stops) if each not in kept)
        kept.append(max(others, key=lambda stop: min(walk_cs[stop][each] for each in near)))
    return tuple(sorted(kept))


class Prepared:
    """All that a search asks of a statement."""

    def __init__(self, statement: Statement) -> None:
        self.statement = statement
        self.needs = statement.needs
        self.cost = [each.cs for each in statement.openings]
        self.users = self._users()
        self.spots = tuple(self._spots())
        self.walks = Walks(statement.walk_cs, self._passed())

    def _spots(self) -> Iterator[Spot]:
        sources = [each for each in self.statement.sources if each.stock]
        places = {place: at for at, place in enumerate(dict.fromkeys(e.place for e in sources))}
        for number, each in enumerate(sources):
            counts = each.stock.items()
            yield Spot(
                source=each,
                number=number,
                stop=1 << each.stop,
                openings=bits(each.openings),
                place=1 << places[each.place],
                stock={need: min(count, self.needs[need].quantity) for need, count in counts},
                own_cs=sum(self.cost[o] for o in each.openings if self.users[o] == 1),
            )

    def _users(self) -> Counter[int]:
        """How many open each opening; what leads to a bag counts as shared."""
        found = Counter(o for each in self.statement.sources if each.stock for o in each.openings)
        for bag in self.statement.bags:
            found.update(2 * [o for way in bag.ways for o in way.openings])
        return found

    def _passed(self) -> Iterator[int]:
        """The stops of needs that one source alone has, whatever is brought."""
        for need in range(len(self.needs)):
            holding = [each for each in self.statement.sources if each.stock.get(need)]
            if len(holding) == 1 and not holding[0].bags:
                yield holding[0].stop

    def opening_cs(self, openings: int) -> int:
        """What some openings cost together."""
        return sum(cs for at, cs in enumerate(self.cost) if openings >> at & 1)

    @cached_property
    def liftings(self) -> tuple[Lifted, ...]:
        """Every choice of bags to be brought whole, with each of their ways; none of them first."""
        bags = self.statement.bags
        useful = self.statement.useful_bags
        return tuple(
            self._lifted(Lifts(each))
            for chosen in _subsets(useful, bags, self.statement.hands)
            for each in product(*map(self._lifts, chosen))
        )

    def _lifts(self, number: int) -> list[Lift]:
        bag = self.statement.bags[number]
        return [Lift(number, bag, way) for way in bag.ways]

    def _lifted(self, bags: Lifts) -> Lifted:
        left = [need.quantity for need in self.needs]
        for number in bags.numbers:
            for need, count in self.statement.content[number].items():
                left[need] = max(left[need] - count, 0)
        picks = sum(n.pick_cs * many for n, many in zip(self.needs, left, strict=True))
        return Lifted(bags, tuple(left), picks)

    def heavy(self, lifted: Lifted) -> int:
        """How many hands the bags and what is still needed take together."""
        left = zip(self.needs, lifted.left, strict=True)
        return lifted.bags.hands + sum(need.hands * many for need, many in left)

    def is_light(self, lifted: Lifted) -> bool:
        """Whether one person can bring all of it at a time."""
        limit = self.statement.hands
        return limit is None or lifted.bags.carries or self.heavy(lifted) <= limit


# Two trips of two hands, or two people: more bags than that are never brought.
_ROUTES = 2


def _subsets(
    useful: Sequence[int], bags: Sequence[Bag], hands: int | None
) -> Iterator[tuple[int, ...]]:
    """Sets of bags of which none lies in another, and that can be carried in two goes.

    With a cot among them any number can.
    """
    for numbers in _grown(useful):
        taken, chosen = set(numbers), [bags[number] for number in numbers]
        if not any(bag.within & taken for bag in chosen) and _can_be_carried(chosen, hands):
            yield numbers


def _can_be_carried(bags: Sequence[Bag], hands: int | None) -> bool:
    if hands is None or any(bag.carries for bag in bags):
        return True
    return sum(bag.hands for bag in bags) <= hands * _ROUTES


def _grown(useful: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """All subsets, the empty one first."""
    found: list[tuple[int, ...]] = [()]
    for number in useful:
        found += [(*each, number) for each in found]
    yield from sorted(found, key=len)


def bits(numbers: Iterable[int]) -> int:
    """A set of numbers as bits."""
    found = 0
    for number in numbers:
        found |= 1 << number
    return found
