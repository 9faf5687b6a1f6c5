"""The quickest way to bring a kit: a worked example, a referee, and what always holds."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise

import pytest

from drills.engine.optimum.plan import Plan, Visit, quickest
from drills.engine.optimum.statement import (
    Bag,
    Need,
    Opening,
    Place,
    Source,
    Statement,
    StatementError,
    Way,
)
from tests.engine.optimum_instances import rig, seeded, small_of
from tests.engine.optimum_listing import least
from tests.engine.optimum_referee import referee

# Our own worked example, by hand: between three stops and the patient.
P_A, P_B, P_C, A_B, A_C, B_C = 500, 900, 800, 600, 700, 1000
WALK = (
    (0, A_B, A_C, P_A, P_A),
    (A_B, 0, B_C, P_B, P_B),
    (A_C, B_C, 0, P_C, P_C),
    (P_A, P_B, P_C, 0, 0),
    (P_A, P_B, P_C, 0, 0),
)
DRESSING, TOURNIQUET, MASK = range(3)
POCKET = Source(Place("4"), 0, (3, 4, 5), {DRESSING: 2, TOURNIQUET: 1}, frozenset({0}))
EXAMPLE = Statement(
    needs=(Need("dressing", 3, 150), Need("tourniquet", 1, 150), Need("mask", 1, 150)),
    openings=(
        Opening("curb cabinet", 400),
        Opening("street cabinet", 300),
        Opening("inside cabinet", 400),
        Opening("bay", 0),
        Opening("bag", 250),
        Opening("pocket", 250),
    ),
    sources=(
        Source(Place("1"), 0, (0,), {DRESSING: 2}),
        Source(Place("2"), 1, (1,), {DRESSING: 4, TOURNIQUET: 1}),
        Source(Place("3"), 2, (2,), {TOURNIQUET: 2, MASK: 1}),
        POCKET,
    ),
    bags=(Bag("bag", 250, (Way(0, (3,)),)),),
    walk_cs=WALK,
)
CASES, SMALL = 15, 300


def without_bags(statement: Statement) -> Statement:
    """Nothing may be brought whole."""
    sources = tuple(replace(each, bags=frozenset()) for each in statement.sources)
    return replace(statement, bags=(), sources=sources)


def with_more_inside(statement: Statement) -> Statement:
    first, second, third, pocket = statement.sources
    third = replace(third, stock={**third.stock, DRESSING: 3})
    return replace(statement, sources=(first, second, third, pocket))


def without_mask(statement: Statement) -> Statement:
    third = replace(statement.sources[2], stock={TOURNIQUET: 2})
    sources = (*statement.sources[:2], third, POCKET)
    return replace(statement, needs=statement.needs[:2], sources=sources)


def one_hand(statement: Statement) -> Statement:
    """The bag and the mask fill a hand each, and there is one."""
    needs = (*statement.needs[:2], replace(statement.needs[2], hands=1))
    return replace(statement, needs=needs, hands=1).in_units()


@pytest.mark.parametrize(
    ("change", "people", "cs", "routes"),
    [
        (lambda each: each, 1, 3350, 1),
        (without_bags, 1, 4050, 1),
        (lambda each: each, 2, 2150, 2),
        (one_hand, 1, 3950, 2),
        (lambda each: without_bags(one_hand(each)), 1, 4050, 1),
        (one_hand, 2, 2150, 2),
        (with_more_inside, 1, 2750, 1),
        (without_mask, 1, 1800, 1),
    ],
)
def test_the_worked_example(
    change: Callable[[Statement], Statement], people: int, cs: int, routes: int
) -> None:
    """In seconds 33.5; 40.5 where no bag may be carried; two people 21.5; and so on by hand."""
    plan = quickest(change(EXAMPLE), people)

    assert (plan.cs, plan.is_proved, plan.is_carried) == (cs, True, True)
    assert len(plan.routes) == routes


def test_what_is_reached_from_two_sides_comes_with_its_bag_once() -> None:
    """The pocket with two dressings opens to the other side of the rig as well."""
    other_side = replace(POCKET, stop=1)
    both = replace(EXAMPLE, sources=(*EXAMPLE.sources, other_side))
    one_bag = replace(
        both,
        needs=(replace(both.needs[0], quantity=2), both.needs[1]),
        sources=(POCKET, other_side),
    )

    assert both.content == ({DRESSING: 2, TOURNIQUET: 1},)
    assert both.there_is(DRESSING) == EXAMPLE.there_is(DRESSING) == 8
    assert quickest(both).cs == quickest(EXAMPLE).cs == 3350
    assert quickest(one_bag).cs == 2 * P_A + 250


def test_what_was_opened_on_the_first_trip_stands_open_on_the_second() -> None:
    """Two heavy things in the curb cabinet and one hand: there and back twice, 20 s, two picks, and
    the door of 4 s once."""
    two = Source(Place("1"), 0, (0,), {0: 2})
    heavy = replace(
        EXAMPLE, needs=(Need("cylinder", 2, 150, 1),), sources=(two,), bags=(), hands=1
    ).in_units()

    plan = quickest(heavy)

    assert [route.cs for route in plan.routes] == [2 * P_A + 400 + 150, 2 * P_A + 150]
    assert plan.cs == 2700


@pytest.mark.parametrize(("people", "seconds"), [(1, [2950]), (2, [1550, 2600])])
def test_a_door_that_two_stops_share_is_opened_once_by_each_person(
    people: int, seconds: list[int]
) -> None:
    """The mask is behind the door of the dressing, at another stop: P-a-b-P is 20 s, the door 4 s,
    the bag behind it 2.5 s and two picks; two people open it both, P-a-P 10 s and P-b-P 18 s."""
    near, far = Source(Place("1"), 0, (0,), {0: 1}), Source(Place("2"), 1, (0, 4), {1: 1})
    needs = (Need("dressing", 1, 150), Need("mask", 1, 150))
    shared = replace(EXAMPLE, needs=needs, sources=(near, far), bags=())

    plan = quickest(shared, people)

    opened = [[each for visit in route.visits for each in visit.opened] for route in plan.routes]
    assert sorted(route.cs for route in plan.routes) == seconds
    assert plan.cs == max(seconds)
    assert all(len(each) == len(set(each)) for each in opened)
    assert added_up(shared, plan) == plan.cs


def added_up(statement: Statement, plan: Plan) -> int:
    """A plan's time, added up line by line."""
    times, opened = [], set[int]()
    for number, route in enumerate(plan.routes):
        begin = statement.end if number and plan.people == 1 else statement.begin
        stops = [begin, *(visit.stop for visit in route.visits), statement.end]
        walk = sum(statement.walk_cs[a][b] for a, b in pairwise(stops))
        opened = opened if plan.people == 1 else set()
        cs = walk + sum(_visited(statement, visit, opened) for visit in route.visits)
        assert cs == route.cs
        times.append(cs)
    return max(times) if plan.people > 1 else sum(times)


