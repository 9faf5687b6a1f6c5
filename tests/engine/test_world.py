"""A simulated service lived through step by step, and the laws by which its people forget."""

from dataclasses import replace

import numpy as np
import pytest

from drills.engine.simulated import Move, Scenario, World
from drills.engine.simulated.curve import USUAL, recall
from drills.engine.simulated.laws import (
    EVEN_TRACES,
    GUESS,
    SHARPNESS,
    TRACES_KEPT,
    CurveMemory,
    TraceMemory,
)
from drills.engine.simulated.scenario import LAWS

SMALL = Scenario(people=12, items=30)
ONE, NONE, NO_WEIGHT = np.array([0]), np.array([-1]), np.array([0.0])


def at(days: float) -> np.ndarray:
    return np.array([days])


def test_nobody_knows_what_they_never_met() -> None:
    """Under both laws what was never met is guessed."""
    for memory in (TraceMemory(np.array([0.5]), np.zeros((1, 2))), CurveMemory(np.zeros((1, 2)))):
        assert memory.chance(ONE, ONE, NONE, NO_WEIGHT, at(5.0)) == pytest.approx(GUESS)


def test_traces_add_up_and_decay() -> None:
    """Two traces, 4 and 25 days old, of a person with exponent 1/2 give the odds worked by hand."""
    memory = TraceMemory(np.array([0.5]), np.full((1, 1), 0.3))
    memory.review(ONE, ONE, at(0.0), np.array([USUAL]))
    memory.review(ONE, ONE, at(21.0), np.array([USUAL]))

    odds = ((1 / 5 + 1 / 2) / EVEN_TRACES) ** (1 / SHARPNESS) * np.exp(0.3)
    wanted = GUESS + (1 - GUESS) * odds / (1 + odds)
    assert memory.chance(ONE, ONE, NONE, NO_WEIGHT, at(25.0)) == pytest.approx(wanted)


def test_only_the_latest_traces_are_kept() -> None:
    """One trace more than are kept pushes out the first, and nothing else."""
    whole, late = (TraceMemory(np.array([0.5]), np.zeros((1, 1))) for _ in range(2))
    for day in range(TRACES_KEPT + 1):
        whole.review(ONE, ONE, at(float(day)), np.array([USUAL]))
        if day:
            late.review(ONE, ONE, at(float(day)), np.array([USUAL]))

    then = at(60.0)
    assert whole.chance(ONE, ONE, NONE, NO_WEIGHT, then) == late.chance(
        ONE, ONE, NONE, NO_WEIGHT, then
    )


def test_the_curve_is_the_published_one_at_a_pace_of_ones_own() -> None:
    """Once reviewed, a usual memory follows the published curve, and one that holds twice as long
    is after 20 days where the usual is after 10."""
    memory = CurveMemory(np.array([[0.0, np.log(2.0)]]))
    for slot in (0, 1):
        memory.review(ONE, np.array([slot]), at(0.0), np.array([USUAL]))

    wanted = GUESS + (1 - GUESS) * recall(10.0, 2.3065)
    assert memory.chance(ONE, ONE, NONE, NO_WEIGHT, at(10.0)) == pytest.approx(wanted)
    assert memory.chance(ONE, np.array([1]), NONE, NO_WEIGHT, at(20.0)) == pytest.approx(wanted)


@pytest.mark.parametrize("law", LAWS)
def test_an_old_place_takes_from_the_new_one(law: str) -> None:
    """Whoever knows where it was knows less surely where it is, the less the more it competes."""
    make = {"A": lambda: TraceMemory(np.array([0.5]), np.zeros((1, 2)))}
    memory = make.get(law, lambda: CurveMemory(np.zeros((1, 2))))()
    for slot in (0, 1):
        memory.review(ONE, np.array([slot]), at(0.0), np.array([USUAL]))

    chances = [
        memory.chance(ONE, ONE, np.array([1]), np.array([weight]), at(9.0))[0]
        for weight in (0.0, 0.5, 1.0)
    ]
    assert chances[0] == memory.chance(ONE, ONE, NONE, NO_WEIGHT, at(9.0))
    assert chances[0] > chances[1] + 0.01 > chances[2] + 0.02


@pytest.mark.parametrize("law", LAWS)
def test_the_truth_is_what_answers_are_drawn_with(law: str) -> None:
    """What `truth_at` says of a moment is the chance behind an answer at that moment, and
    finding a thing in a bag takes both steps."""
    world = World(replace(SMALL, law=law), seed=8)
    world.go_to(20.0)
    people = world.are_there()
    things = people % world.kit.things
    truth, found = world.truth_at(20.5), world.found_at(20.5)
    bags, inside = world.ask(people, things, 20.5)

    for given in (bags, inside):
        assert given.chance == pytest.approx(truth[given.asked.person, given.asked.item])
    held = np.flatnonzero(world.kit.bag[: world.kit.things] >= 0)
    assert len(bags.chance)
    assert found[:, held] == pytest.approx(truth[:, held] * truth[:, world.kit.bag[held]])


def test_being_asked_changes_one_memory_and_nothing_else() -> None:
    """In two worlds of one seed, what nobody was asked for stays equally true whatever else was
    asked, through weeks of shifts."""
    asked, left = World(SMALL, seed=5), World(SMALL, seed=5)
    loose = np.flatnonzero(asked.kit.bag[: asked.kit.things] < 0)[0]
    for day in range(1, 40):
        for world in (asked, left):
            world.go_to(float(day))
        asked.drill(asked.are_there()[:3], np.full((3, 1), loose), day + 0.5)

    differs = asked.truth_at(41.0) != left.truth_at(41.0)
    people, things = np.nonzero(differs)
    assert set(people) == {0, 1, 2}
    assert set(things) == {loose}


def test_a_move_leaves_everything_else_as_it_was() -> None:
    """On its day a revision changes the truth of the bag and the thing that moved, to the last bit,
    not of what is in the bag."""
    moved = World(replace(SMALL, moves=(Move(day=30, bags=1, loose=1),)), seed=5)
    still = World(SMALL, seed=5)
    for world in (moved, still):
        world.go_to(30.0)

    ((_, things),) = moved.moved
    differs = (moved.truth_at(30.0) != still.truth_at(30.0)).any(axis=0)
    assert set(np.flatnonzero(differs)) == set(things)
    assert len(things) == 2


def test_what_lies_in_the_same_place_on_two_layouts_is_one_memory() -> None:
    """Who learns it on one knows it on the other; what lies elsewhere there is learnt apart."""
    world = World(replace(SMALL, layouts=2, uses=0.0, in_bags=0.0), seed=5)
    is_same = world.kit.place[0] == world.kit.place[1]
    before = world.truth_at(1.0, layout=1)[0]
    for thing in range(world.kit.things):
        world.ask(ONE, np.array([thing]), 0.5, layout=0)
    after = world.truth_at(1.0, layout=1)[0]

    assert 5 < is_same.sum() < 25
    assert (after[is_same] > before[is_same]).all()
    was_met = ~is_same & (before > GUESS)
    assert was_met.sum() > 5
    assert (after[was_met] < before[was_met]).all()
