"""Whether several searches together are done in time."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from drills.engine.readying.counting import Array

_TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Limit:
    """Seconds there are for a call, and seconds of them that go on walking and opening."""

    seconds: float
    moving: float = 0.0

    @property
    def to_search(self) -> float:
        return self.seconds - self.moving


def in_time(log_seconds: Array, log_spread: Array, seconds: float) -> float:
    """The chance that searches one after the other take no longer than so many seconds.

    Each takes log-normal seconds, given by mean and standard deviation of their natural logarithm.
    Their sum is taken as log-normal with the same mean and variance. Source: Fenton, IRE
    Transactions on Communications Systems 1960; 8: 57-67, from memory; how far off it is tells
    `tests/data/sums_of_times.csv`.
    """
    every = np.ones((1, len(log_seconds)))
    return float(each_in_time(every, log_seconds, log_spread, np.array([seconds]))[0])


def each_in_time(searched: Array, log_seconds: Array, log_spread: Array, seconds: Array) -> Array:
    """The same of several lists of searches: (lists, searches) says which each has; `seconds` has
    one figure for each list."""
    each = np.exp(log_seconds + log_spread**2 / 2)
    mean = searched @ each
    variance = searched @ (each**2 * np.expm1(log_spread**2))
    spread = np.sqrt(np.log1p(variance / np.maximum(mean, _TINY) ** 2))
    left = np.log(np.maximum(seconds, _TINY) / np.maximum(mean, _TINY))
    likely = ndtr((left + spread**2 / 2) / np.maximum(spread, _TINY))
    is_sure = (spread == 0.0) | (mean == 0.0)
    return np.asarray(np.where(is_sure, mean <= seconds, likely) * (seconds > 0))
