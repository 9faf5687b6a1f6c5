"""Chances of whole calls, set right by how past calls went.

A product of many chances carries the small error of each. Two figures put that right: the log-odds
of a chance become `shift + stretch x log-odds`.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, logit

from drills.engine.readying.counting import Array

# Fewer past calls, or of fewer people, set nothing right. Ours, no source: with 200 the shift is
# known to about .2 on the scale of log-odds.
FEWEST_CALLS, FEWEST_PEOPLE = 200, 10
# What is believed before: no shift and no stretch. Ours, no source.
_DOUBT_SHIFT, _DOUBT_STRETCH = 1.0, 0.5
_LEAST_STRETCH = 0.1
_NEVER_CERTAIN = 1e-6


@dataclass(frozen=True, slots=True)
class Recalibration:
    """Two figures, how many past calls they rest on, and the log loss of each call of the people
    who were kept out, before and after."""

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
    `people` whose it was. They are fitted on every second person and kept only where that foretells
    the other people better; then all are fitted together. With too few, or where it is no better,
    nothing is changed. Calls of one person are never in both halves: their chances err alike.
    """
    order = {who: number for number, who in enumerate(dict.fromkeys(people))}
    if len(chances) < FEWEST_CALLS or len(order) < FEWEST_PEOPLE:
        return Recalibration(calls=len(chances))
    said = logit(np.clip(np.asarray(chances, dtype=float), _NEVER_CERTAIN, 1 - _NEVER_CERTAIN))
    was = np.asarray(came_off, dtype=float)
    fits = np.array([order[who] % 2 == 0 for who in people])
    shift, stretch = _fitted(said[fits], was[fits])
    before = _loss(said[~fits], was[~fits])
    after = _loss(shift + stretch * said[~fits], was[~fits])
    if after >= before:
        return Recalibration(calls=len(chances), loss_before=before, loss_after=after)
    return Recalibration(*_fitted(said, was), len(chances), before, after)


def _fitted(said: Array, was: Array) -> tuple[float, float]:
    def loss(figures: Array) -> float:
        shift, stretch = map(float, figures)
        doubt = (shift / _DOUBT_SHIFT) ** 2 + ((stretch - 1.0) / _DOUBT_STRETCH) ** 2
        return _loss(shift + stretch * said, was) * len(was) + doubt / 2

    found = minimize(loss, np.array([0.0, 1.0]), method="BFGS")
    return float(found.x[0]), max(float(found.x[1]), _LEAST_STRETCH)


def _loss(at: Array, was: Array) -> float:
    return float(np.mean(np.logaddexp(0.0, at) - was * at))
