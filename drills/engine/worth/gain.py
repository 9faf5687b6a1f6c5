"""What one more question gains: must-haves found over the month after it, for each second it takes.

To be asked and shown the right place is worth more than to be shown it alone: an effect of .50 to
.61 standard deviations over many studies (Rowland 2014, Adesope and others 2017, from memory), with
feedback more. Half of what was learnt is lost in 6.5 months (Tatel and Ackerman), so over a month
nearly all of it stays. What gains most in a second let learners recall up to 40 in 100 more
(Eglington and Pavlik 2020). How much one question teaches is told by none of them on our scale: the
two figures below are ours.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.engine.facts import BAG, Fact
from drills.engine.readying.counting import Array

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

# Of what would be missed without a question it takes away so much. Ours, no source.
LEARNS = 0.7
# To know better what is known is worth this much of what it may change. Ours, no source.
TELLS = 0.25
# A question takes so many seconds beside the search: to read it, and to be shown the right place.
# Ours, no source.
BESIDE_SEARCH = 6.0
_CERTAIN = 1e-6
_SHORTEST = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What is thought of one person and each fact, one figure for each of `facts`.

    `chance` is that of knowing it now and `later` that of knowing it in a month of nothing,
    `variance` the doubt about its log-odds, `seconds` what the search takes. `matters` is how much
    it counts that a thing is found; of a bag what it holds counts. `critical` things are never left
    for long. `inside` is where the bag that a fact is inside stands among the facts, -1 of none;
    `zone` and `beside` number the door it lies behind and the compartment it lies in. `days_since`
    it was last asked and `moved_days` since it came to where it is are not numbers where that never
    was; `moved_days` counts only who knew it before. What `rests` was right within a week.
    `drilled_for` is how many days ago the person was first asked anything here.
    """

    facts: tuple[Fact, ...]
    chance: Array
    later: Array
    variance: Array
    seconds: Array
    matters: Array
    critical: Flags
    inside: Ints
    zone: Ints
    beside: Ints
    days_since: Array
    moved_days: Array
    rests: Flags
    drilled_for: float = 0.0

    @property
    def is_thing(self) -> Flags:
        """Which facts are where a thing is; the others are where a bag is."""
        return np.array([fact.kind != BAG for fact in self.facts], dtype=bool)

    @property
    def thing(self) -> Ints:
        """Numbers that are alike for all places of a thing."""
        names = [f"{fact.kind}:{fact.thing}" for fact in self.facts]
        return np.asarray(np.unique(names, return_inverse=True)[1])

    @property
    def success(self) -> Array:
        """How likely the thing of each fact is found, by any of its places; of a bag the bag."""
        way = self.chance * through(self.inside, self.chance)
        return 1.0 - _missed_all(way, self.thing)


def gains(outlook: Outlook) -> Array:
    """What a question for each thing gains in a second: 0 or more, larger is better; 0 of a bag,
    which is asked for with what it holds.

    Of what would be missed over the next month, as far as finding things that matter hangs on it, a
    share; and a little for what the answer will tell. What is missed is shown and asked for once
    more, and takes as long again.
    """
    known = np.clip((outlook.chance + outlook.later) / 2, _CERTAIN, 1 - _CERTAIN)
    doubt = np.maximum(outlook.variance, _CERTAIN)
    told = 1 / (1 / doubt + known * (1 - known))
    tells = np.sqrt(np.maximum(doubt - told, 0.0)) * known * (1 - known)
    own = hangs_on(outlook, known) * (LEARNS * (1 - known) + TELLS * tells)
    once = np.maximum(_sum_of_way(outlook.inside, outlook.seconds) + BESIDE_SEARCH, _SHORTEST)
    seconds = once * (2 - outlook.success)
    return np.asarray(_with_bags(outlook, own) / seconds)


def hangs_on(outlook: Outlook, chance: Array) -> Array:
    """How much is found more for each chance that a fact becomes likelier to be known.

    A thing in a bag hangs on the bag as well, and a bag has all that it holds hanging on it; of a
    thing that is known elsewhere little hangs on a further place.
    """
    reached = through(outlook.inside, chance)
    elsewhere = _known_elsewhere(chance * reached, outlook.thing)
    below = np.where(outlook.is_thing, outlook.matters * (1 - elsewhere), 0.0)
    for rows in reversed(_levels(outlook.inside)[1:]):
        np.add.at(below, outlook.inside[rows], chance[rows] * below[rows])
    return np.asarray(reached * below)


def through(inside: Ints, chance: Array) -> Array:
    """The chance that every bag around each fact is found; 1 of what is in none."""
    reached = np.ones(len(chance))
    for rows in _levels(inside)[1:]:
        around = inside[rows]
        reached[rows] = reached[around] * chance[around]
    return reached


def within(inside: Ints, marked: Flags) -> Flags:
    """Which facts are marked, or inside a bag that is."""
    found = marked.copy()
    for rows in _levels(inside)[1:]:
        found[rows] |= found[inside[rows]]
    return found


def most_held(inside: Ints, each: Array) -> Array:
    """Of each bag the most that anything in it has; of all else nothing."""
    found = np.zeros(len(each))
    for rows in reversed(_levels(inside)[1:]):
        np.maximum.at(found, inside[rows], np.maximum(each, found)[rows])
    return found


def _with_bags(outlook: Outlook, own: Array) -> Array:
    """What asking for each thing gains with the bags around it; of a bag nothing.

    A bag is learnt once, whichever of its things is asked for: what it gains is shared out among
    them by what they gain themselves.
    """
    held, levels = np.zeros(len(own)), _levels(outlook.inside)[1:]
    for rows in reversed(levels):
        np.add.at(held, outlook.inside[rows], own[rows] + held[rows])
    times = np.ones(len(own))
    for rows in levels:
        around = outlook.inside[rows]
        times[rows] = times[around] * (1 + own[around] / np.maximum(held[around], _CERTAIN))
    return np.where(outlook.is_thing, own * times, 0.0)


def _sum_of_way(inside: Ints, each: Array) -> Array:
    whole = each.astype(float)
    for rows in _levels(inside)[1:]:
        whole[rows] += whole[inside[rows]]
    return whole


def _levels(inside: Ints) -> list[Ints]:
    """Where the facts in no bag stand, then those in one, and so on."""
    deep, up = np.zeros(len(inside), dtype=int), inside
    while (up >= 0).any():
        deep += up >= 0
        up = np.where(up >= 0, inside[up], -1)
    return [np.flatnonzero(deep == each) for each in range(int(deep.max(initial=0)) + 1)]


def _missed_all(way: Array, thing: Ints) -> Array:
    """The chance that no place of the same thing is found, for each of them."""
    missed = np.ones(int(thing.max(initial=-1)) + 1)
    np.multiply.at(missed, thing, 1 - way)
    return np.asarray(missed[thing])


def _known_elsewhere(way: Array, thing: Ints) -> Array:
    """The chance that another place of the same thing is found."""
    return np.asarray(1 - _missed_all(way, thing) / np.maximum(1 - way, _CERTAIN))
