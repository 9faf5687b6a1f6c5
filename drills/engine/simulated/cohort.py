"""Whole cohorts that drill for months by a plan of their own, and what is then known of them."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from drills.engine.simulated.answers import HANDS_ON, SCREEN
from drills.engine.simulated.cast import CATEGORIES, Kit, layouts_ridden
from drills.engine.simulated.log import ASSIGNED, MODEL, PROBE, Log
from drills.engine.simulated.scenario import PROBED_AFTER, Scenario
from drills.engine.simulated.world import World

Array = NDArray[np.float64]
Ints = NDArray[np.int_]
Flags = NDArray[np.bool_]

# One question in five is drawn from everything; the others mostly from what the drill is about.
PROBES = 0.2
ABOUT, WEIGHT_ABOUT = 3, 4.0
# Drills of one person scatter about their interval as a gamma of this shape.
REGULARITY = 4.0
QUIETER = 3.0
# Drills are between these parts of a day.
EARLIEST, LATEST = 0.3, 0.9
# At most so many of the moved things are asked of each person on a day of probes.
MOST_PROBED = 6
_PLAN = 11


@dataclass(frozen=True, slots=True)
class Look:
    """What was true at the start of a day, people by steps (things, then bags); a person who was
    not hired yet is in `are_there` not at all."""

    day: int
    chance: Array
    found: Array
    are_there: Ints


@dataclass(frozen=True, slots=True)
class Simulated:
    """What was kept of a cohort, and apart from it what was true.

    `chance` is the true chance of each row at its moment. `moved` has the day of each revision
    and the things it moved; `bag` the bag of each thing, -1 for none.
    """

    scenario: Scenario
    log: Log
    chance: Array
    looks: tuple[Look, ...]
    moved: tuple[tuple[int, Ints], ...]
    bag: Ints


def simulate_crews(scenario: Scenario, *, seed: int, look_at: Sequence[int] = ()) -> Simulated:
    """Live through a scenario from its first day to its last.

    `look_at` are days at whose start the truth about everybody is kept, before anything is asked.
    """
    world, looks = World(scenario, seed=seed), []
    for day in live_through(world, seed=seed):
        if day in look_at:
            chance, found = world.truth_at(day), world.found_at(day)
            looks.append(Look(day, chance, found, world.are_there()))
    log, chance = world.log()
    return Simulated(scenario, log, chance, tuple(looks), tuple(world.moved), world.kit.bag)


def live_through(world: World, *, seed: int, apart: Collection[int] = ()) -> Iterator[int]:
    """Live through the days of a world, everybody drilling by a plan but those who keep `apart`.

    Each day is told at its start, before anything is asked.
    """
    scenario, rng = world.scenario, default_rng([seed, _PLAN])
    days = _days_of_drills(scenario, world, rng)
    for day in range(scenario.days):
        world.go_to(float(day))
        yield day
        _take_drills(world, days[day][~np.isin(days[day], list(apart))], rng)
        _ask_for_the_moved(world, day, rng)


def _days_of_drills(scenario: Scenario, world: World, rng: Generator) -> list[Ints]:
    """Who drills on each day."""
    on: list[list[int]] = [[] for _ in range(scenario.days)]
    for person, hired in enumerate(world.crew.hired):
        for day in _days_of_one(scenario, max(float(hired), 0.0), rng):
            on[day].append(person)
    return [np.array(people, dtype=int) for people in on]


def _days_of_one(scenario: Scenario, begun: float, rng: Generator) -> Iterator[int]:
    day = begun + rng.uniform(0.0, scenario.days_between)
    while day < scenario.days:
        yield int(day)
        gap = rng.gamma(REGULARITY, scenario.days_between / REGULARITY)
        is_quiet = scenario.quiet is not None and scenario.quiet[0] <= day < scenario.quiet[1]
        day = max(day + gap * (QUIETER if is_quiet else 1.0), int(day) + 1.0)


def _take_drills(world: World, people: Ints, rng: Generator) -> None:
    if not len(people):
        return
    scenario = world.scenario
    is_probe = rng.random((len(people), scenario.asked)) < PROBES
    order = _Order.drawn(len(people), world.kit.things, rng)
    time = world.time + rng.uniform(EARLIEST, LATEST, len(people))
    layout = layouts_ridden(world.crew, scenario, people, rng)
    world.drill(
        people,
        order.things(world.kit, layout, is_probe),
        time,
        layout=layout,
        chosen=np.where(is_probe, PROBE, ASSIGNED),
        modality=np.where(rng.random(len(people)) < scenario.hands_on, HANDS_ON, SCREEN),
    )


@dataclass(frozen=True, slots=True)
class _Order:
    """What the drill of each person is about, categories, and how long each thing waits its turn:
    people by three, and by things."""

    about: Ints
    waits: Array

    @classmethod
    def drawn(cls, people: int, things: int, rng: Generator) -> "_Order":
        about = np.argsort(rng.random((people, CATEGORIES)), axis=1)[:, :ABOUT]
        # The first of an order by exponential waits, each as short as its weight is great, is a
        # draw by weight; the next one is a draw from what is left.
        return cls(about, rng.exponential(size=(people, things)))

    def things(self, kit: Kit, layout: Ints, is_probe: Flags) -> Ints:
        """The things asked of each person, none twice: at each place of the drill a probe drawn
        from all things of the layout, or one that is likelier of what the drill is about."""
        is_about = (kit.category[: kit.things] == self.about[:, :, None]).any(axis=1)
        waits = np.where(kit.there[layout, : kit.things], self.waits, np.inf)
        evenly = np.argsort(waits, axis=1)
        weights = np.where(is_about, WEIGHT_ABOUT, 1.0) * kit.wanted[: kit.things]
        weighted = np.argsort(waits / weights, axis=1)
        return _merged(evenly, weighted, is_probe)


def _merged(evenly: Ints, weighted: Ints, is_probe: Flags) -> Ints:
    """At each place the next thing of one order or the other that has not been taken."""
    rows = np.arange(len(is_probe))
    taken = np.zeros(evenly.shape, dtype=bool)
    chosen = np.empty(is_probe.shape, dtype=int)
    for at in range(is_probe.shape[1]):
        order = np.where(is_probe[:, at, None], evenly, weighted)
        is_free = ~np.take_along_axis(taken, order, axis=1)
        chosen[:, at] = order[rows, is_free.argmax(axis=1)]
        taken[rows, chosen[:, at]] = True
    return chosen


def _ask_for_the_moved(world: World, day: int, rng: Generator) -> None:
    """On some days after a move everybody is asked for what moved, in a drill of its own."""
    probed = {move.day for move in world.scenario.moves if move.is_probed}
    for since, things in world.moved:
        if since not in probed or day - since not in PROBED_AFTER:
            continue
        people = world.are_there()
        asked = [_one_inside(world, thing, len(people), rng) for thing in things]
        order = np.argsort(rng.random((len(people), len(asked))), axis=1)[:, :MOST_PROBED]
        world.drill(
            people,
            np.take_along_axis(np.stack(asked, axis=1), order, axis=1),
            day + LATEST + 0.01 + rng.uniform(0.0, 0.05, len(people)),
            layout=layouts_ridden(world.crew, world.scenario, people, rng),
            chosen=MODEL,
        )


def _one_inside(world: World, thing: int, people: int, rng: Generator) -> Ints:
    """For each person something in a bag, or the thing itself where it is none."""
    if thing < world.kit.things:
        return np.full(people, thing)
    return rng.choice(np.flatnonzero(world.kit.bag == thing), people)
