"""Chances of whole calls, set right by how past calls went.

A product of many chances carries the small error of each. Two figures put that right: the log-odds
of a chance become `shift + stretch x log-odds`.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, logit

from drills.engine.readying.counting import Array

Ints = NDArray[np.int64]

# Fewer past calls, or of fewer people, set nothing right. Ours, no source: with 200 the shift is
# known to about .2 on the scale of log-odds.
FEWEST_CALLS, FEWEST_PEOPLE = 200, 10
# What is believed before: no shift and no stretch. Ours, no source.
_NO_CHANGE, _DOUBT = np.array([0.0, 1.0]), np.array([1.0, 0.5])
_LEAST_STRETCH = 0.1
_NEVER_CERTAIN = 1e-6
# Where all was said alike one of the two figures says nothing: its variance is this share or less.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Recalibration:
    """Two figures, how many past calls they rest on, and the log loss of each call before and
    after: after by what others than its person set right."""

    shift: float = 0.0
    stretch: float = 1.0
    calls: int = 0
    loss_before: float = math.nan
    loss_after: float = math.nan

    @property
    def is_as_it_is(self) -> bool:
        """Whether nothing is changed."""
        return (self.shift, self.stretch) == (0.0, 1.0)

    def of(self, chance: Array | float) -> Array:
        """Chances set right, in the shape they came in; 0 and 1 stay."""
        if self.is_as_it_is:
            return np.asarray(chance, dtype=float)
        return np.asarray(expit(self.shift + self.stretch * logit(chance)))


AS_IT_IS = Recalibration()


def recalibrated(
    chances: Sequence[float], came_off: Sequence[bool], people: Sequence[Hashable]
) -> Recalibration:
    """Fit the two figures on past drills of several things.

    `chances` are what was said before each, `came_off` whether everything was found in time,
    `people` whose it was. The figures are drawn to no change by as much as luck alone would account
    for; with too few, nothing is changed. The log loss after is that of every second person by what
    the others set right, and the other way round: calls of one person are never in both halves,
    since their chances err alike.
    """
    order = {who: number for number, who in enumerate(dict.fromkeys(people))}
    if len(chances) < FEWEST_CALLS or len(order) < FEWEST_PEOPLE:
        return Recalibration(calls=len(chances))
    said = logit(np.clip(np.asarray(chances, dtype=float), _NEVER_CERTAIN, 1 - _NEVER_CERTAIN))
    was, whose = np.asarray(came_off, dtype=float), np.array([order[who] for who in people])
    at = said.copy()
    for half in (whose % 2 == 0, whose % 2 == 1):
        shift, stretch = _drawn_in(said[~half], was[~half], whose[~half])
        at[half] = shift + stretch * said[half]
    figures = _drawn_in(said, was, whose)
    return Recalibration(*figures, len(chances), _loss(said, was), _loss(at, was))


def _drawn_in(said: Array, was: Array, whose: Ints) -> tuple[float, float]:
    """The two figures, drawn to no change.

    What stays of the change is the share of its square, counted in its own variance, that is more
    than luck alone makes of so many figures: the empirical Bayes estimate of Efron and Morris, J
    Am Stat Assoc 1973; 68: 117-130, never below none. The variance is that of whole people (Liang
    and Zeger, Biometrika 1986; 73: 13-22). Both from memory.
    """
    change = np.array(_fitted(said, was)) - _NO_CHANGE
    columns = np.stack([np.ones_like(said), said], axis=1)
    chance = expit(columns @ (_NO_CHANGE + change))
    curved = columns.T @ (columns * (chance * (1.0 - chance))[:, None]) + np.diag(_DOUBT**-2.0)
    pulls = np.stack([np.bincount(whose, each * (was - chance)) for each in columns.T], axis=1)
    inverse = np.linalg.inv(curved)
    variance = inverse @ (pulls.T @ pulls) @ inverse
    spreads, ways = np.linalg.eigh(variance)
    told = spreads > _ROUNDING * spreads[-1]
    surely = float(np.sum((ways.T @ change)[told] ** 2 / spreads[told]))
    kept = max(0.0, 1.0 - np.count_nonzero(told) / surely) if surely > 0 else 0.0
    shift, stretch = _NO_CHANGE + kept * change
    return float(shift), float(stretch)


def _fitted(said: Array, was: Array) -> tuple[float, float]:
    def loss(figures: Array) -> float:
        at = figures[0] + figures[1] * said
        return _loss(at, was) * len(was) + float(np.sum(((figures - _NO_CHANGE) / _DOUBT) ** 2)) / 2

    found = minimize(loss, _NO_CHANGE, method="BFGS")
    return float(found.x[0]), max(float(found.x[1]), _LEAST_STRETCH)


def _loss(at: Array, was: Array) -> float:
    return float(np.mean(np.logaddexp(0.0, at) - was * at))
