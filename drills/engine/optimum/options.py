"""What may be opened for each need on two routes, as bit sets that whole arrays are tried on."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from drills.engine.optimum.alone import additions, sources_of
from drills.engine.optimum.prepared import Lifted, Lifts, Prepared, Spot, bits

Rows = NDArray[np.int64]
WORD, _CHUNK = 55, 11


@dataclass(frozen=True, slots=True)
class Option:
    """One way to cover a need: what each route opens, and how many the first one takes."""

    sides: tuple[tuple[Spot, ...], tuple[Spot, ...]]
    units: int


@dataclass(frozen=True, slots=True)
class Options:
    """All ways to cover so many of a need, a row of each array for each of them.

    `masks` are what each route opens; `barred` what each may not have opened before: another side
    of the same place, or the same place as the other route; `stops` where each stands.
    """

    each: tuple[Option, ...]
    masks: tuple[Rows, Rows]
    barred: tuple[Rows, Rows]
    stops: tuple[Rows, Rows]
    units: Rows


class Board:
    """One bit for each source, with what it alone opens, and one for each shared opening."""

    def __init__(self, ready: Prepared, *, is_people: bool) -> None:
        self._ready = ready
        self._is_people = is_people
        shared = sorted(opening for opening, users in ready.users.items() if users > 1)
        self._bit_of = {opening: len(ready.spots) + at for at, opening in enumerate(shared)}
        self._count = len(ready.spots) + len(shared)
        self.words = max(-(-self._count // WORD), 1)
        self._tables = tuple(self._chunks())
        self.sources = sources_of(ready)
        self.options = cache(self._all_options)

    def _chunks(self) -> Iterator[tuple[int, int, Rows]]:
        """What each chunk of bits costs, for all of its sets, with where it lies."""
        cost = self._ready.cost
        cs = [0] * self.words * WORD
        for spot in self._ready.spots:
            alone = (o for o in spot.source.openings if o not in self._bit_of)
            cs[spot.number] = sum(cost[o] for o in alone)
        for opening, bit in self._bit_of.items():
            cs[bit] = cost[opening]
        for at in range(0, self._count, _CHUNK):
            yield at // WORD, at % WORD, _sums(cs[at : at + _CHUNK])

    def cost(self, masks: Rows) -> Rows:
        """What is paid for all that is opened, for each mask."""
        found = np.zeros(len(masks), dtype=np.int64)
        for word, shift, table in self._tables:
            found += table[(masks[:, word] >> shift) & (len(table) - 1)]
        return found

    def masks(self, sets: Iterable[Iterable[int]]) -> Rows:
        """Sets of bit numbers as rows of words."""
        rows = [bits(numbers) for numbers in sets]
        full = (1 << WORD) - 1
        words = [[row >> (word * WORD) & full for word in range(self.words)] for row in rows]
        return np.array(words, dtype=np.int64).reshape(len(rows), self.words)

    def ways(self, bags: Lifts) -> set[int]:
        """The bits of what leads to some bags."""
        return {self._bit_of[opening] for lift in bags.each for opening in lift.way.openings}

    def blocked(self, lifted: Lifted) -> list[int]:
        """The sources that are brought in a bag, and are open to nobody any more."""
        whole = lifted.bags.numbers
        return [each.number for each in self._ready.spots if whole & each.source.bags]

    def _all_options(self, need: int, many: int) -> Options:
        """Every way to cover so many of a need on two routes."""
        each = tuple(self._options(need, many, self.sources[need]))
        opened = [[self._opened(option.sides[side]) for option in each] for side in range(2)]
        barred = [[self._barred(option, side) for option in each] for side in range(2)]
        stops = [[_stops(option.sides[side]) for option in each] for side in range(2)]
        return Options(
            each,
            (self.masks(opened[0]), self.masks(opened[1])),
            (self.masks(barred[0]), self.masks(barred[1])),
            (np.array(stops[0], dtype=np.int64), np.array(stops[1], dtype=np.int64)),
            np.array([option.units for option in each], dtype=np.int64),
        )

    def _options(self, need: int, many: int, sources: Sequence[Spot]) -> Iterator[Option]:
        if not self._is_people and not self._ready.needs[need].hands:
            # Who goes twice takes a small thing on either trip, at the same cost.
            for added in additions(sources, need, many, 0):
                yield from (Option(sides, 0) for sides in _dealt(added))
            return
        for units in range(many + 1):
            for first in additions(sources, need, units, 0):
                for second in additions(sources, need, many - units, _places(first)):
                    yield Option((first, second), units)

    def _opened(self, spots: Sequence[Spot]) -> set[int]:
        shared = {self._bit_of[o] for s in spots for o in s.source.openings if o in self._bit_of}
        return shared | {spot.number for spot in spots}

    def _barred(self, option: Option, side: int) -> set[int]:
        own, other = option.sides[side], option.sides[1 - side]
        own_places, other_places = _places(own), _places(other)
        numbers = {spot.number for spot in own}
        return {
            spot.number
            for spot in self._ready.spots
            if spot.place & other_places or (spot.place & own_places and spot.number not in numbers)
        }


def _sums(cs: Sequence[int]) -> Rows:
    """The sum of every subset."""
    found = np.zeros(1, dtype=np.int64)
    for each in cs:
        found = np.concatenate([found, found + each])
    return found


def _dealt(added: Sequence[Spot]) -> Iterator[tuple[tuple[Spot, ...], tuple[Spot, ...]]]:
    """Some sources dealt to two trips in every way."""
    for sides in product((0, 1), repeat=len(added)):
        dealt = list(zip(added, sides, strict=True))
        yield tuple(s for s, side in dealt if not side), tuple(s for s, side in dealt if side)


def _stops(spots: Sequence[Spot]) -> int:
    return bits(spot.source.stop for spot in spots)


def _places(spots: Sequence[Spot]) -> int:
    found = 0
    for spot in spots:
        found |= spot.place
    return found
