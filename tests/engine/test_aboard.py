"""Real layouts as the kit of a simulated service: what is which fact, and what a revision moves."""

from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np
import pytest

from drills.engine.facts import BAG, Fact, facts_of, steps
from drills.engine.layout import Layout
from drills.engine.simulated import Aboard, Scenario, World, aboard, live_through
from drills.engine.simulated.laws import GUESS
from drills.engine.workbook import read_workbook
from tests.layouts import FIXTURES

MOVED_ON, TOLD = 40, 0.15
WANTED: Mapping[str, float] = {}


@cache
def layout(folder: str) -> Layout:
    parsed = read_workbook(FIXTURES / "layouts" / folder)
    assert parsed.layout is not None
    return parsed.layout


def rigs() -> Sequence[Sequence[tuple[int, Layout]]]:
    """A box whose paediatric bag moves, and a van."""
    box = (0, layout("mesa-box")), (MOVED_ON, layout("mesa-box-rev2"))
    return box, ((0, layout("arroyo-van")),)


def kit(wanted: Mapping[str, float] = WANTED) -> Aboard:
    return aboard(rigs(), np.random.default_rng(4), wanted=wanted, told=TOLD)


def world(days: int = 60) -> tuple[World, Aboard]:
    made = kit()
    scenario = Scenario(people=14, items=made.kit.things, layouts=2, days=days, days_between=4.0)
    return World(scenario, seed=6, aboard=made), made


@pytest.mark.parametrize(("on", "day"), [(0, 0), (0, MOVED_ON - 1), (0, MOVED_ON), (1, 90)])
def test_each_fact_of_a_layout_is_one_thing_of_it(on: int, day: int) -> None:
    """On every day the facts of the layout in force stand there once, and no others."""
    in_force = next(each for since, each in reversed(rigs()[on]) if since <= day)

    assert sorted(kit().facts_on(on, day).values()) == sorted(facts_of(in_force))


def test_bags_are_numbered_last_and_hold_what_lies_in_them() -> None:
    """Of each thing in a bag the kit knows the bag, of each other none."""
    made, box = kit(), layout("mesa-box")
    number = {fact: at for at, fact in made.facts_on(0, 0).items()}

    for key, thing in box.things.items():
        for code in thing.places:
            *bags, item = steps(box, key, code)
            assert made.kit.bag[number[item]] == (number[bags[-1]] if bags else -1)
    assert all((at >= made.kit.things) == (fact.kind == BAG) for fact, at in number.items())


def test_what_moves_is_the_same_thing_elsewhere() -> None:
    """The revision moves the bag and the three things that lie elsewhere, and nothing else."""
    made = kit()
    (revised,) = made.revisions
    before, after = made.facts_on(0, 0), made.facts_on(0, MOVED_ON)
    names = {at: before[at].thing for at in revised.things.tolist()}

    assert sorted(names) == sorted(at for at in before if before[at] != after[at])
    assert {before[at].kind for at in names} == {BAG, "item"}
    assert len(names) == 4
    assert all(after[at].thing == thing for at, thing in names.items())


def test_a_revision_changes_what_it_moved_and_nothing_else() -> None:
    """On its day the truth of what moved falls to what a told few know, and all else stays to the
    last bit as it is in a service whose layout stays."""
    moved, made = world()
    still = World(
        moved.scenario,
        seed=6,
        aboard=aboard(
            (rigs()[0][:1], rigs()[1]), np.random.default_rng(4), wanted=WANTED, told=TOLD
        ),
    )
    for each in (moved, still):
        each.go_to(float(MOVED_ON))
    things = made.revisions[0].things
    one, other = moved.truth_at(float(MOVED_ON)), still.truth_at(float(MOVED_ON))

    assert set(np.flatnonzero((one != other).any(axis=0))) <= set(things.tolist())
    riders = np.flatnonzero((moved.crew.home == 0) & (moved.crew.hired <= 0))
    before, after = other[np.ix_(riders, things)], one[np.ix_(riders, things)]
    told = after.min(axis=1) > 0.9
    assert 0 < told.sum() < len(told)
    assert (after[~told] <= before[~told]).all()
    assert (after[~told] < before[~told]).any(axis=1).all()


def test_nobody_learns_where_a_thing_is_that_their_layout_has_not() -> None:
    """Where the box carries nothing, months of shifts on it teach nothing of what it carried."""
    made = kit()
    made.kit.there[0] = False
    lived = World(
        Scenario(people=8, items=made.kit.things, layouts=2, days=30), seed=2, aboard=made
    )
    truth = [lived.truth_at(0.0, layout=on)[:, list(made.facts_on(on, 0))] for on in (0, 1)]

    assert (truth[0] == GUESS).all()
    assert (truth[1] > 0.5).any()


def test_drills_ask_for_what_is_on_the_layout_that_day() -> None:
    """Every row of the log is of a fact of its layout, on the day it was asked."""
    lived, made = world()
    for _ in live_through(lived, seed=6):
        pass
    log, _ = lived.log()

    assert len(log) > 1_000
    assert set(log.layout.tolist()) == {0, 1}
    for row in range(len(log)):
        assert int(log.item[row]) in made.facts_on(int(log.layout[row]), float(log.time[row]))


def test_who_keeps_apart_takes_no_drill_of_the_plan() -> None:
    lived, _ = world()
    for _ in live_through(lived, seed=6, apart=[3]):
        pass

    assert set(lived.log()[0].person.tolist()) == set(range(14)) - {3}


def test_what_is_wanted_is_asked_for_more_often() -> None:
    """Of what weighs eight times as much, drills ask several times as often as of the rest."""
    some = sorted(layout("mesa-box").things)[::4]
    made = kit(dict.fromkeys(some, 8.0))
    scenario = Scenario(people=14, items=made.kit.things, layouts=2, days=60, days_between=4.0)
    lived = World(scenario, seed=6, aboard=made)
    for _ in live_through(lived, seed=6):
        pass
    log, _ = lived.log()
    facts: dict[int, Fact] = {**made.facts_on(0, 0), **made.facts_on(1, 0)}
    is_wanted = [facts[item].thing in some for item in log.item[log.item < log.things].tolist()]

    share = sum(fact.thing in some for fact in facts.values()) / len(facts)
    assert np.mean(is_wanted) > 2 * share


def test_what_one_keeps_oneself_is_not_in_the_log() -> None:
    """Asked inside an open bag, only the step inside is answered; unkept, it leaves no row."""
    lived, made = world()
    lived.go_to(1.0)
    inside = int(np.flatnonzero((made.kit.bag >= 0) & made.kit.there[0])[0])
    people = lived.are_there()[:3]
    bags, things = lived.ask(
        people, np.full(3, inside), 1.5, layout=0, is_kept=False, is_inside=True
    )

    assert len(bags.outcome) == 0
    assert len(things.outcome) == 3
    with pytest.raises(ValueError, match="at least one"):
        lived.log()
