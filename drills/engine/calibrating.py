"""The motion table fitted to runs at the rig: what our own seconds are multiplied by.

A run at the open doors tells how long a whole kit took. The quickest way to bring that kit has so
many seconds of walking, of opening and of taking by our own table, and the fit asks for the three
multipliers with which those add up to what was seen. It is a regression by least absolute
deviations, each run divided by its own quickest way so that long kits weigh no more than short
ones: half of what was seen is above it and half below, and how wild a wild run is has no say.

It is worked out exactly, by going from one corner of the sum of deviations to a lower one, each
corner a fit that meets three runs (Bloomfield and Steiger, Least Absolute Deviations, 1983, from
memory). The intervals are of 80 in 100, from people drawn anew (a bootstrap by clusters: two runs
of one person are no two people). Where the three cannot be told apart one multiplier stands for
all of them. What people took to choose and to look about is in it: it is no study of motions.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drills.engine.optimum.motions import LEAST_PERCENT, MOST_PERCENT, PARTS, Multipliers

# All ours, no source: so many runs, of so many people, that one habit does not make the table.
RUNS_NEEDED, PEOPLE_NEEDED = 30, 6
# Quicker or slower than so many times the quickest way, somebody forgot to press.
QUICKEST_SHARE, SLOWEST_TIMES = 0.5, 6.0
# Told apart is what is known to within so much of itself, up and down together.
WIDEST = 0.5
_DRAWS, _LOW, _HIGH = 200, 10, 90
_Array = NDArray[np.floating[Any]]


class CalibrationError(ValueError):
    """A fit that cannot be made or taken over; the text says why."""


@dataclass(frozen=True, slots=True)
class Timed:
    """One run: seconds of each part of the quickest way by our own table, the seconds it took, and
    who it was, by any mark that tells people apart."""

    walking: float
    opening: float
    taking: float
    took: float
    person: Hashable

    @property
    def quickest(self) -> float:
        """The whole way by our own table."""
        return self.walking + self.opening + self.taking

    @property
    def is_possible(self) -> bool:
        """Whether the time can be one of this kit."""
        return QUICKEST_SHARE * self.quickest <= self.took <= SLOWEST_TIMES * self.quickest


@dataclass(frozen=True, slots=True)
class Fitted:
    """One multiplier in whole percent, and its interval of 80 in 100."""

    part: str
    percent: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Fit:
    """The three multipliers, from how many runs of how many people, and whether one stands for
    all since they could not be told apart."""

    parts: tuple[Fitted, Fitted, Fitted]
    runs: int
    people: int
    is_common: bool

    @property
    def told(self) -> list[tuple[str, Fitted]]:
        """Each multiplier with its name, or the one that stands for all."""
        if self.is_common:
            return [("Walking, opening and taking", self.parts[0])]
        return [(each.part.capitalize(), each) for each in self.parts]

    @property
    def mark(self) -> str:
        """The same for the same figures from as many runs, by which they are known again."""
        return " ".join(map(str, (*(each.percent for each in self.parts), self.runs, self.people)))

    @property
    def multipliers(self) -> Multipliers:
        """As the table takes them."""
        walking, opening, taking = (each.percent for each in self.parts)
        return Multipliers(walking, opening, taking)


def missing(runs: Sequence[Timed]) -> tuple[int, int]:
    """How many runs, and how many people, a fit still lacks."""
    people = len({each.person for each in runs})
    return max(RUNS_NEEDED - len(runs), 0), max(PEOPLE_NEEDED - people, 0)


def fit(runs: Sequence[Timed]) -> Fit:
    """The multipliers of our own table that fit some runs.

    Raises `CalibrationError` for too few runs or people, a time that cannot be, and where what
    fits is below 50 % or above 300 %.
    """
    _refuse(runs)
    shares, ratios, whose = _arrays(runs)
    # Kits whose parts stand in one proportion tell nothing of the parts.
    is_common = int(np.linalg.matrix_rank(shares)) < len(PARTS)
    if not is_common:
        apart = _with_interval(shares, ratios, whose)
        is_common = not all(map(_is_told_apart, apart))
    if is_common:
        apart = _with_interval(np.ones((len(runs), 1)), ratios, whose) * len(PARTS)
    walking, opening, taking = map(_fitted, PARTS, apart)
    if not LEAST_PERCENT <= walking.percent <= MOST_PERCENT:
        raise CalibrationError(
            f"These runs take {walking.percent} % of our own seconds. {LEAST_PERCENT} to "
            f"{MOST_PERCENT} % can be taken over: look at how the watch is pressed."
        )
    return Fit((walking, opening, taking), len(runs), int(whose.max()) + 1, is_common)


def _arrays(runs: Sequence[Timed]) -> tuple[_Array, _Array, NDArray[np.int_]]:
    """The share of each part in a kit's quickest way, how many times that way it took, and whose
    run it was by number."""
    numbers: dict[Hashable, int] = {}
    whose = np.array([numbers.setdefault(each.person, len(numbers)) for each in runs])
    parts = np.array([[each.walking, each.opening, each.taking] for each in runs])
    whole = parts.sum(axis=1)
    return parts / whole[:, None], np.array([each.took for each in runs]) / whole, whose


def _fitted(part: str, told: tuple[float, float, float]) -> Fitted:
    value, low, high = (round(100 * each) for each in told)
    return Fitted(part, value, low, high)


def _refuse(runs: Sequence[Timed]) -> None:
    short_runs, short_people = missing(runs)
    if short_runs or short_people:
        raise CalibrationError(
            f"{len(runs)} runs of {len({each.person for each in runs})} people came in; "
            f"{RUNS_NEEDED} of {PEOPLE_NEEDED} are needed."
        )
    if wrong := next((each for each in runs if not each.is_possible), None):
        raise CalibrationError(
            f"{wrong.took:g} s came in for a kit whose quickest way is {wrong.quickest:g} s; "
            f"{QUICKEST_SHARE:g} to {SLOWEST_TIMES:g} times that is accepted."
        )


def _is_told_apart(each: tuple[float, float, float]) -> bool:
    value, low, high = each
    is_in_range = LEAST_PERCENT <= round(100 * value) <= MOST_PERCENT
    return is_in_range and high - low <= WIDEST * value


def _with_interval(
    rows: _Array, ratios: _Array, whose: NDArray[np.int_]
) -> list[tuple[float, float, float]]:
    """Each multiplier with the ends of its interval, from fits to people drawn anew."""
    best = least_absolute(rows, ratios)
    # Always the same draws: the same runs give the same figures to whoever looks.
    random = np.random.default_rng(0)
    runs_of = [np.flatnonzero(whose == person) for person in range(whose.max() + 1)]
    drawn = []
    for _ in range(_DRAWS):
        people = random.integers(len(runs_of), size=len(runs_of))
        these = np.concatenate([runs_of[person] for person in people])
        drawn.append(least_absolute(rows[these], ratios[these], start=best))
    low, high = np.percentile(np.array(drawn), (_LOW, _HIGH), axis=0)
    return [(float(b), float(lo), float(hi)) for b, lo, hi in zip(best, low, high, strict=True)]


def least_absolute(rows: _Array, values: _Array, *, start: _Array | None = None) -> _Array:
    """The coefficients of `rows`, one column each, whose deviations from `values` have the least
    sum; of several such fits any one.

    From a corner, which meets as many rows exactly as there are columns, each of those rows is let
    go in turn and the lowest point along that edge taken, until no edge goes down. Rows of lower
    rank have no corner: they give the fit of least squares and least size.
    """
    found = np.linalg.lstsq(rows, values, rcond=None)[0] if start is None else start
    base = _base(rows, np.abs(values - rows @ found))
    if len(base) < rows.shape[1]:
        return np.linalg.lstsq(rows, values, rcond=None)[0]
    while True:
        edges = np.linalg.inv(rows[base])
        found = edges @ values[base]
        residuals = values - rows @ found
        residuals[base] = 0.0
        least = np.abs(residuals).sum()
        lower = _lowest_edge(rows, residuals, base, edges, least)
        if lower is None:
            return found
        base = lower


def _base(rows: _Array, off: _Array) -> list[int]:
    """As many independent rows as there are columns, those nearest to a fit first."""
    chosen: list[int] = []
    for number in np.argsort(off, kind="stable"):
        tried = [*chosen, int(number)]
        if np.linalg.matrix_rank(rows[tried]) == len(tried):
            chosen = tried
        if len(chosen) == rows.shape[1]:
            break
    return chosen


def _lowest_edge(
    rows: _Array, residuals: _Array, base: list[int], edges: _Array, least: float
) -> list[int] | None:
    """The base after the edge along which the sum falls most; None where it falls along none."""
    best, lowest = None, least * (1 - 1e-12) - 1e-12
    for at in range(len(base)):
        along = rows @ edges[:, at]
        along[[each for each in base if each != base[at]]] = 0.0
        entering = _crossing(residuals, along)
        total = np.abs(residuals - along * (residuals[entering] / along[entering])).sum()
        if total < lowest:
            best, lowest = [*base[:at], entering, *base[at + 1 :]], total
    return best


def _crossing(residuals: _Array, along: _Array) -> int:
    """The row that is met at the lowest point of a line: the weighted median of where rows are."""
    moved = np.flatnonzero(np.abs(along) > 1e-12)
    at, weights = residuals[moved] / along[moved], np.abs(along[moved])
    order = np.argsort(at, kind="stable")
    reached = np.cumsum(weights[order])
    return int(moved[order[np.searchsorted(reached, reached[-1] / 2)]])
