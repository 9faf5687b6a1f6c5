"""Whether two people on a rig would find everything for a call between them.

Nothing here says that one of two is the worse, or that two do not fit: it says which things
neither is likely to find, and the shortest drill that changes it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from drills.engine.facts import Fact
from drills.engine.memory import FEWEST_FIRST_ANSWERS, WIDEST_SHOWN
from drills.engine.readying.call import (
    NOT_ENOUGH,
    beside,
    draws,
    interval_of,
    likeliest_way,
    over_shift,
    time_factor,
)
from drills.engine.readying.counting import Array
from drills.engine.readying.hurrying import Limit
from drills.engine.readying.known import Kit, Known, Must
from drills.engine.readying.several import DrawnKit, Kits

# A thing neither is likely to find: both chances below the first, or both upper ends below the
# second. Ours, no source.
UNLIKELY, UNLIKELY_AT_BEST = 0.5, 0.7
# Facts to drill: those less known than this. Ours, no source.
KNOWN_WELL = 0.8
# Of two there are the square of cases and of nodes: so there are fewer of each.
SHARED_OF_TWO, NODES_OF_TWO = 4, 11


@dataclass(frozen=True, slots=True)
class Unseen:
    """A thing that neither is likely to find, with the facts to drill; `rank` is how much it
    matters times the chance that a call asks for it and both miss it."""

    name: str
    facts: tuple[Fact, ...]
    rank: float


@dataclass(frozen=True, slots=True)
class CrewReadiness:
    """What may be said of two people: chances are None where it is *not enough evidence*.

    `chance`, `low` and `high` (80 %) are that all is found within the limit by either; `missing` is
    how many of the `things` of a call are expected to be found by neither; of a call type each is
    the mean over its drawn calls. `unseen` are things that neither is likely to find, those first
    that matter most.
    """

    chance: float | None
    low: float | None
    high: float | None
    missing: float | None
    things: float
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
    kits: Sequence[DrawnKit],
    *,
    observed: int = 0,
) -> CrewReadiness:
    """The chance that either of two finds each must-have and all are there within the limit: the
    mean over the kits of a call type.

    What the two know is taken as apart, and past calls of one set nothing right of two. Each thing
    is fetched by whoever is likelier to find it, and both searches must fit in the time.
    `ValueError` where nothing is thought of a fact.
    """
    every = Kits([kits])
    one, other = two[0].only(every.facts), two[1].only(every.facts)
    both = _Both(one, other)
    told = [both.of(Kit(kit.musts, most_shared=SHARED_OF_TWO), kit.limit) for kit in every.kits]
    share = every.share[0]
    chances, drawn, missing = (np.array(figures) for figures in zip(*told, strict=True))
    chance = float(share @ chances)
    low, high = interval_of(share @ drawn, chance)
    firsts = one.firsts.sum(), other.firsts.sum()
    said = CrewReadiness(
        chance=chance,
        low=low,
        high=high,
        missing=float(share @ missing),
        things=float(share @ every.holds.sum(axis=1)),
        first_answers=int(sum(firsts)),
        words=beside([int(one.hands_on.sum()), int(other.hands_on.sum())], observed=observed),
        unseen=_unseen(every, one, other),
    )
    is_enough = high - low <= WIDEST_SHOWN and min(firsts) >= FEWEST_FIRST_ANSWERS
    return said if is_enough else said.without_figures


class _Both:
    """What two people know, at the nodes of their doubts and drawn, apart from each other."""

    def __init__(self, one: Known, other: Known) -> None:
        self.one, self.other = one, other
        (first, self.weights), (second, self.others) = (
            over_shift(each, NODES_OF_TWO) for each in (one, other)
        )
        self.at_nodes = first[:, None, :], second[None, :, :]
        self.drawn = _drawn_of_two(one, other)

    def of(self, kit: Kit, limit: Limit) -> tuple[float, Array, float]:
        """The chance of one kit, the same of each draw, and how much is expected to be missing."""
        columns = [self.one.at[fact] for fact in kit.facts]
        hurry = _time_of_two(self.one, self.other, kit, limit)
        here = [each[..., columns] for each in self.at_nodes]
        found = self.weights @ _either(kit, *here) @ self.others
        one, other = (1.0 - kit.each(each) for each in here)
        missed = float(self.weights @ (one * other).sum(axis=-1) @ self.others)
        drawn = _either(kit, *(each[:, columns] for each in self.drawn))
        return hurry * float(found), hurry * drawn, missed


def _either(kit: Kit, one: Array, other: Array) -> Array:
    """The chance that everything is found by either."""
    (likely, found), (also, its) = kit.cases(one), kit.cases(other)
    whole = np.zeros(np.broadcast_shapes(one.shape, other.shape)[:-1])
    for case, things in zip(likely, found, strict=True):
        missed = (1.0 - things) * (1.0 - its)
        whole += (case * also * (1.0 - missed).prod(axis=-1)).sum(axis=0)
    return whole


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
    columns = [one.at[fact] for fact in kit.facts]
    first, second = (kit.each(each.plainly[columns]) for each in (one, other))
    hands: tuple[list[Must], list[Must]] = [], []
    for must, mine, its in zip(kit.musts, first, second, strict=True):
        alike = math.isclose(mine, its, abs_tol=0.02)
        takes = len(hands[1]) < len(hands[0]) if alike else bool(its > mine)
        hands[takes].append(must)
    return time_factor(one, hands[0], limit) * time_factor(other, hands[1], limit)


def _unseen(kits: Kits, one: Known, other: Known) -> tuple[Unseen, ...]:
    """What neither is likely to find of any kit, what matters most first."""
    asked = kits.share[0] @ kits.holds
    found: dict[str, Unseen] = {}
    for must, share in zip(kits.musts, asked, strict=True):
        kit = Kit([must])
        (mine, most), (its, at_most) = (_thought(kit, each) for each in (one, other))
        if max(mine, its) < UNLIKELY or max(most, at_most) < UNLIKELY_AT_BEST:
            rank = must.weight * float(share) * (1.0 - mine) * (1.0 - its)
            each = Unseen(must.name, _weak(must, one if mine >= its else other), rank)
            # Of more of a thing other places may be asked for: both belong to the one name.
            told = found.get(must.name)
            found[must.name] = _as_one(told, each) if told else each
    return tuple(sorted(found.values(), key=lambda each: -each.rank))


def _as_one(told: Unseen, more: Unseen) -> Unseen:
    facts = tuple(dict.fromkeys((*told.facts, *more.facts)))
    return Unseen(told.name, facts, told.rank + more.rank)


def _thought(kit: Kit, known: Known) -> tuple[float, float]:
    """The chance that one thing is found, and the upper end of its interval."""
    own = known.only(kit.facts)
    chances, weights = over_shift(own)
    drawn = kit.each(own.drawn(*draws(len(own.facts))))
    return float(weights @ kit.each(chances)[:, 0]), float(np.quantile(drawn[:, 0], 0.9))


def _weak(must: Must, nearer: Known) -> tuple[Fact, ...]:
    """The facts of the way that the nearer of two knows best, but for those known well."""
    way = likeliest_way(nearer, must)
    weak = tuple(fact for fact in way if nearer.plainly[nearer.at[fact]] < KNOWN_WELL)
    return weak or way
