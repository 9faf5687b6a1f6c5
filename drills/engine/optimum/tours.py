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
# Of more stops too many sets can be shared in too many ways.
MOST_SHARED = 11


def tour_table(walk_cs: Sequence[Sequence[int]]) -> Table:
    """For each set of stops, as the bits of a number, the least walk through it in cs."""
    ends = _last_stops(walk_cs)
    stops = len(walk_cs) - 2
    home = np.array([row[-1] for row in walk_cs[:stops]], dtype=np.int32)
    found = np.empty(1 << stops, dtype=np.int32)
    found[0] = walk_cs[-2][-1]
    if stops:
        found[1:] = (ends[:, 1:] + home[:, None]).min(axis=0)
    return found


def both_table(first: Table, second: Table) -> Table:
    """For each set of stops the least that two walks take which pass all of it and are not empty.

    They share a set, or one has all of it and the other the nearest stop there is: since a further
    stop never shortens a walk, no two walks through more take less.
    """
    stops = len(first).bit_length() - 1
    single = 1 << np.arange(stops)
    nearest = first[single].min(), second[single].min()
    first, second = first.copy(), second.copy()
    first[0] = second[0] = FAR
    one, other, begins = _splits(stops)
    found: Table = np.minimum.reduceat(first[one] + second[other], begins)
    found = np.minimum(found, np.minimum(first + nearest[1], second + nearest[0]))
    found[0] = sum(nearest)
    return found


@lru_cache(maxsize=MOST_SHARED + 1)
def _splits(stops: int) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Every set parted in two, set by set, with where each begins; a part may be all of it."""
    one = other = np.zeros(1, dtype=np.int64)
    for stop in range(stops):
        bit = 1 << stop
        one, other = (
            np.concatenate((one, one | bit, one)),
            np.concatenate((other, other, other | bit)),
        )
    order = np.argsort(one | other, kind="stable")
    begins = np.searchsorted((one | other)[order], np.arange(1 << stops))
    return one[order], other[order], begins


def _last_stops(walk_cs: Sequence[Sequence[int]]) -> Table:
    """For each stop and each set with it the least walk from the begin that ends there."""
    stops = len(walk_cs) - 2
    between = np.array([row[:stops] for row in walk_cs[:stops]], dtype=np.int32)
    ends = np.full((max(stops, 1), 1 << stops), FAR, dtype=np.int32)
    for stop in range(stops):
        ends[stop, 1 << stop] = walk_cs[-2][stop]
    for sets, last in _layers(stops)[2:]:
        before = ends.take(sets ^ (1 << last), axis=1)
        before += between.take(last, axis=1)
        ends[last, sets] = before.min(axis=0)
    return ends


@lru_cache(maxsize=32)
def _layers(stops: int) -> tuple[tuple[NDArray[np.int64], NDArray[np.int64]], ...]:
    """All sets by how many stops are in them, each once for every stop of it."""
    sets, last = np.nonzero((np.arange(1 << stops)[:, None] >> np.arange(stops)) & 1)
    counts = np.bincount(sets, minlength=1 << stops)[sets]
    return tuple((sets[counts == many], last[counts == many]) for many in range(stops + 1))


def order_of(walk_cs: Sequence[Sequence[int]], stops: Sequence[int]) -> tuple[int, ...]:
    """The order in which some stops are walked to in the least time."""
    count = len(stops)
    if not count:
        return ()
    nodes = [*stops, len(walk_cs) - 2, len(walk_cs) - 1]
    part = [[walk_cs[a][b] for b in nodes] for a in nodes]
    ends = _last_stops(part)
    left = (1 << count) - 1
    last = min(range(count), key=lambda stop: int(ends[stop, left]) + part[stop][-1])
    found = [last]
    while left := left ^ (1 << last):
        after = last
        last = min(
            (stop for stop in range(count) if left >> stop & 1),
            key=lambda stop: int(ends[stop, left]) + part[stop][after],
        )
        found.append(last)
    return tuple(stops[each] for each in reversed(found))
