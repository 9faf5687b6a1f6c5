"""The quickest plan of one person in one trip: branch and bound, need by need.

A first need that is not yet covered must be covered by one of the smallest additions to what is
open; every plan contains one of them, and taking only that never costs more. A partial plan's own
time is a bound, since neither a further stop nor a further opening makes it shorter.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from drills.engine.optimum.prepared import Lifted, Prepared, Spot, Tours


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found: the bags, the sources that are opened, and the whole time in cs."""

    lifted: Lifted
    spots: tuple[Spot, ...]
    cs: int


@dataclass(frozen=True, slots=True)
class _Open:
    """A partial plan."""

    spots: tuple[Spot, ...]
    openings: int
    stops: int
    places: int
    cs: int
    left: tuple[int, ...]


def one_trip(
    ready: Prepared, liftings: Sequence[Lifted], best: Found | None = None
) -> Found | None:
    """The quickest plan with some choices of bags; None where nothing is below the `best`."""
    search = _Search(ready, ready.walks, best)
    bounds = sorted(((search.bound(each), n) for n, each in enumerate(liftings)))
    for bound, number in bounds:
        if bound >= search.limit:
            break
        search.run(liftings[number])
    return search.best if search.best is not best else None


def is_below(ready: Prepared, walks: Tours, lifted: Lifted, best: Found) -> bool:
    """Whether any plan with some bags is below the `best`, as long as `walks` say that it takes."""
    search = _Search(ready, walks, best)
    if search.bound(lifted) < best.cs:
        search.run(lifted)
    return search.best is not best


class _Search:
    def __init__(self, ready: Prepared, walks: Tours, best: Found | None) -> None:
        self.ready = ready
        self.walks = walks
        self.best = best

    @property
    def limit(self) -> float:
        """What a plan must be quicker than."""
        return self.best.cs if self.best else float("inf")

    def bound(self, lifted: Lifted) -> int:
        """What no plan with these bags is quicker than."""
        ready = self.ready
        sources = sources_of(ready, lifted.bags.numbers)
        asked = [need for need, many in enumerate(lifted.left) if many > 0]
        still = sum(disjoint(sources, asked).values())
        walk = self.walks.least(lifted.bags.stops)
        return lifted.fixed_cs + ready.opening_cs(lifted.bags.openings) + walk + still

    def run(self, lifted: Lifted) -> None:
        """Search with these bags."""
        ready = self.ready
        self._lifted = lifted
        self._sources = sources_of(ready, lifted.bags.numbers)
        self._order = in_order(self._sources, lifted.left)
        self._unshared = disjoint(self._sources, self._order)
        start = _Open(
            spots=(),
            openings=lifted.bags.openings,
            stops=lifted.bags.stops,
            places=0,
            cs=lifted.fixed_cs + ready.opening_cs(lifted.bags.openings),
            left=lifted.left,
        )
        self._grow(start)

    def _grow(self, at: _Open) -> None:
        need = next((each for each in self._order if at.left[each] > 0), None)
        if need is None:
            cs = at.cs + self.walks.exact(at.stops)
            if cs < self.limit:
                self.best = Found(self._lifted, at.spots, cs)
            return
        added = additions(self._sources[need], need, at.left[need], at.places)
        children = [self._with(at, each) for each in added]
        for bound, number in sorted((self._below(each), n) for n, each in enumerate(children)):
            if bound >= self.limit:
                return
            self._grow(children[number])

    def _below(self, at: _Open) -> int:
        """What nothing that becomes of a partial plan is quicker than."""
        still = sum(cs for need, cs in self._unshared.items() if at.left[need] > 0)
        return at.cs + self.walks.least(at.stops) + still

    def _with(self, at: _Open, added: Sequence[Spot]) -> _Open:
        openings, stops, places, cs = at.openings, at.stops, at.places, at.cs
        left, cost = list(at.left), self.ready.cost
        for spot in added:
            for opening in spot.source.openings:
                if not openings >> opening & 1:
                    cs += cost[opening]
            openings |= spot.openings
            stops |= spot.stop
            places |= spot.place
            for need, count in spot.stock.items():
                left[need] -= count
        return _Open((*at.spots, *added), openings, stops, places, cs, tuple(left))


def sources_of(ready: Prepared, whole: frozenset[int] = frozenset()) -> list[list[Spot]]:
    """The sources of each need outside some bags, those with most of it first."""
    found: list[list[Spot]] = [[] for _ in ready.needs]
    for spot in ready.spots:
        if whole & spot.source.bags:
            continue
        for need in spot.stock:
            found[need].append(spot)
    return [sorted(each, key=lambda spot: -spot.stock[need]) for need, each in enumerate(found)]


def in_order(sources: Sequence[Sequence[Spot]], left: Sequence[int]) -> list[int]:
    """Needs with the fewest sources first, then the dearest of them."""
    asked = [need for need, many in enumerate(left) if many > 0]
    return sorted(asked, key=lambda need: (len(sources[need]), -_least_own(sources[need])))


def _least_own(sources: Sequence[Spot]) -> int:
    return min((each.own_cs for each in sources), default=0)


def numbers_of(spots: Iterable[Spot]) -> set[int]:
    """Sources by their numbers."""
    return {each.number for each in spots}


def disjoint(sources: Sequence[Sequence[Spot]], asked: Iterable[int]) -> dict[int, int]:
    """Needs of which no two share a source, each with the least that it must still cost."""
    found: dict[int, int] = {}
    used: set[int] = set()
    for least, need in sorted((-_least_own(sources[need]), need) for need in asked):
        numbers = numbers_of(sources[need])
        if not numbers & used:
            used |= numbers
            found[need] = -least
    return found


def additions(
    sources: Sequence[Spot], need: int, short: int, places: int
) -> Iterator[tuple[Spot, ...]]:
    """Every smallest set of sources, of different places, that covers what is short of a need.

    With those of most stock first, none of a set can be left out again. Of sources that are alike
    the first ones alone are taken.
    """
    free = [each for each in sources if not each.place & places]
    yield from _additions(free, need, short, (), 0)


def _additions(
    free: Sequence[Spot], need: int, short: int, taken: tuple[Spot, ...], places: int
) -> Iterator[tuple[Spot, ...]]:
    if short <= 0:
        yield taken
        return
    seen: set[tuple[int, int]] = set()
    for at, spot in enumerate(free):
        alike = (spot.stop, spot.openings)
        if spot.place & places or alike in seen:
            continue
        if len(spot.stock) == 1 and not spot.source.bags:
            seen.add(alike)
        yield from _additions(
            free[at + 1 :], need, short - spot.stock[need], (*taken, spot), places | spot.place
        )
