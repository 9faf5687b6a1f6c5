"""What is thought of each thing of a rig: known when every step to one of its places is."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drills.engine.facts import steps
from drills.engine.layout import Layout, Thing
from drills.engine.memory import Told
from drills.engine.readying.call import ENDS, draws, first_lapse, over_shift
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
    found, weights = _by_thing(kit, own), over_shift(own)[1]
    chances = weights @ found
    shift, doubts = draws(len(own.facts))
    low, high = np.quantile(kit.found(own.drawn(shift, doubts)), ENDS, axis=0)
    later = {days: weights @ _by_thing(kit, each.only(kit.facts)) for days, each in ahead.items()}
    for at, (thing, must) in enumerate(zip(things, kit.musts, strict=True)):
        rows = sorted({own.at[fact] for way in must.ways for fact in way})
        yield Thought(
            thing,
            float(chances[at]),
            min(float(low[at]), float(chances[at])),
            max(float(high[at]), float(chances[at])),
            int(own.firsts[rows].sum()),
            int(own.hands_on[rows].sum()),
            first_lapse(
                float(chances[at]), ((days, float(each[at])) for days, each in later.items())
            ),
        )


def _by_thing(kit: Kit, own: Known) -> "np.ndarray[tuple[int, int], np.dtype[np.float64]]":
    return kit.found(over_shift(own)[0])