def _visited(statement: Statement, visit: Visit, opened: set[int]) -> int:
    """What one visit takes; all is opened before anything is taken out of it, and once."""
    assert not opened & set(visit.opened)
    opened |= set(visit.opened)
    cs = sum(statement.openings[each].cs for each in visit.opened)
    cs += sum(statement.bags[each].cs for each in visit.bags)
    for take in visit.taken:
        (source,) = [s for s in statement.sources if (s.place, s.stop) == (take.place, visit.stop)]
        assert set(source.openings) <= opened
        assert take.count <= source.stock[take.need]
        cs += statement.needs[take.need].pick_cs * take.count
    return cs


def brought_by(statement: Statement, plan: Plan) -> Counter[int]:
    """How many of each need a plan brings."""
    visits = [visit for route in plan.routes for visit in route.visits]
    takes = [take for visit in visits for take in visit.taken]
    found: Counter[int] = Counter()
    for take in takes:
        found[take.need] += take.count
    for bag in (bag for visit in visits for bag in visit.bags):
        found.update(statement.content[bag])
    assert len({(take.place, take.need) for take in takes}) == len(takes)
    return found


@pytest.mark.parametrize("people", [1, 2])
@pytest.mark.parametrize("seed", range(CASES))
def test_a_plan_adds_up_and_brings_the_kit(seed: int, people: int) -> None:
    """Line by line, by other code: its seconds, its openings, its stock."""
    statement = rig(seeded(seed))
    plan = quickest(statement, people)

    brought = brought_by(statement, plan)

    assert added_up(statement, plan) == plan.cs
    assert all(brought[n] >= need.quantity for n, need in enumerate(statement.needs))


