"""Every choice of a small statement listed: the least time, with nothing of the search in it."""

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import chain, pairwise, permutations, product
from math import prod

from drills.engine.optimum.statement import Place, Source, Statement, Way

NOBODY = -1
Bags = list[tuple[int, Way, int]]


def least(statement: Statement, people: int = 1) -> int | None:
    """The least time of all plans of one trip, of two trips, or of two people; None without any."""
    listing = _Listing(statement)
    if people > 1:
        return min(listing.of_people(), default=None)
    return min(chain(listing.of_one(), listing.of_trips()), default=None)


class _Listing:
    def __init__(self, statement: Statement) -> None:
        self._asked = statement
        self.tour = cache(self._tour)

    def _tour(self, stops: frozenset[int], begin: int) -> int:
        walk, end = self._asked.walk_cs, self._asked.end
        found = []
        for order in permutations(stops):
            nodes = [begin, *order, end]
            found.append(sum(walk[a][b] for a, b in pairwise(nodes)))
        return min(found)

    def _bags(self) -> Iterator[Bags]:
        bags = self._asked.bags
        choices = [[None, *product(bag.ways, range(2))] for bag in bags]
        for chosen in product(*choices):
            yield [(n, *each) for n, each in enumerate(chosen) if each]

    def _plans(self) -> Iterator[tuple[Bags, list[list[Source]]]]:
        """Bags with their ways and routes, and sources of different places on either route."""
        for bags in self._bags():
            whole = {number for number, _, _ in bags}
            free = [each for each in self._asked.sources if not whole & each.bags]
            for chosen in product(*_choices(free)):
                yield bags, [[s for s, at in chosen if s and at == route] for route in range(2)]

    def _left(self, bags: Bags) -> list[int]:
        found = [need.quantity for need in self._asked.needs]
        for number, _, _ in bags:
            places = {s.place: s.stock for s in self._asked.sources if number in s.bags}
            for stock in (*places.values(), self._asked.bags[number].holds):
                for need, count in stock.items():
                    found[need] = max(found[need] - count, 0)
        return found

    def _paid(self, sources: list[Source], bags: Bags) -> set[int]:
        return {o for each in sources for o in each.openings} | {
            o for _, way, _ in bags for o in way.openings
        }

    def _cost(self, openings: set[int]) -> int:
        return sum(self._asked.openings[each].cs for each in openings)

    def _stops(self, sources: list[Source], bags: Bags) -> frozenset[int]:
        return frozenset([*(s.stop for s in sources), *(way.stop for _, way, _ in bags)])

    def _lift(self, bags: Bags) -> int:
        return sum(self._asked.bags[number].cs for number, _, _ in bags)

    def _carries(self, bags: Bags, units: list[int]) -> bool:
        """Whether hands or a cot among the bags carry so much on one walk."""
        brought = [self._asked.bags[number] for number, _, _ in bags]
        heavy = sum(n.hands * u for n, u in zip(self._asked.needs, units, strict=True))
        hands = heavy + sum(bag.hands for bag in brought)
        limit = self._asked.hands
        return limit is None or hands <= limit or any(bag.carries for bag in brought)

    def _pick(self, units: list[int]) -> int:
        return sum(n.pick_cs * u for n, u in zip(self._asked.needs, units, strict=True))

    def of_one(self) -> Iterator[int]:
        begin = self._asked.begin
        for bags, (first, second) in self._plans():
            if second or any(route for _, _, route in bags):
                continue
            left = self._left(bags)
            if _covers(first, left) and self._carries(bags, left):
                yield (
                    self.tour(self._stops(first, bags), begin)
                    + self._cost(self._paid(first, bags))
                    + self._lift(bags)
                    + self._pick(left)
                )

    def of_trips(self) -> Iterator[int]:
        begin, end = self._asked.begin, self._asked.end
        for bags, routes in self._plans():
            left = self._left(bags)
            sides = [[each for each in bags if each[2] == route] for route in range(2)]
            if not _covers([*routes[0], *routes[1]], left):
                continue
            # Heavy things are one to a place: those that are opened for are carried there.
            heavy = [[min(_held(route, n), left[n]) for n in range(len(left))] for route in routes]
            if all(self._carries(sides[r], heavy[r]) for r in range(2)):
                yield (
                    self.tour(self._stops(routes[0], sides[0]), begin)
                    + self.tour(self._stops(routes[1], sides[1]), end)
                    + self._cost(self._paid([*routes[0], *routes[1]], bags))
                    + self._lift(bags)
                    + self._pick(left)
                )

    def of_people(self) -> Iterator[int]:
        begin = self._asked.begin
        for bags, routes in self._plans():
            left = self._left(bags)
            sides = [[each for each in bags if each[2] == route] for route in range(2)]
            fixed = [
                self.tour(self._stops(routes[r], sides[r]), begin)
                + self._cost(self._paid(routes[r], sides[r]))
                + self._lift(sides[r])
                for r in range(2)
            ]
            ways = [
                [
                    u
                    for u in range(many + 1)
                    if _held(routes[0], n) >= u and _held(routes[1], n) >= many - u
                ]
                for n, many in enumerate(left)
            ]
            for first in product(*ways):
                units = [list(first), [many - u for many, u in zip(left, first, strict=True)]]
                if all(self._carries(sides[r], units[r]) for r in range(2)):
                    yield max(fixed[r] + self._pick(units[r]) for r in range(2))


def choices_of(statement: Statement) -> int:
    """In how many ways its sources can be dealt to two routes, where no bag is brought whole."""
    return prod(map(len, _choices(statement.sources)))


def _choices(sources: Iterable[Source]) -> list[list[tuple[Source | None, int]]]:
    """Of each place: that nobody opens it, or either route from either of its sides."""
    found: dict[Place, list[tuple[Source | None, int]]] = {}
    for each in sources:
        here = found.setdefault(each.place, [(None, NOBODY)])
        here += [(each, route) for route in range(2)]
    return list(found.values())


def _held(sources: list[Source], need: int) -> int:
    return sum(each.stock.get(need, 0) for each in sources)


def _covers(sources: list[Source], left: list[int]) -> bool:
    return all(_held(sources, need) >= many for need, many in enumerate(left))
