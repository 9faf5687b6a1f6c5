"""Body weights for made-up patients, from published tables, each row with its source.

To the 20th birthday the CDC growth charts of 2000, by their three figures of an age; between two
ages of the table on a straight line. From then on the percentiles of a national survey, NHANES
2021 to 2023, by ten years of age; between two of them, and beyond the last, a straight line of the
logarithm of the weight: ours.
"""

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import groupby
from math import exp, log
from pathlib import Path
from random import Random
from statistics import NormalDist

from drills.engine.quantities import plain
from drills.engine.tables.kinds import Banded, Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent
POUNDS_SHARE = 0.5
LB_IN_KG = Fraction("2.2")
# Round in kg and in lb alike, from so many kg on: steps of 11, 5.5, 2.2 and 1.1 lb. Ours.
STEPS = ((50, Fraction(5)), (20, Fraction("2.5")), (10, Fraction(1)), (0, Fraction("0.5")))
# Nobody is drawn lighter or heavier than these shares of an age, unless an unusual one is asked.
LEAST_SHARE, MOST_SHARE = 0.03, 0.97
_TAIL = 0.05  # published percentiles that are met exactly begin and end here
_RAREST = 0.001  # the end of what is unusual: ours
_NORMAL = NormalDist()
_MONTHS = 12
_NEARLY_ZERO = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth(Sourced):
    """A point of a growth chart: weights at that age are the middle x (1 + power x spread x z) ^
    (1 / power); the charts print the three as L, M and S."""

    sex: str
    months: Fraction
    power: Fraction
    middle: Fraction
    spread: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class AdultWeights(Banded):
    """Percentiles of the weight of grown people in kg."""

    sex: str
    p5: Fraction
    p10: Fraction
    p15: Fraction
    p25: Fraction
    p50: Fraction
    p75: Fraction
    p85: Fraction
    p90: Fraction
    p95: Fraction


GROWTH = read_file(FOLDER / "growth.csv", Growth)
ADULTS = read_file(FOLDER / "adults.csv", AdultWeights)
_PERCENTILES = (5, 10, 15, 25, 50, 75, 85, 90, 95)
_SCORES = tuple(_NORMAL.inv_cdf(each / 100) for each in _PERCENTILES)
# The charts by sex, in plain numbers: months, power, middle, spread.
_CHARTS = {
    sex: tuple((float(r.months), float(r.power), float(r.middle), float(r.spread)) for r in rows)
    for sex, rows in groupby(GROWTH, key=lambda row: row.sex)
}
GROWN_FROM_MONTHS = int(GROWTH[-1].months)


def weight_at(share: float, age_y: float, *, is_female: bool) -> float:
    """The weight in kg below which that share of an age is, 0.5 for the middle; 0 and 1 are none.

    `age_y` is in years, exactly: 5.5 is five and a half.
    """
    sex, months, score = "female" if is_female else "male", age_y * _MONTHS, _NORMAL.inv_cdf(share)
    if months >= GROWN_FROM_MONTHS:
        return _grown(sex, int(months), score)
    power, middle, spread = _chart_at(sex, months)
    if abs(power) < _NEARLY_ZERO:
        return middle * exp(spread * score)
    # Below what the figures of a newborn allow there is no weight: the smallest part that is one.
    return float(middle * max(1 + power * spread * score, _NEARLY_ZERO) ** (1 / power))


def middle_weight(age_y: float, *, is_female: bool) -> float:
    """The weight in kg that half of an age are under."""
    return weight_at(0.5, age_y, is_female=is_female)


def draw_weight(
    age_y: float, *, is_female: bool, random: Random, is_unusual: bool = False
) -> float:
    """A weight in kg as people of an age and sex have it, from the 3rd percentile to the 97th.

    Between the 5th and the 95th the shares are those of the table; who would be lighter or heavier
    is drawn evenly in the two hundredths beside. With `is_unusual` it is beyond the 3rd or 97th.
    """
    share = random.random()
    share = _beyond(share) if is_unusual else _within(share)
    return weight_at(share, age_y, is_female=is_female)


def _within(share: float) -> float:
    squeeze = (_TAIL - LEAST_SHARE) / _TAIL
    if share < _TAIL:
        return LEAST_SHARE + share * squeeze
    if share > 1 - _TAIL:
        return MOST_SHARE - (1 - share) * squeeze
    return share


def _beyond(share: float) -> float:
    """The first half of the shares to the lightest, the second to the heaviest."""
    is_heavy, part = share >= 0.5, (share % 0.5) * 2
    rare = _RAREST + part * (LEAST_SHARE - _RAREST)
    return 1 - rare if is_heavy else rare


def _chart_at(sex: str, months: float) -> tuple[float, float, float]:
    rows = _CHARTS[sex]
    at = bisect_right(rows, months, key=lambda row: row[0])
    before, after = rows[at - 1], rows[at]
    part = (months - before[0]) / (after[0] - before[0])
    power, middle, spread = (a + part * (b - a) for a, b in zip(before[1:], after[1:], strict=True))
    return power, middle, spread


def _grown(sex: str, months: int, score: float) -> float:
    """By the piece of the line that holds the score; the first and the last go on beyond."""
    points, last = _points(sex, months), len(_SCORES) - 1
    piece = min(max(bisect_right(_SCORES, score), 1), last)
    (low, at), (high, to) = points[piece - 1], points[piece]
    return exp(at + (to - at) * (score - low) / (high - low))


@lru_cache
def _points(sex: str, months: int) -> tuple[tuple[float, float], ...]:
    """Scores and logarithms of the percentiles of an age, which is 20 years or more."""
    row = next(
        row
        for row in ADULTS
        if row.sex == sex
        and row.from_months <= months
        and (row.below_months is None or months < row.below_months)
    )
    kgs = (float(getattr(row, f"p{each}")) for each in _PERCENTILES)
    return tuple(zip(_SCORES, map(log, kgs), strict=True))


def settled_weight(kg: float, age_y: float, *, is_female: bool) -> Fraction:
    """The weight in kg, near one that was drawn, that can be told and worked with in kg and in lb.

    From the 3rd percentile of the age to the 97th, as what was drawn.
    """
    low, high = (weight_at(e, age_y, is_female=is_female) for e in (LEAST_SHARE, MOST_SHARE))
    step = next(step for least, step in STEPS if kg >= least)
    near = round(kg / float(step)) * step
    return near - step if near > high else near + step if near < low else near


def told_weight(kg: Fraction, random: Random) -> str:
    """A weight as somebody tells it, in lb or kg."""
    return weight_words(kg, pounds=random.random() < POUNDS_SHARE)


def weight_words(kg: Fraction, *, pounds: bool) -> str:
    """A weight in kg as it is told, in lb by 2.2 where so asked."""
    return f"{plain(kg * LB_IN_KG)} lb" if pounds else f"{plain(kg)} kg"
