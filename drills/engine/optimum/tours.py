"""The quickest walk through every set of stops, worked out once for all of them.

Held and Karp's table (1962), a layer of equally many stops at a time. The walk begins and ends
where the statement says; from a metric it follows that a further stop never shortens it.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.int32]
FAR = 1_000_000_000
# A table of all sets of so many stops takes some milliseconds; of more it takes too long.
MOST_IN_TABLE = 14


def tour_table(walk_cs: Sequence[Sequence[int]]) -> Table:
    """For each set of stops, as the bits of a number, the least walk through it in cs."""
    ends = _last_stops(walk_cs)
    stops = len(walk_cs) - 2
    home = np.array([row[-1] for row in walk_cs[:stops]], dtype=np.int32)
    found = np.empty(1 << stops, dtype=np.int32)
    found[0] = walk_cs[-2][-1]
    if stops:
        found[1:] = (ends[1:] + home).min(axis=1)
    return found


def _last_stops(walk_cs: Sequence[Sequence[int]]) -> Table:
    """For each set and each stop of it the least walk from the begin that ends there."""
    stops = len(walk_cs) - 2
    between = np.array([row[:stops] for row in walk_cs[:stops]], dtype=np.int32)
    ends = np.full((1 << stops, max(stops, 1)), FAR, dtype=np.int32)
    for stop in range(stops):
        ends[1 << stop, stop] = walk_cs[-2][stop]
    for layer in _layers(stops)[2:]:
        for stop in range(stops):
            sets = layer[(layer >> stop) & 1 == 1]
            if len(sets):
                before = ends[sets ^ (1 << stop)] + between[:, stop]
                ends[sets, stop] = before.min(axis=1)
    return ends


@lru_cache(maxsize=32)
def _layers(stops: int) -> tuple[NDArray[np.int64], ...]:
    """All sets, by how many stops are in them."""
    sets = np.arange(1 << stops)
    counts = np.zeros(1 << stops, dtype=np.int8)
    for stop in range(stops):
        counts += ((sets >> stop) & 1).astype(np.int8)
    return tuple(sets[counts == many] for many in range(stops + 1))


def order_of(walk_cs: Sequence[Sequence[int]], stops: Sequence[int]) -> tuple[int, ...]:
    """The order in which some stops are walked to in the least time."""
    count = len(stops)
    if not count:
        return ()
    nodes = [*stops, len(walk_cs) - 2, len(walk_cs) - 1]
    part = [[walk_cs[a][b] for b in nodes] for a in nodes]
    ends = _last_stops(part)
    left = (1 << count) - 1
    last = min(range(count), key=lambda stop: int(ends[left, stop]) + part[stop][-1])
    found = [last]
    while left := left ^ (1 << last):
        after = last
        last = min(
            (stop for stop in range(count) if left >> stop & 1),
            key=lambda stop: int(ends[left, stop]) + part[stop][after],
        )
        found.append(last)
    return tuple(stops[each] for each in reversed(found))
