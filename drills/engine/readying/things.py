"""What is thought of each thing of a rig: known when every step to one of its places is."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drills.engine.facts import steps
from drills.engine.layout import Layout, Thing
from drills.engine.memory import Told
from drills.engine.readying.call import ENDS, draws, first_lapse, interval_of, over_shift
from drills.engine.readying.counting import Array
from drills.engine.readying.known import Kit, Known, Must


@dataclass(frozen=True, slots=True)
class Thought(Told):
    """The chance that one thing is found now, with its 80 % interval and the first answers on the
    steps to it. `lapses_in` is after how many days of nothing it is sooner missed than found, the
    first of those looked at; None where it is not, or is so now."""

    thing: Thing
    chance: float
    low: float
    high: float
    first_answers: int
    hands_on: int
    lapses_in: int | None = None


def ways_to(layout: Layout, thing: Thing) -> Must:
    """A thing with the steps to each of its places."""
    return Must(thing.name, tuple(steps(layout, thing.key, code) for code in thing.places))


def thoughts_of(
    layout: Layout, known: Known, ahead: Mapping[int, Known], things: Sequence[Thing]
) -> Iterator[Thought]:
    """What is thought of each thing, in their order; `ahead` is the same after so many days.

    `ValueError` where nothing is thought of a step.
    """
    if not things:
        return
    kit = Kit(ways_to(layout, thing) for thing in things)
    own = known.only(kit.facts)
    chances, low, high = intervals_of(kit, own)
    later = {days: _chances(kit, each.only(kit.facts)) for days, each in ahead.items()}
    for at, (thing, must) in enumerate(zip(things, kit.musts, strict=True)):
        rows = steps_to(own, must)
        yield Thought(
            thing,
            float(chances[at]),
            float(low[at]),
            float(high[at]),
            int(own.firsts[rows].sum()),
            int(own.hands_on[rows].sum()),
            first_lapse(
                float(chances[at]), ((days, float(each[at])) for days, each in later.items())
            ),
        )


def mean_of(known: Known) -> tuple[float, float, float]:
    """The mean chance of all facts, and both ends of its 80 % interval: for one fact that of the
    fact."""
    mean = float(known.chance.mean())
    drawn = known.drawn(*draws(len(known.facts))).mean(axis=1)
    return mean, *interval_of(drawn, mean)


def steps_to(own: Known, must: Must) -> list[int]:
    """Where the steps to a thing stand, by any of its ways, each once."""
    return sorted({own.at[fact] for way in must.ways for fact in way})


def intervals_of(kit: Kit, own: Known) -> tuple[Array, Array, Array]:
    """The chance of each thing of a kit and both ends of its 80 % interval; `own` has the facts of
    the kit in their order."""
    chances = _chances(kit, own)
    low, high = np.quantile(kit.each(own.drawn(*draws(len(own.facts)))), ENDS, axis=0)
    return chances, np.minimum(low, chances), np.maximum(high, chances)


def _chances(kit: Kit, own: Known) -> Array:
    at_nodes, weights = over_shift(own)
    return np.asarray(weights @ kit.each(at_nodes))
