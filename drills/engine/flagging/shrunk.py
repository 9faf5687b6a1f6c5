"""How often each of many things is found, drawn towards the others where little was asked."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.special import betaln
from scipy.stats import beta

from drills.engine.memory import CONFIDENCE
from drills.engine.readying.counting import Array

# With fewer things how far they are apart is not known: the others count as so many answers.
FEWEST_THINGS, FALLBACK = 10, 8.0
# How many answers the others count as, before anything is seen: about so many, anything from a
# tenth to ten times as likely. Ours, no source; without it, likeness by luck makes all things one.
_USUAL, _DOUBT = 30.0, 1.15
_LEAST, _MOST = 0.5, 5_000.0
# A share of 0 or 1 of all answers together still leaves room.
_EDGE = 1e-3


@dataclass(frozen=True, slots=True)
class Share:
    """How often one thing is found: a beta distribution of `found` and `missed`."""

    found: float
    missed: float

    @property
    def mean(self) -> float:
        return self.found / (self.found + self.missed)

    @property
    def interval(self) -> tuple[float, float]:
        """The 80 % interval."""
        ends = beta.ppf([(1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2], self.found, self.missed)
        return float(ends[0]), float(ends[1])


def share_of(right: Sequence[float], answers: Sequence[float]) -> list[Share]:
    """How often each thing is found, from how many answers were right of how many.

    The others count as a number of answers at their mean, which the things' own unlikeness tells
    (beta-binomial, the likeliest with a weak prior); `FALLBACK` where there are fewer than
    `FEWEST_THINGS`. Without any answers, half.
    """
    given, good = np.asarray(answers, dtype=float), np.asarray(right, dtype=float)
    total = float(given.sum())
    mean = float(np.clip(good.sum() / total, _EDGE, 1 - _EDGE)) if total else 0.5
    asked = given > 0
    weight = _weight(good[asked], given[asked], mean) if asked.sum() >= FEWEST_THINGS else FALLBACK
    return [
        Share(mean * weight + own, (1 - mean) * weight + of - own)
        for own, of in zip(good, given, strict=True)
    ]


def _weight(right: Array, answers: Array, mean: float) -> float:
    """How many answers the others count as: the likeliest, with a weak prior."""

    def unlikely(logarithm: float) -> float:
        weight = float(np.exp(logarithm))
        a, b = mean * weight, (1 - mean) * weight
        likelihood = (betaln(a + right, b + answers - right) - betaln(a, b)).sum()
        doubt = (logarithm - np.log(_USUAL)) / _DOUBT
        return float(doubt**2 / 2 - likelihood)

    found = minimize_scalar(unlikely, bounds=(np.log(_LEAST), np.log(_MOST)), method="bounded")
    return float(np.exp(found.x))
