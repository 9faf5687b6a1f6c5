"""The must-haves of a call as facts of a rig: each way that finding them takes."""

import pytest

from drills.engine.calls import MUST, USEFUL
from drills.engine.facts import BAG, Fact, facts_of
from drills.engine.readying.musts import CRITICAL_COUNTS, musts_of
from drills.engine.wanted import Wanted
from tests.layouts import demo_layout, practice_rig

RIG = practice_rig()


def wants(quantity: int, *things: str, grade: str = MUST, **more) -> list[Wanted]:
    return [Wanted("need", grade, quantity, name="What it takes", things=things, **more)]


def places(ways: tuple[tuple[Fact, ...], ...]) -> list[list[str]]:
    return [[fact.place for fact in way] for way in ways]


def test_a_thing_in_a_bag_takes_the_bag_and_the_pocket_and_elsewhere_one_step() -> None:
    (must,) = musts_of(RIG, wants(1, "tourniquet"))
    assert places(must.ways) == [["S1A", "BAG-M"], ["I1A"]]
    assert [fact.kind for fact in must.ways[0]] == [BAG, "item"]


def test_a_place_that_holds_too_few_is_no_way() -> None:
    (must,) = musts_of(RIG, wants(2, "tourniquet"))
    assert places(must.ways) == [["S1A", "BAG-M"]]


def test_where_no_place_holds_enough_all_that_do_together_are_one_way() -> None:
    (must,) = musts_of(RIG, wants(3, "tourniquet"))
    assert places(must.ways) == [["S1A", "BAG-M", "I1A"]]


def test_what_serves_instead_is_a_way_as_well() -> None:
    (must,) = musts_of(RIG, wants(1, "traffic cone", instead=("splint",)))
    assert places(must.ways) == [["S1"], ["S1A"]]


def test_a_pack_counts_as_all_it_holds() -> None:
    (must,) = musts_of(RIG, wants(12, "gauze roll", "trauma dressing", holds={"gauze roll": 4}))
    assert places(must.ways) == [["I1A"]]


@pytest.mark.parametrize("wanted", [wants(1, "tourniquet", grade=USEFUL), wants(0, "tourniquet")])
def test_what_is_no_must_have_or_not_aboard_is_left_out(wanted: list[Wanted]) -> None:
    assert musts_of(RIG, wanted) == ()


def test_what_is_critical_counts_more() -> None:
    critical, other = musts_of(RIG, [*wants(1, "tourniquet"), *wants(1, "splint")])
    assert (critical.weight, other.weight) == (CRITICAL_COUNTS, 1.0)


@pytest.mark.parametrize("name", ["mesa-box-rev2", "arroyo-van"])
def test_every_fact_of_a_way_is_one_of_the_layout(name: str) -> None:
    layout = demo_layout(name)
    known = set(facts_of(layout))
    carried = [key for key, thing in layout.things.items() if layout.pars_there(()).get(key)]

    for key in carried:
        (must,) = musts_of(layout, wants(1, key))
        assert known >= {fact for way in must.ways for fact in way}
