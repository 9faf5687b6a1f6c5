"""Whether one person would find everything for a call, and in time."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from scipy.stats import norm, qmc

from drills.engine.facts import Fact
from drills.engine.memory import CONFIDENCE, FEWEST_FIRST_ANSWERS, WIDEST_SHOWN
from drills.engine.readying.counting import Array
from drills.engine.readying.hurrying import in_time
from drills.engine.readying.known import Kit, Known, Must
from drills.engine.readying.recalibrating import AS_IT_IS, Recalibration

NOT_ENOUGH = "not enough evidence"
SCREEN_ONLY = "screen only"
UNCHECKED = "not yet checked against your crews"
# So many observed outcomes at the rig take the last words away.
OBSERVED_ENOUGH = 200
MOST_NAMED = 3
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


@dataclass(frozen=True, slots=True)
class Readiness:
    """What may be said of a call: the chance that all must-haves are found within the limit.

    `chance`, `low`, `high` (80 %) and `missing`, how many are expected not to be found, are None
    where the words are *not enough evidence*, and `found`, the chances that exactly 0, 1, ... are
    found however long it takes, is empty. `first_answers` is what it rests on, `words` what stands
    beside it. `first` are at most three things whose drilling raises it most.
    """

    chance: float | None
    low: float | None
    high: float | None
    missing: float | None
    found: tuple[float, ...]
    things: int
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
            found=(),
            words=(NOT_ENOUGH, *self.words),
            first=tuple(replace(each, gain=None) for each in self.first),
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """Seconds there are for a call, and seconds of them that go on walking and opening."""

    seconds: float
    moving: float = 0.0

    @property
    def to_search(self) -> float:
        return self.seconds - self.moving


def call_readiness(
    known: Known,
    musts: Sequence[Must],
    limit: Limit,
    *,
    recalibration: Recalibration = AS_IT_IS,
    observed: int = 0,
) -> Readiness:
    """The chance that this person finds all that a call must have within the limit.

    The doubt about the person moves all things together, so it is integrated over and not put into
    each; facts that several things share count once. Times the chance that the searches fit in the
    time, then set right by how past calls went. `observed` counts outcomes at the rig in the whole
    service. `ValueError` where nothing is thought of a fact.
    """
    kit = Kit(musts)
    own = known.only(kit.facts)
    hurry = time_factor(own, musts, limit)
    chances, weights = over_shift(own)
    counts = weights @ kit.counts(chances)
    chance = float(recalibration.of(hurry * counts[-1]))
    shift, doubts = draws(len(own.facts))
    drawn = recalibration.of(hurry * kit.all_found(own.drawn(shift, doubts)))
    low, high = interval_of(drawn, chance)
    is_enough = high - low <= WIDEST_SHOWN and own.firsts.sum() >= FEWEST_FIRST_ANSWERS
    said = Readiness(
        chance=chance,
        low=low,
        high=high,
        missing=float(counts @ np.arange(len(counts))[::-1]),
        found=tuple(map(float, counts)),
        things=len(kit.musts),
        first_answers=int(own.firsts.sum()),
        words=beside([own], observed=observed),
        first=_raises(own, kit, chance, lambda all_found: recalibration.of(hurry * all_found)),
    )
    is_enough = high - low <= WIDEST_SHOWN and said.first_answers >= FEWEST_FIRST_ANSWERS
    return said if is_enough else said.without_figures


def over_shift(known: Known, count: int = SHIFT_NODES) -> tuple[Array, Array]:
    """Chances of each fact at the nodes of the shared doubt, and the weight of each node."""
    nodes, weights = hermegauss(count)
    return known.chances(nodes), weights / weights.sum()


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
    return max(must.ways, key=lambda way: float(own.plainly[[own.at[f] for f in way]].prod()))


def time_factor(own: Known, musts: Iterable[Must], limit: Limit) -> float:
    """The chance that the searches for some things fit in the time, each fact searched for once."""
    searched = sorted({own.at[fact] for must in musts for fact in likeliest_way(own, must)})
    return in_time(own.log_seconds[searched], own.log_spread[searched], limit.to_search)


def beside(people: Sequence[Known], *, observed: int) -> tuple[str, ...]:
    """The words that stand beside a chance, whatever it is."""
    words = [] if all(each.hands_on.sum() for each in people) else [SCREEN_ONLY]
    return (*words, UNCHECKED) if observed < OBSERVED_ENOUGH else tuple(words)


def _raises(
    own: Known, kit: Kit, chance: float, said: Callable[[float], Array]
) -> tuple[Raises, ...]:
    """The things whose knowing would raise the chance most; `said` sets a whole call right."""
    chances, weights = over_shift(own)
    found = []
    for must in kit.musts:
        way = likeliest_way(own, must)
        drilled = chances.copy()
        drilled[..., [own.at[fact] for fact in way]] = 1.0
        gain = float(said(float(weights @ kit.all_found(drilled)))) - chance
        found.append(Raises(must.name, way, gain))
    found.sort(key=lambda each: -(each.gain or 0.0))
    return tuple(each for each in found[:MOST_NAMED] if (each.gain or 0.0) > _A_GAIN)
