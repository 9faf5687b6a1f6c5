"""Whether two people on a rig would find everything for a call between them.

Nothing here says that one of two is the worse, or that two do not fit: it says which things
neither is likely to find, and the shortest drill that changes it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drills.engine.facts import Fact
from drills.engine.memory import FEWEST_FIRST_ANSWERS, WIDEST_SHOWN
from drills.engine.readying.call import (
    NOT_ENOUGH,
    Limit,
    beside,
    draws,
    interval_of,
    likeliest_way,
    over_shift,
    time_factor,
)
from drills.engine.readying.counting import Array
from drills.engine.readying.known import Kit, Known, Must
from drills.engine.readying.recalibrating import AS_IT_IS, Recalibration

# A thing neither is likely to find: both chances below the first, or both upper ends below the
# second. Ours, no source.
UNLIKELY, UNLIKELY_AT_BEST = 0.5, 0.7
# Facts to drill: those less known than this. Ours, no source.
KNOWN_WELL = 0.8
# Of two there are the square of cases and of nodes: so there are fewer of each.
SHARED_OF_TWO, NODES_OF_TWO = 4, 11
# Of fewer things that both were asked for, what both missed is mostly luck. Ours, no source.
FEWEST_TOGETHER = 200


@dataclass(frozen=True, slots=True)
class Unseen:
    """A thing that neither is likely to find, with the facts to drill; `rank` is how much it
    matters times the chance that both miss it."""

    name: str
    facts: tuple[Fact, ...]
    rank: float


@dataclass(frozen=True, slots=True)
class CrewReadiness:
    """What may be said of two people: chances are None where it is *not enough evidence*.

    `chance`, `low` and `high` (80 %) are that all is found within the limit by either; `missing` is
    how many things are expected to be found by neither. `unseen` are things that neither is likely
    to find, those first that matter most.
    """

    chance: float | None
    low: float | None
    high: float | None
    missing: float | None
    things: int
    first_answers: int
    words: tuple[str, ...]
    unseen: tuple[Unseen, ...]

    @property
    def is_enough(self) -> bool:
        """Whether a chance is said at all."""
        return self.chance is not None

    @property
    def without_figures(self) -> "CrewReadiness":
        """The same where there is not enough evidence of both: what to drill, and no chance."""
        words = (NOT_ENOUGH, *self.words)
        return replace(self, chance=None, low=None, high=None, missing=None, words=words)

    @property
    def to_drill(self) -> frozenset[Fact]:
        """The facts that a drill must ask for to clear what neither is likely to find."""
        return frozenset(fact for each in self.unseen for fact in each.facts)


def crew_readiness(
    two: tuple[Known, Known],
    musts: Sequence[Must],
    limit: Limit,
    *,
    together: float = 0.0,
    recalibration: Recalibration = AS_IT_IS,
    observed: int = 0,
) -> CrewReadiness:
    """The chance that either of two finds each must-have and all are there within the limit.

    Their own doubts are apart; `together` is how much misses go together beyond how hard a thing is
    (`missed_together`). Each thing is fetched by whoever is likelier to find it, and both searches
    must fit in the time. `ValueError` where nothing is thought of a fact.
    """
    kit = Kit(musts, most_shared=SHARED_OF_TWO)
    one, other = (each.only(kit.facts) for each in two)
    hurry = _time_of_two(one, other, kit, limit)
    (first, weights), (second, others) = (over_shift(each, NODES_OF_TWO) for each in (one, other))
    found = _either(kit, first[:, None, :], second[None, :, :], together)
    missed = (1.0 - _either_each(kit, first[:, None, :], second[None, :, :], together)).sum(-1)
    chance = float(recalibration.of(hurry * float(weights @ found @ others)))
    low, high = interval_of(
        recalibration.of(hurry * _either(kit, *_drawn_of_two(one, other), together)), chance
    )
    said = CrewReadiness(
        chance=chance,
        low=low,
        high=high,
        missing=float(weights @ missed @ others),
        things=len(kit.musts),
        first_answers=int(one.firsts.sum() + other.firsts.sum()),
        words=beside([one, other], observed=observed),
        unseen=_unseen(kit, one, other),
    )
    fewest = min(one.firsts.sum(), other.firsts.sum())
    is_enough = high - low <= WIDEST_SHOWN and fewest >= FEWEST_FIRST_ANSWERS
    return said if is_enough else said.without_figures


def missed_together(missed: NDArray[np.bool_], expected_one: Array, expected_other: Array) -> float:
    """How much two people's misses go together, 0 to 1, beyond what their chances say.

    One row for each thing that two were both asked for: whether both `missed` it, and each one's
    expected chance of finding it. 0 with fewer than `FEWEST_TOGETHER` rows; a shared cause, such as
    a thing that was shown to neither, makes it more.
    """
    if len(missed) < FEWEST_TOGETHER:
        return 0.0
    alone = (1.0 - expected_one) * (1.0 - expected_other)
    room = np.sqrt(expected_one * (1 - expected_one) * expected_other * (1 - expected_other))
    return float(np.clip((missed - alone).sum() / max(room.sum(), 1e-12), 0.0, 1.0))


def _both_miss(one: Array, other: Array, together: float) -> Array:
    """The chance that both miss: alone, and what goes together; never more than either alone."""
    alone = (1.0 - one) * (1.0 - other)
    if not together:
        return np.asarray(alone)
    room = np.sqrt(one * (1.0 - one) * other * (1.0 - other))
    return np.asarray(np.minimum(alone + together * room, np.minimum(1.0 - one, 1.0 - other)))


def _either(kit: Kit, one: Array, other: Array, together: float) -> Array:
    """The chance that everything is found by either."""
    (likely, found), (also, its) = kit.cases(one), kit.cases(other)
    whole = np.zeros(np.broadcast_shapes(one.shape, other.shape)[:-1])
    for case, things in zip(likely, found, strict=True):
        whole += (case * also * (1.0 - _both_miss(things, its, together)).prod(axis=-1)).sum(axis=0)
    return whole


def _either_each(kit: Kit, one: Array, other: Array, together: float) -> Array:
    return np.asarray(1.0 - _both_miss(kit.each(one), kit.each(other), together))


def _drawn_of_two(one: Known, other: Known) -> tuple[Array, Array]:
    """Draws of what both know, apart from each other."""
    width = len(one.facts)
    shift, doubts = draws(2 * width + 1)
    return (
        one.drawn(shift, doubts[:, :width]),
        other.drawn(doubts[:, -1], doubts[:, width : 2 * width]),
    )


def _time_of_two(one: Known, other: Known, kit: Kit, limit: Limit) -> float:
    """Both searches fit: each thing with who is likelier to find it, of two alike in turn."""
    first, second = kit.each(one.plainly), kit.each(other.plainly)
    hands: tuple[list[Must], list[Must]] = [], []
    for must, mine, its in zip(kit.musts, first, second, strict=True):
        alike = math.isclose(mine, its, abs_tol=0.02)
        takes = len(hands[1]) < len(hands[0]) if alike else bool(its > mine)
        hands[takes].append(must)
    return time_factor(one, hands[0], limit) * time_factor(other, hands[1], limit)


def _unseen(kit: Kit, one: Known, other: Known) -> tuple[Unseen, ...]:
    """What neither is likely to find, what matters most first."""
    shift, doubts = draws(len(kit.facts))
    means, highs = [], []
    for each in (one, other):
        chances, weights = over_shift(each)
        means.append(weights @ kit.each(chances))
        highs.append(np.quantile(kit.each(each.drawn(shift, doubts)), 0.9, axis=0))
    is_unlikely = (np.maximum(*means) < UNLIKELY) | (np.maximum(*highs) < UNLIKELY_AT_BEST)
    miss = (1.0 - means[0]) * (1.0 - means[1])
    found = [
        Unseen(must.name, _weak(must, one if mine >= its else other), must.weight * float(both))
        for must, mine, its, both, is_it in zip(kit.musts, *means, miss, is_unlikely, strict=True)
        if is_it
    ]
    return tuple(sorted(found, key=lambda each: -each.rank))


def _weak(must: Must, nearer: Known) -> tuple[Fact, ...]:
    """The facts of the way that the nearer of two knows best, but for those known well."""
    way = likeliest_way(nearer, must)
    weak = tuple(fact for fact in way if nearer.plainly[nearer.at[fact]] < KNOWN_WELL)
    return weak or way
