"""Somebody's own way through a rig, beside the quickest."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations
from random import Random

import pytest

from drills.engine.optimum.own import Leg, Taken, own_route, taken_on
from drills.engine.optimum.plan import quickest
from drills.engine.optimum.statement import Opening, Place, Source, Statement, StatementError
from tests.engine.optimum_instances import rig, seeded, small_of
from tests.engine.test_optimum import DRESSING, EXAMPLE, MASK, TOURNIQUET, one_hand

SMALL = 300
MOST_TRIPS = 2
THREE = Taken(Place("3"), {TOURNIQUET: 1, MASK: 1})
BAG = Taken(Place("bag"), is_whole=True)


def drawn(seed: int) -> tuple[Random, Statement]:
    return seeded(SMALL + seed), small_of(seed)


def at_random(statement: Statement, random: Random) -> list[Taken] | None:
    """Places in any order, and perhaps a bag, until the kit is together; None where it is not."""
    left = [need.quantity for need in statement.needs]
    whole: set[int] = set()
    found: list[Taken] = []
    for number, bag in enumerate(statement.bags):
        if random.random() < 0.5:
            whole.add(number)
            found.append(Taken(Place(bag.code), is_whole=True))
            for need, count in statement.content[number].items():
                left[need] -= count
    places = {each.place: each for each in statement.sources if not each.bags & whole}
    for source in random.sample(list(places.values()), len(places)):
        counts = {need: min(n, left[need]) for need, n in source.stock.items() if left[need] > 0}
        for need, count in counts.items():
            left[need] -= count
        if counts:
            found.append(Taken(source.place, counts))
    random.shuffle(found)
    return None if any(many > 0 for many in left) else found


@pytest.mark.parametrize(
    ("taken", "cs"),
    [
        ([BAG, Taken(Place("1"), {DRESSING: 1}), Taken(Place("3"), {MASK: 1})], 3350),
        # The same from the other end of the walk, which is closed.
        ([Taken(Place("3"), {MASK: 1}), Taken(Place("1"), {DRESSING: 1}), BAG], 3350),
        # Back to a for what lies beside the bag: the walk a-c-a, and nothing opened twice.
        (
            [BAG, Taken(Place("3"), {MASK: 1}), Taken(Place("1"), {DRESSING: 1})],
            3350 - 800 + 700 + 500,
        ),
        ([Taken(Place("2"), {DRESSING: 3}), THREE], 900 + 1000 + 800 + 700 + 5 * 150),
        ([], 0),
    ],
)
def test_the_worked_example_walked(taken: list[Taken], cs: int) -> None:
    """The example of the optimum, by hand, in other orders."""
    assert own_route(EXAMPLE, taken).cs == cs


def test_each_leg_says_what_it_took() -> None:
    """Walking, opening and taking; the last leg is the way to the patient."""
    taken = [BAG, Taken(Place("1"), {DRESSING: 1}), Taken(Place("3"), {MASK: 1})]

    assert own_route(EXAMPLE, taken).legs == (
        Leg(Place("bag"), 0, 500, 0, 250),
        Leg(Place("1"), 0, 0, 400, 150),
        Leg(Place("3"), 2, 700, 400, 150),
        Leg(None, EXAMPLE.end, 800),
    )


def test_with_full_hands_one_goes_to_the_patient_and_comes_back() -> None:
    """The bag and the mask fill a hand each, and there is one."""
    statement = one_hand(EXAMPLE)
    taken = [BAG, Taken(Place("1"), {DRESSING: 1}), Taken(Place("3", "2.0"), {MASK: 1})]

    legs = own_route(statement, taken).legs

    assert [leg.place and leg.place.name for leg in legs] == ["bag", "1", None, "3 2.0", None]
    assert sum(leg.cs for leg in legs) == 3950


def test_of_two_sides_the_better_one_is_taken() -> None:
    """By what comes after it: the dear side, where the way goes on from there."""
    far = replace(EXAMPLE.sources[2], place=Place("both"), stop=0, openings=(6,))
    near = replace(EXAMPLE.sources[2], place=Place("both"), openings=(7,))
    openings = (*EXAMPLE.openings, Opening("both a", 450), Opening("both c", 400))
    both = replace(EXAMPLE, sources=(*EXAMPLE.sources, far, near), openings=openings)
    mask = Taken(Place("both"), {MASK: 1})

    (alone, _) = own_route(both, [mask]).legs
    (_, after, _) = own_route(both, [Taken(Place("3"), {TOURNIQUET: 1}), mask]).legs

    assert alone.stop == 0
    assert (after.stop, after.open_cs) == (2, 400)


def test_a_shelf_of_a_cabinet_that_stands_open_is_opened_alone() -> None:
    """Even after another place: it was left open."""
    sources = (
        Source(Place("top"), 0, (0, 1), {DRESSING: 3}),
        Source(Place("low"), 0, (0, 4), {TOURNIQUET: 1}),
        EXAMPLE.sources[2],
    )
    statement = replace(EXAMPLE, sources=sources, bags=())
    taken = [
        Taken(Place("top"), {DRESSING: 3}),
        Taken(Place("3"), {MASK: 1}),
        Taken(Place("low"), {TOURNIQUET: 1}),
    ]

    first, _, last, _ = own_route(statement, taken).legs

    assert (first.open_cs, last.open_cs) == (700, 250)


@pytest.mark.parametrize("block", range(10))
def test_the_quickest_plan_walked_takes_what_it_says(block: int) -> None:
    """To the hundredth of a second, on 300 small statements, in one trip and in two."""
    for seed in range(block * SMALL // 10, (block + 1) * SMALL // 10):
        statement = small_of(seed)
        plan = quickest(statement)
        free = statement if plan.is_carried else replace(statement, hands=None)
        taken = [each for route in plan.routes for each in taken_on(free, route)]

        assert own_route(free, taken).cs == plan.cs


@pytest.mark.parametrize("block", range(10))
def test_no_way_of_ones_own_is_quicker_than_the_quickest(block: int) -> None:
    """Four ways at random through each of 300 small statements, in as many trips as plans have."""
    walked = 0
    for seed in range(block * SMALL // 10, (block + 1) * SMALL // 10):
        random, statement = drawn(seed)
        plan = quickest(statement)
        assert plan.is_proved
        for _ in range(4):
            taken = at_random(statement, random)
            own = own_route(statement, taken) if taken is not None else None
            if own and own.trips <= MOST_TRIPS:
                walked += 1
                assert own.cs >= plan.cs
    assert walked > SMALL // 10


def every_way(statement: Statement, taken: list[Taken]) -> Iterator[int]:
    """The time by every choice of sides, written anew and without a limit of hands."""
    if not taken:
        yield statement.walk_cs[statement.begin][statement.end]
        return
    chains: list[list[tuple[int, tuple[int, ...]]]] = []
    for each in taken:
        if each.is_whole:
            (bag,) = [bag for bag in statement.bags if bag.code == each.place.code]
            chains.append([(way.stop, way.openings) for way in bag.ways])
        else:
            chains.append(
                [(s.stop, s.openings) for s in statement.sources if s.place == each.place]
            )
    chosen: list[list[tuple[int, tuple[int, ...]]]] = [[]]
    for chain in chains:
        chosen = [[*before, side] for before in chosen for side in chain]
    for sides in chosen:
        at, cs, opened = statement.begin, 0, set[int]()
        for stop, openings in sides:
            cs += statement.walk_cs[at][stop]
            cs += sum(statement.openings[o].cs for o in set(openings) - opened)
            opened |= set(openings)
            at = stop
        yield cs + statement.walk_cs[at][statement.end]


@pytest.mark.parametrize("seed", range(60))
def test_every_choice_of_sides_was_tried(seed: int) -> None:
    """Beside a listing of all of them, on whole rigs."""
    random = seeded(seed)
    statement = rig(random, hands=None)
    taken = at_random(statement, random)
    assert taken is not None
    picks = sum(
        statement.bags[0].cs
        if each.is_whole
        else sum(statement.needs[need].pick_cs * count for need, count in each.counts.items())
        for each in taken
    )

    assert own_route(statement, taken).cs == min(every_way(statement, taken)) + picks


def test_the_best_order_of_the_places_of_a_plan_is_the_plans() -> None:
    """All orders of the quickest plan's own places on a few small statements."""
    for seed in range(20):
        statement = small_of(seed)
        plan = quickest(statement)
        taken = [each for route in plan.routes for each in taken_on(statement, route)]
        free = statement if plan.is_carried else replace(statement, hands=None)
        best = min(own_route(free, list(order)).cs for order in permutations(taken))
        assert best == plan.cs


@pytest.mark.parametrize(
    "taken",
    [
        Taken(Place("9")),
        Taken(Place("1"), {MASK: 1}),
        Taken(Place("1"), {DRESSING: 3}),
        Taken(Place("4"), {}, True),
    ],
)
def test_a_place_that_is_not_there_is_refused(taken: Taken) -> None:
    """By its name."""
    with pytest.raises(StatementError, match=f"{taken.place.name}: there is no such place"):
        own_route(EXAMPLE, [taken])
