"""The tables of walks: through every set of stops, and on two walks, beside a list of all."""

from itertools import pairwise, permutations, product

import pytest

from drills.engine.optimum.tours import both_table, order_of, tour_table
from tests.engine.optimum_instances import seeded, small

Walk = tuple[tuple[int, ...], ...]


def walked(walk: Walk, begin: int, stops: tuple[int, ...]) -> int:
    """The least walk from a node through some stops to the last node, by every order."""
    last = len(walk) - 1
    orders = ((begin, *order, last) for order in permutations(stops))
    return min(sum(walk[a][b] for a, b in pairwise(order)) for order in orders)


def in_set(number: int, stops: int) -> tuple[int, ...]:
    return tuple(stop for stop in range(stops) if number >> stop & 1)


@pytest.mark.parametrize("seed", range(10))
def test_every_set_of_stops_is_walked_in_the_least_time(seed: int) -> None:
    """Each of the sixteen by every order; and the order that is told takes as long."""
    walk = small(seeded(seed)).walk_cs
    stops = len(walk) - 2
    table = tour_table(walk)

    for number in range(1 << stops):
        here = in_set(number, stops)
        nodes = (stops, *order_of(walk, here), stops + 1)
        assert table[number] == walked(walk, stops, here)
        assert sum(walk[a][b] for a, b in pairwise(nodes)) == table[number]


@pytest.mark.parametrize("seed", range(10))
def test_no_two_walks_through_a_set_take_less(seed: int) -> None:
    """By every two sets of stops that have all of it between them, neither of them empty."""
    walk = small(seeded(seed)).walk_cs
    stops = len(walk) - 2
    first, second = (
        [walked(walk, begin, in_set(number, stops)) for number in range(1 << stops)]
        for begin in (stops, stops + 1)
    )
    back = (*(row[:-2] + row[-1:] * 2 for row in walk[:-2]), *2 * [(*walk[-1][:-2], 0, 0)])

    found = both_table(tour_table(walk), tour_table(back))

    for number in range(1 << stops):
        pairs = product(range(1, 1 << stops), repeat=2)
        least = min(first[a] + second[b] for a, b in pairs if (a | b) & number == number)
        assert found[number] == least
