"""The people of a simulated service and the kit they are asked for, drawn from a seed.

What is drawn is ours and made up: how far people, things and pairs of both lie apart.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from drills.engine.simulated.laws import CurveMemory, Memory, TraceMemory
from drills.engine.simulated.scenario import TRACES, Scenario

Array = NDArray[np.float64]
Ints = NDArray[np.int_]
Flags = NDArray[np.bool_]

CATEGORIES = 10
# Standard deviations in log-odds: of people, things, a person in a category, a person with a thing.
ABILITY, DIFFICULTY, LEANING, PAIR = 0.7, 0.8, 0.3, 0.5
# The same spread as the logarithm of how long a memory holds under law F.
HOLDS_LONGER = 0.8
DECAY, DECAY_SPREAD = 0.5, 0.2
# How far apart people are in speed, and things in the time they take, as logarithms.
SPEED, SLOW = 0.25, 0.25
# How far apart they lie in how often they are come across on shift.
BUSY, COMMON = 0.5, 1.2
# A bag is at hand this much more often than a thing.
BAG_AT_HAND = 3.0
# Who was there on the first day came within so many days before.
LONGEST_THERE = 1_500.0
# Where a thing is on another layout comes to mind by half; every other thing is where it is here.
OTHER_LAYOUT, SAME_PLACE = 0.5, 0.5
# How many ride their own layout on a day.
AT_HOME = 0.7


@dataclass(frozen=True, slots=True)
class Crew:
    """People, as arrays of one length.

    `account` is who they sign in as; `hired` the day they came; `speed` how much slower they are
    than usual, as a logarithm; `busy` weighs how much they come across on shift; `home` is the
    layout they mostly ride.
    """

    account: Ints
    hired: Array
    is_lazy: Flags
    speed: Array
    busy: Array
    home: Ints

    def __len__(self) -> int:
        return len(self.account)


@dataclass(slots=True)
class Kit:
    """Things, `things` of them no bags, and where each lies; the bags are numbered after them.

    `bag` is the number of the bag that holds a thing, -1 for none; `slow` how much longer it takes
    to find, as a logarithm; `common` weighs how often it is come across. Of layouts by things are
    `slot`, the memory of where it is there; `rival`, the memory of another place of it, -1 for
    none, which comes to mind by `weight`; `place`, the number of the place; and `there`, whether
    the layout has it at all. `wanted` weighs how often drills ask for a thing.
    """

    things: int
    bag: Ints
    category: Ints
    slow: Array
    common: Array
    slot: Ints
    rival: Ints
    weight: Array
    place: Ints
    there: Flags
    wanted: Array

    def __len__(self) -> int:
        return len(self.bag)

    @property
    def slots(self) -> int:
        """How many memories there are of things at places."""
        return int(self.slot.max()) + 1

    def move(self, things: Ints, layouts: Iterable[int]) -> None:
        """Give some things another place on some layouts, where nobody has met them yet."""
        for layout in layouts:
            fresh = self.slots + np.arange(len(things))
            self.rival[layout, things], self.weight[layout, things] = self.slot[layout, things], 1.0
            self.slot[layout, things] = fresh
            self.place[layout, things] = int(self.place.max()) + 1 + np.arange(len(things))


@dataclass(frozen=True, slots=True)
class Effects:
    """How much more easily each person knows each thing, in log-odds: drawn once, so that a thing
    stays as easy when it moves, but for what a person makes of the new place."""

    people: Array
    things: Array
    leaning: Array

    def of(self, things: Ints, categories: Ints, rng: Generator) -> Array:
        """Of all people with some things, people by things."""
        pairs = rng.normal(0.0, PAIR, (len(self.people), len(things)))
        result: Array = (
            self.people[:, None] - self.things[things] + self.leaning[:, categories] + pairs
        )
        return result


def draw_crew(scenario: Scenario, rng: Generator) -> Crew:
    """The people: who came when, who taps at random, who signs in as somebody else."""
    many = scenario.people
    hired = -rng.uniform(0.0, LONGEST_THERE, many)
    fresh = rng.random(many) < scenario.hired
    late = rng.uniform(scenario.train_days, 0.9 * scenario.days, many)
    account = np.arange(many)
    sharing = np.flatnonzero(rng.random(many) < scenario.shared)
    account[sharing] = account[sharing - 1]
    return Crew(
        account=account,
        hired=np.floor(np.where(fresh, late, hired)),
        is_lazy=rng.random(many) < scenario.lazy,
        speed=rng.normal(0.0, SPEED, many),
        busy=rng.lognormal(0.0, BUSY, many),
        home=rng.integers(0, scenario.layouts, many),
    )


def draw_kit(scenario: Scenario, rng: Generator) -> Kit:
    """The things, in their bags and places on each layout."""
    things, bags = scenario.items, scenario.bags
    many = things + bags
    bag = np.full(many, -1)
    held = rng.permutation(things)[: bags * scenario.bag_holds]
    bag[held] = things + np.arange(len(held)) // scenario.bag_holds
    common = at_hand(things, many, rng)
    kit = Kit(
        things=things,
        bag=bag,
        category=rng.integers(0, CATEGORIES, many),
        slow=rng.normal(0.0, SLOW, many),
        common=common,
        slot=np.tile(np.arange(many), (scenario.layouts, 1)),
        rival=np.full((scenario.layouts, many), -1),
        weight=np.zeros((scenario.layouts, many)),
        place=np.tile(np.arange(many), (scenario.layouts, 1)),
        there=np.ones((scenario.layouts, many), dtype=bool),
        wanted=np.ones(many),
    )
    for layout in range(1, scenario.layouts):
        _lay_out(kit, layout, np.flatnonzero(rng.random(many) >= SAME_PLACE))
    return kit


def at_hand(things: int, many: int, rng: Generator) -> Array:
    """How often each of so many steps is come across, beside the others; `things` are no bags."""
    common = rng.lognormal(0.0, COMMON, many)
    common[things:] *= BAG_AT_HAND
    result: Array = common / common.sum()
    return result


def _lay_out(kit: Kit, layout: int, elsewhere: Ints) -> None:
    """Put some things elsewhere on a further layout; each then brings the other to mind."""
    kit.slot[layout, elsewhere] = kit.slots + np.arange(len(elsewhere))
    kit.place[layout, elsewhere] = kit.slot[layout, elsewhere]
    for one, other in ((0, layout), (layout, 0)):
        kit.rival[one, elsewhere] = kit.slot[other, elsewhere]
        kit.weight[one, elsewhere] = OTHER_LAYOUT


def draw_effects(scenario: Scenario, kit: Kit, rng: Generator) -> Effects:
    """How able people are and how hard things, in log-odds."""
    return Effects(
        people=rng.normal(0.0, ABILITY, scenario.people),
        things=rng.normal(0.0, DIFFICULTY, len(kit)),
        leaning=rng.normal(0.0, LEANING, (scenario.people, CATEGORIES)),
    )


def draw_memory(scenario: Scenario, kit: Kit, effects: Effects, rng: Generator) -> Memory:
    """What everybody remembers before they have met anything."""
    layout, thing = np.nonzero(np.ones_like(kit.slot))
    things = np.zeros(kit.slots, dtype=int)
    things[kit.slot[layout, thing]] = thing
    drawn = effects_under(scenario.law, effects.of(things, kit.category[things], rng))
    if scenario.law == TRACES:
        return TraceMemory(DECAY * rng.lognormal(0.0, DECAY_SPREAD, scenario.people), drawn)
    return CurveMemory(drawn)


def effects_under(law: str, drawn: Array) -> Array:
    """Effects drawn in log-odds, in the terms of a law."""
    return drawn if law == TRACES else HOLDS_LONGER * drawn


def layouts_ridden(crew: Crew, scenario: Scenario, people: Ints, rng: Generator) -> Ints:
    """The layout each of some people rides on a day: mostly their own."""
    any_other = rng.integers(0, scenario.layouts, len(people))
    return np.where(rng.random(len(people)) < AT_HOME, crew.home[people], any_other)
