"""A first, honest estimate of what is known: counts, recency, one interval.

No model: each answer counts as one that fades, so that old evidence widens the interval instead
of standing for ever. The interval is Wilson's score interval at 80 % on the faded counts.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import NormalDist

from drills.engine.dosing import OUT_OF_TOLERANCE, UNSAFE
from drills.engine.facts import Fact
from drills.engine.scoring import PARTLY, RIGHT, WRONG

COUNTED = "faded counts 1"
CONFIDENCE = 0.80
WIDEST_SHOWN = 0.35
FEWEST_FIRST_ANSWERS = 3
# Ours, no source: half the weight is gone after 90 days. One published cart study saw what was
# learnt kept at 152 days and lost by 351, so this fades sooner than that group forgot.
HALF_LIFE_DAYS = 90.0
# After so many days what was met counts half as much beside what never was; what was right counts
# half of what was missed, and rises to that in 90 days. Ours, no source: a simulated person who
# drills twice a week meets what there is in a quarter by them.
DAYS_TO_HALF, RIGHT_COUNTS = 2.0, 0.5

CREDIT = {RIGHT: 1.0, PARTLY: 0.5, WRONG: 0.0, OUT_OF_TOLERANCE: 0.0, UNSAFE: 0.0}
_DAY = 86_400.0
# The line of an interval in pixels: where 0 and 100 lie.
_BAR_FROM, _BAR_TO = 6, 184


@dataclass(frozen=True, slots=True)
class Observation:
    """One outcome on one fact. `first` is false for a retry after feedback; `source` names the
    answer it came from, where that is known."""

    outcome: str
    at: datetime
    first: bool
    source: str = ""


class Told:
    """What is said of a chance with its interval, and when nothing is."""

    __slots__ = ()
    chance: float
    low: float
    high: float
    first_answers: int

    @property
    def is_enough(self) -> bool:
        """Whether a chance may be shown; else the words are *not enough evidence*."""
        narrow = self.high - self.low <= WIDEST_SHOWN
        return narrow and self.first_answers >= FEWEST_FIRST_ANSWERS

    @property
    def in_100(self) -> tuple[int, int, int]:
        """Chance, lower and upper end as whole numbers in 100."""
        return round(100 * self.chance), round(100 * self.low), round(100 * self.high)

    @property
    def bar(self) -> "Bar":
        """The interval as it is drawn."""
        return bar_of(self.chance, self.low, self.high)


@dataclass(frozen=True, slots=True)
class Estimate(Told):
    """What the evidence on a fact, or on several, says now. Chances are between 0 and 1; `tries`
    are the first answers, each counted by what is left of it."""

    chance: float
    low: float
    high: float
    answers: int
    first_answers: int
    right: int
    last_at: datetime | None
    tries: float = 0.0

    @property
    def weight(self) -> float:
        """How much a drill should ask for this, 0 to 1: what may not be known."""
        return 1.0 - self.low


@dataclass(frozen=True, slots=True)
class Bar:
    """Where the estimate and both ends of an interval lie, in pixels of a drawing 190 wide."""

    at: float
    low: float
    high: float


def bar_of(share: float, low: float, high: float) -> Bar:
    """An interval of a share, 0 to 1, as it is drawn."""
    return Bar(*(round(_BAR_FROM + each * (_BAR_TO - _BAR_FROM), 1) for each in (share, low, high)))


def estimate(observations: Iterable[Observation], *, now: datetime) -> Estimate:
    """The chance of finding it now, from first answers, each fading with its age."""
    seen = list(observations)
    first = [each for each in seen if each.first]
    weights = [_faded(each.at, now) for each in first]
    tries = sum(weights)
    credit = sum(w * CREDIT[each.outcome] for w, each in zip(weights, first, strict=True))
    low, high = wilson(credit, tries)
    return Estimate(
        chance=credit / tries if tries else 0.5,
        low=low,
        high=high,
        answers=len(seen),
        first_answers=len(first),
        right=sum(1 for each in first if each.outcome == RIGHT),
        last_at=max((each.at for each in seen), default=None),
        tries=tries,
    )


def asking_weights(
    observations: Mapping[Fact, Sequence[Observation]], *, now: datetime
) -> dict[str, float]:
    """How much each fact with evidence should be asked for, by fact as text; the others count as 1.

    What was right is asked for the more the longer ago, and what was never met comes the sooner the
    longer somebody has drilled: so that everything comes up in a quarter. Ours, no source.
    """
    begun = min((seen[0].at for seen in observations.values()), default=now)
    share = 1 / (1 + _days(begun, now) / DAYS_TO_HALF)
    return {
        str(fact): round(share * _due(seen, now), 5) for fact, seen in observations.items() if seen
    }


def _due(seen: Sequence[Observation], now: datetime) -> float:
    weight = estimate(seen, now=now).weight
    if seen[-1].outcome != RIGHT:
        return weight
    return weight * RIGHT_COUNTS * min(_days(seen[-1].at, now) / HALF_LIFE_DAYS, 1.0) ** 2


def _days(at: datetime, now: datetime) -> float:
    return max((now - at).total_seconds(), 0.0) / _DAY


def wilson(
    successes: float, tries: float, *, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Wilson's score interval of a share; counts need not be whole. No tries: 0 to 1."""
    if tries <= 0:
        return 0.0, 1.0
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = successes / tries
    bottom = 1 + z * z / tries
    centre = (share + z * z / (2 * tries)) / bottom
    half = z * math.sqrt(share * (1 - share) / tries + z * z / (4 * tries * tries)) / bottom
    return max(0.0, centre - half), min(1.0, centre + half)


def _faded(at: datetime, now: datetime) -> float:
    return float(0.5 ** (_days(at, now) / HALF_LIFE_DAYS))
