"""How many of several unlike chances come off."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def how_many(chances: Array) -> Array:
    """The chance that exactly 0, 1, ... of independent things come off, each with its own chance.

    (..., things) to (..., things + 1): the Poisson-binomial distribution, added up thing by thing.
    Checked by `tests/data/poisson_binomial.csv`.
    """
    counts = np.zeros((*chances.shape[:-1], chances.shape[-1] + 1))
    counts[..., 0] = 1.0
    for index in range(chances.shape[-1]):
        chance = chances[..., index, None]
        kept = counts * (1.0 - chance)
        kept[..., 1:] += counts[..., :-1] * chance
        counts = kept
    return counts