@pytest.mark.parametrize("seed", range(40))
def test_nothing_of_all_there_is_takes_less(seed: int) -> None:
    """On small statements every choice is listed; `tests.bench.optimum` lists 300 of them."""
    statement = small_of(seed)
    for people in (1, 2):
        plan = quickest(statement, people)
        assert (plan.cs if plan.is_carried else None) == least(statement, people)


@pytest.mark.parametrize("block", range(SMALL // 30))
def test_a_constraint_solver_agrees_on_small_ones(block: int) -> None:
    """One person in up to two trips, and two people, on 300: proved, and to the hundredth."""
    for seed in range(block * 30, block * 30 + 30):
        statement = small_of(seed)
        for people, trips in ((1, 2), (2, 1)):
            plan = quickest(statement, people)
            found = referee(statement, people=people, trips=trips, seconds=30)
            assert found.is_proved
            assert plan.is_proved
            assert found.cs == (plan.cs if plan.is_carried else None)


def is_on_a_cot(statement: Statement, plan: Plan) -> bool:
    """Whether a cot is brought for what hands do not carry on any walk of the plan."""
    for route in plan.routes:
        bags = [statement.bags[number] for visit in route.visits for number in visit.bags]
        taken = [take for visit in route.visits for take in visit.taken]
        hands = sum(bag.hands for bag in bags if not bag.carries)
        hands += sum(statement.needs[take.need].hands * take.count for take in taken)
        if any(bag.carries for bag in bags) and hands > (statement.hands or hands):
            return True
    return False


def test_the_small_ones_ask_for_all_there_is_to_choose() -> None:
    """Counts above one, several sources, bags brought whole, a cot, a second trip, none at all."""
    made = [small_of(seed) for seed in range(SMALL)]
    plans = [quickest(each) for each in made]

    def many(found: Iterable[bool]) -> int:
        return sum(found)

    assert many(any(need.quantity > 1 for need in each.needs) for each in made) > 100
    assert many(len({s.place for s in each.sources if 0 in s.stock}) > 1 for each in made) > 100
    assert many(any(v.bags for r in plan.routes for v in r.visits) for plan in plans) > 30
    assert many(len(plan.routes) > 1 for plan in plans) > 10
    assert many(is_on_a_cot(*each) for each in zip(made, plans, strict=True)) > 10
    assert many(is_on_a_cot(each, quickest(each, 2)) for each in made) > 5
    assert many(not plan.is_carried for plan in plans) > 0
    assert many(len(quickest(each, 2).routes) > 1 for each in made) > 100


@pytest.mark.parametrize("seed", range(10))
def test_a_constraint_solver_finds_nothing_that_takes_less(seed: int) -> None:
    """OR-tools CP-SAT on whole rigs; `tests.bench.optimum` asks it many more."""
    statement = rig(seeded(seed), hands=None)

    found = referee(statement, seconds=20)

    assert found.is_proved
    assert quickest(statement).cs == found.cs


class TestAlways:
    @pytest.mark.parametrize("seed", range(CASES))
    def test_more_stock_never_costs_more(self, seed: int) -> None:
        """One more of everything that lies there."""
        random = seeded(seed)
        statement = rig(random, hands=None)
        more = tuple(
            replace(each, stock={need: n + 1 for need, n in each.stock.items()})
            for each in statement.sources
        )
        for people in (1, 2):
            richer = quickest(replace(statement, sources=more), people)
            assert richer.cs <= quickest(statement, people).cs

    @pytest.mark.parametrize("seed", range(CASES))
    def test_a_need_less_never_costs_more(self, seed: int) -> None:
        """And a unit less of one neither."""
        statement = rig(seeded(seed), hands=None)
        whole = quickest(statement).cs
        fewer = tuple(replace(n, quantity=max(n.quantity - 1, 0)) for n in statement.needs)
        assert quickest(replace(statement, needs=fewer)).cs <= whole
        assert quickest(replace(statement, needs=(fewer[0], *statement.needs[1:]))).cs <= whole

    @pytest.mark.parametrize("seed", range(CASES))
    def test_the_way_there_is_as_long_as_the_way_back(self, seed: int) -> None:
        """Begin and end changed for each other."""
        statement = rig(seeded(seed), hands=None)
        stops = statement.stops
        order = [*range(stops), stops + 1, stops]
        turned = tuple(tuple(statement.walk_cs[a][b] for b in order) for a in order)
        for people in (1, 2):
            back = quickest(replace(statement, walk_cs=turned), people)
            assert back.cs == quickest(statement, people).cs

    @pytest.mark.parametrize("seed", range(CASES))
    def test_two_people_and_more_hands_are_never_slower(self, seed: int) -> None:
        """Two are no slower than one, closed never under half of it; no limit is the quickest."""
        statement = rig(seeded(seed))
        free = replace(statement, hands=None)
        one, two = quickest(statement), quickest(statement, 2)

        assert two.cs <= one.cs
        assert quickest(free).cs <= quickest(replace(statement, hands=3)).cs <= one.cs
        if statement.is_closed:
            assert quickest(free, 2).cs * 2 >= quickest(free).cs

    @pytest.mark.parametrize("seed", range(CASES))
    def test_a_bag_that_may_be_carried_is_never_slower(self, seed: int) -> None:
        """It need not be."""
        statement = rig(seeded(seed), hands=None)

        assert quickest(statement).cs <= quickest(without_bags(statement)).cs

    @pytest.mark.parametrize("seed", range(CASES))
    def test_the_order_of_the_kit_does_not_matter(self, seed: int) -> None:
        """Nor does the unit of time: twice all times is twice the time."""
        statement = rig(seeded(seed), hands=None)
        last = len(statement.needs) - 1
        turned = replace(
            statement,
            needs=tuple(reversed(statement.needs)),
            sources=tuple(
                replace(each, stock={last - need: n for need, n in each.stock.items()})
                for each in statement.sources
            ),
        )
        twice = replace(
            statement,
            needs=tuple(replace(each, pick_cs=each.pick_cs * 2) for each in statement.needs),
            openings=tuple(replace(each, cs=each.cs * 2) for each in statement.openings),
            bags=tuple(replace(each, cs=each.cs * 2) for each in statement.bags),
            walk_cs=tuple(tuple(each * 2 for each in row) for row in statement.walk_cs),
        )
        for people in (1, 2):
            cs = quickest(statement, people).cs
            assert quickest(turned, people).cs == cs
        assert quickest(twice).cs == quickest(statement).cs * 2


class TestRefused:
    def test_a_shortcut_by_way_of_another_stop(self) -> None:
        """Then no bound would be one."""
        walk = [list(row) for row in WALK]
        walk[0][1] = walk[1][0] = 5000
        broken = replace(EXAMPLE, walk_cs=tuple(map(tuple, walk)))

        with pytest.raises(StatementError, match="From 0 to 1 it is quicker by way of"):
            quickest(broken)

    def test_what_is_not_aboard(self) -> None:
        """It says how many there are."""
        needs = (replace(EXAMPLE.needs[0], quantity=9), *EXAMPLE.needs[1:])

        with pytest.raises(StatementError, match="dressing: 9 are needed, and 8 aboard"):
            quickest(replace(EXAMPLE, needs=needs))

    def test_two_heavy_things_in_one_place(self) -> None:
        """Each has a place of its own."""
        needs = (replace(EXAMPLE.needs[0], hands=1), *EXAMPLE.needs[1:])

        with pytest.raises(StatementError, match="each heavy thing has a place of its own"):
            quickest(replace(EXAMPLE, needs=needs))

    def test_more_than_two_trips_say_that_nobody_carries_it(self) -> None:
        """The plan is that of somebody without a limit, and says so."""
        needs = tuple(replace(each, hands=2) for each in EXAMPLE.needs)
        plan = quickest(replace(EXAMPLE, needs=needs, hands=2).in_units())

        assert not plan.is_carried
        assert plan.cs == 3350
