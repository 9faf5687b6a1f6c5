"""Whether several searches together are done in time."""

import math

import numpy as np
from scipy.special import ndtr

from drills.engine.readying.counting import Array


def in_time(log_seconds: Array, log_spread: Array, seconds: float) -> float:
    """The chance that searches one after the other take no longer than so many seconds.

    Each takes log-normal seconds, given by mean and standard deviation of their natural logarithm.
    Their sum is taken as log-normal with the same mean and variance. Source: Fenton, IRE
    Transactions on Communications Systems 1960; 8: 57-67, from memory; how far off it is tells
    `tests/data/sums_of_times.csv`.
    """
    if seconds <= 0:
        return 0.0
    if not len(log_seconds):
        return 1.0
    each = np.exp(log_seconds + log_spread**2 / 2)
    mean = float(each.sum())
    variance = float((each**2 * np.expm1(log_spread**2)).sum())
    spread = math.sqrt(math.log1p(variance / mean**2))
    if not spread:
        return float(mean <= seconds)
    return float(ndtr((math.log(seconds / mean) + spread**2 / 2) / spread))
