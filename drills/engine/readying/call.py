"""Whether one person would find everything for a call, and in time."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from drills.engine.facts import Fact
from drills.engine.memory import CONFIDENCE, FEWEST_FIRST_ANSWERS, WIDEST_SHOWN
from drills.engine.readying.counting import Array
from drills.engine.readying.hurrying import Limit, each_in_time, in_time
from drills.engine.readying.known import Known, Must, normal_nodes
from drills.engine.readying.recalibrating import AS_IT_IS, Recalibration
from drills.engine.readying.several import DrawnKit, Kits

NOT_ENOUGH = "not enough evidence"
SCREEN_ONLY = "screen only"
UNCHECKED = "not yet checked against your crews"
# So many observed outcomes at the rig take the last words away.
OBSERVED_ENOUGH = 200
MOST_NAMED = 3
# From here on it is sooner missed than found.
EVEN = 0.5
# Less than this is the rounding of the computer.
_A_GAIN = 1e-9
# Nodes at which the doubt about the person is looked at, and draws that the interval is read from.
SHIFT_NODES, DRAWS = 21, 512
# Ends of the interval among the draws.
ENDS = ((1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2)


@dataclass(frozen=True, slots=True)
class Raises:
    """A thing whose drilling would raise the chance: its name, the facts to drill, and by how much
    if it were known for sure; `gain` is None where no chance may be shown."""

    name: str
    facts: tuple[Fact, ...]
    gain: float | None

    @property
    def in_100(self) -> str:
        """The gain as it is told: `+12`, `under +1`; empty of none."""
        if self.gain is None:
            return ""
        return f"+{round(100 * self.gain)}" if self.gain >= 0.005 else "under +1"


@dataclass(frozen=True, slots=True)
class Readiness:
    """What may be said of a call: the chance that all must-haves are found within the limit; of a
    call type the mean over its drawn calls, each with its own kit and limit.

    `chance`, `low`, `high` (80 %) and `missing`, how many of `things` are expected not to be found,
    are None where the words are *not enough evidence*, and `short`, the chances that exactly 0, 1,
    ... are missing however long it takes, is empty. `first_answers` is what it rests on, `words`
    what stands beside it. `first` are at most three things whose drilling raises it most.
    """

    chance: float | None
    low: float | None
    high: float | None
    missing: float | None
    short: tuple[float, ...]
    things: float
    first_answers: int
    words: tuple[str, ...]
    first: tuple[Raises, ...]

    @property
    def is_enough(self) -> bool:
        """Whether a chance is said at all."""
        return self.chance is not None

    @property
    def without_figures(self) -> "Readiness":
        """The same where there is not enough evidence: in which order to drill, and no chance."""
        return replace(
            self,
            chance=None,
            low=None,
            high=None,
            missing=None,
            short=(),
            words=(NOT_ENOUGH, *self.words),
            first=tuple(replace(each, gain=None) for each in self.first),
        )


@dataclass(frozen=True, slots=True)
class Chances:
    """For each call type the chance, both ends of its interval, whether there are first answers
    enough to think it, and whether there is evidence enough to say it: (types)."""

    chance: Array
    low: Array
    high: Array
    is_answered: NDArray[np.bool_]
    is_enough: NDArray[np.bool_]


def call_readiness(
    known: Known,
    musts: Sequence[Must],
    limit: Limit,
    *,
    recalibration: Recalibration = AS_IT_IS,
    observed: int = 0,
) -> Readiness:
    """The chance that this person finds all that one call must have within the limit."""
    kits = Kits([[DrawnKit(tuple(musts), limit)]])
    return calls_readiness(known, kits, recalibration=recalibration, observed=observed)[0]


def calls_readiness(
    known: Known, kits: Kits, *, recalibration: Recalibration = AS_IT_IS, observed: int = 0
) -> tuple[Readiness, ...]:
    """What may be said of each call type whose kits are given.

    The doubt about the person moves all things together, so it is integrated over and not put into
    each; facts that several things share count once. Times the chance that the searches fit in the
    time, then set right by how past calls went: so for each kit, and the mean over the kits.
    `observed` counts outcomes at the rig in the whole service. `ValueError` where nothing is
    thought of a fact.
    """
    own = known.only(kits.facts)
    saying = _Saying(own, kits, recalibration)
    told, firsts, short = saying.chances(), _firsts(own, kits), saying.short()
    first = saying.first(told.chance)
    things = kits.share @ kits.holds.sum(axis=1)
    found = []
    for number, counts in enumerate(short):
        speaks = kits.uses[number] > 0
        said = Readiness(
            chance=float(told.chance[number]),
            low=float(told.low[number]),
            high=float(told.high[number]),
            missing=float(counts @ np.arange(len(counts))),
            short=tuple(map(float, counts)),
            things=float(things[number]),
            first_answers=int(firsts[number]),
            words=beside([int(own.hands_on[speaks].sum())], observed=observed),
            first=first[number],
        )
        found.append(said if told.is_enough[number] else said.without_figures)
    return tuple(found)


def chances_of(known: Known, kits: Kits, recalibration: Recalibration = AS_IT_IS) -> Chances:
    """The chance of each call type alone, as `calls_readiness` says it."""
    return _Saying(known.only(kits.facts), kits, recalibration).chances()


def lapses_of(
    known: Known, ahead: Mapping[int, Known], kits: Kits, recalibration: Recalibration = AS_IT_IS
) -> tuple[int | None, ...]:
    """For each call type after how many days of nothing something is sooner missing than not; as
    `first_lapse` says it of the chances now and ahead."""

    def chance(of: Known) -> Array:
        return _Saying(of.only(kits.facts), kits, recalibration).chance()

    now, later = chance(known), {days: chance(each) for days, each in ahead.items()}
    return tuple(
        first_lapse(float(each), ((days, float(then[at])) for days, then in later.items()))
        for at, each in enumerate(now)
    )


def first_lapse(now: float, later: Iterable[tuple[int, float]]) -> int | None:
    """The first of some days after which a chance is below even; None where it is after none of
    them, or is so now."""
    if now < EVEN:
        return None
    return next((days for days, chance in sorted(later) if chance < EVEN), None)


def _firsts(own: Known, kits: Kits) -> NDArray[np.int64]:
    """How many first answers speak of each call type."""
    return np.asarray(kits.uses @ own.firsts, dtype=np.int64)


class _Saying:
    """One person and the kits that are asked about."""

    def __init__(self, own: Known, kits: Kits, recalibration: Recalibration) -> None:
        self.own, self.kits, self.recalibration = own, kits, recalibration
        self.at_nodes, self.weights = over_shift(own)
        self.likeliest = [likeliest_way(own, must) for must in kits.musts]
        self.hurry = self._in_time()

    def _in_time(self) -> Array:
        """The chance that the searches of each kit fit in its time, each fact searched for once."""
        takes = np.zeros((len(self.kits.musts), len(self.own.facts)))
        for row, way in enumerate(self.likeliest):
            takes[row, [self.own.at[fact] for fact in way]] = 1.0
        searched = np.asarray(self.kits.holds @ takes > 0, dtype=float)
        seconds = np.array([kit.limit.to_search for kit in self.kits.kits])
        return each_in_time(searched, self.own.log_seconds, self.own.log_spread, seconds)

    def said(self, all_found: Array) -> Array:
        """What is said of the types where all of a kit is found with these chances, (..., kits)."""
        return np.asarray(self.recalibration.of(self.hurry * all_found) @ self.kits.share.T)

    def chance(self) -> Array:
        """The chance of each type."""
        return self.said(self.weights @ self.kits.all_found(self.at_nodes))

    def chances(self) -> Chances:
        """The same with intervals."""
        chance = self.chance()
        drawn = self.said(self.kits.all_found(self.own.drawn(*draws(len(self.own.facts)))))
        low, high = np.quantile(drawn, ENDS, axis=0)
        low, high = np.minimum(low, chance), np.maximum(high, chance)
        answered = _firsts(self.own, self.kits) >= FEWEST_FIRST_ANSWERS
        return Chances(chance, low, high, answered, (high - low <= WIDEST_SHOWN) & answered)

    def short(self) -> list[Array]:
        """For each type the chance that exactly 0, 1, ... things are missing."""
        longest = max((len(kit.musts) for kit in self.kits.kits), default=0) + 1
        found = np.zeros((len(self.kits.kits), longest))
        for row, kit in enumerate(self.kits.singly):
            counts = self.weights @ kit.counts(self.at_nodes[:, self.kits.columns[row]])
            found[row, : len(counts)] = counts[::-1]
        every = self.kits.share @ found
        most = (self.kits.share > 0) * self.kits.holds.sum(axis=1)
        return [row[: int(long) + 1] for row, long in zip(every, most.max(axis=1), strict=True)]

    def first(self, chance: Array) -> list[tuple[Raises, ...]]:
        """For each type the things whose knowing would raise its chance most."""
        each = self.kits.all_found_with(self.at_nodes, self.likeliest)
        gains = self.said(np.einsum("n,wnk->wk", self.weights, each)) - chance
        of_type = (self.kits.share > 0).astype(float) @ self.kits.holds > 0
        return [
            tuple(_most(self._raised(gains, number, row))) for number, row in enumerate(of_type)
        ]

    def _raised(self, gains: Array, number: int, here: NDArray[np.bool_]) -> Iterator[Raises]:
        """The things of one type, those that raise it most first."""
        found = [
            Raises(must.name, way, float(gain[number]))
            for must, way, gain, is_here in zip(
                self.kits.musts, self.likeliest, gains, here, strict=True
            )
            if is_here and gain[number] > _A_GAIN
        ]
        return iter(sorted(found, key=lambda each: -(each.gain or 0.0)))


def _most(raised: Iterable[Raises]) -> Iterable[Raises]:
    """The first few, each name once: of more of a thing other places may be asked for."""
    named: dict[str, Raises] = {}
    for each in raised:
        named.setdefault(each.name, each)
    return list(named.values())[:MOST_NAMED]


def over_shift(known: Known, count: int = SHIFT_NODES) -> tuple[Array, Array]:
    """Chances of each fact at the nodes of the shared doubt, and the weight of each node."""
    nodes, weights = normal_nodes(count)
    return known.chances(nodes), weights


@cache
def _even_draws(width: int) -> Array:
    """Standard normal draws spread evenly over all directions: the same each time."""
    spread = qmc.Sobol(width, scramble=True, seed=1).random(DRAWS)
    return np.asarray(norm.ppf(spread))


def draws(facts: int) -> tuple[Array, Array]:
    """Draws of the doubt about the person, (draws,), and about each fact, (draws, facts)."""
    made = _even_draws(facts + 1)
    return made[:, 0], made[:, 1:]


def interval_of(drawn: Array, chance: float) -> tuple[float, float]:
    """The ends of the interval, with the chance never outside of them."""
    low, high = np.quantile(drawn, ENDS)
    return min(float(low), chance), max(float(high), chance)


def likeliest_way(own: Known, must: Must) -> tuple[Fact, ...]:
    """The way to a thing that is known best, the first of two alike."""
    if len(must.ways) == 1:
        return must.ways[0]
    return max(must.ways, key=lambda way: float(own.plainly[[own.at[f] for f in way]].prod()))


def time_factor(own: Known, musts: Iterable[Must], limit: Limit) -> float:
    """The chance that the searches for some things fit in the time, each fact searched for once."""
    searched = sorted({own.at[fact] for must in musts for fact in likeliest_way(own, must)})
    return in_time(own.log_seconds[searched], own.log_spread[searched], limit.to_search)


def beside(seen_at_rig: Iterable[int], *, observed: int) -> tuple[str, ...]:
    """The words that stand beside a chance, whatever it is, by how much of each person was seen at
    a rig."""
    words = [] if all(seen_at_rig) else [SCREEN_ONLY]
    return (*words, UNCHECKED) if observed < OBSERVED_ENOUGH else tuple(words)
