"""How much people and things differ together, by how far two answers of one on the other agree."""

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from scipy.optimize import brentq
from scipy.special import expit

from drills.engine.knowing.averaging import centred
from drills.engine.knowing.columns import Floats, Ints

# Pairs are taken together by the log-odds of both answers, in so many parts of each.
PARTS = 40
# Nodes at which the doubt is looked at, and how near the variance is found.
NODES, NEAR = 15, 1e-4


def variance_of_agreement(
    log_odds: tuple[Floats, Floats], weight: Floats, agreed: float, least: float, most: float
) -> float:
    """The variance of what two answers have in common, on the scale of log-odds.

    `log_odds` are those of the chances of the first and of the second answer, in the mean over what
    they have in common; `weight` times the covariance of both, summed, is to come to `agreed`. It
    is integrated, not taken as straight: near a variance of 1 that would find a third too little.
    Between `least` and `most`.
    """
    middles, parts = _parted(np.concatenate(log_odds))
    first, second = np.split(parts, 2)
    counts = np.bincount(first * PARTS + second, weight, PARTS**2).reshape(PARTS, PARTS)
    nodes, shares = hermegauss(NODES)
    shares = shares / shares.sum()

    def beyond(variance: float) -> float:
        at = centred(middles, np.full(PARTS, variance)) + np.sqrt(variance) * nodes[:, None]
        knows = expit(at)
        mean = shares @ knows
        both = (knows * shares[:, None]).T @ knows - np.outer(mean, mean)
        return float(np.sum(counts * both)) - agreed

    if beyond(least) >= 0.0:
        return least
    if beyond(most) <= 0.0:
        return most
    return float(brentq(beyond, least, most, xtol=NEAR))


def _parted(log_odds: Floats) -> tuple[Floats, Ints]:
    """The middle of each part of log-odds, and in which part each stands."""
    edges = np.quantile(log_odds, np.linspace(0.0, 1.0, PARTS + 1)[1:-1])
    parts = np.asarray(np.searchsorted(edges, log_odds), dtype=np.int64)
    total, count = np.bincount(parts, log_odds, PARTS), np.bincount(parts, minlength=PARTS)
    return total / np.maximum(count, 1), parts
