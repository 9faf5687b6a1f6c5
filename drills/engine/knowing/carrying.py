"""How much of what is usual carries over to a thing's new place, and to people who came lately.

Whoever knew a thing well at its old place looks for it there, and who is new has not come across
what others know from their shifts: what tells people and things apart tells less of both, for a
while. The share that carries over, and how it grows with the days, are fitted like all else.
"""

import numpy as np

from drills.engine.knowing.columns import Floats
from drills.engine.knowing.history import NAMES

CARRIED = (
    *("carries over to a new place", "carries over, days since it moved"),
    *("carries over to who is new", "carries over, days since they came"),
)
COEFFICIENTS = (*NAMES, *CARRIED)
# What those are multiplied by, and what is told beside the usual.
_SINCE = [
    NAMES.index(name)
    for name in ("moved", "days since it moved", "new here", "days since they came")
]
_OLD = [NAMES.index(name) for name in ("known at the old place", "known at the old place, fading")]
APART = [*_SINCE, *_OLD]
SHARE = slice(len(NAMES), len(COEFFICIENTS))
# No share is less, or more: beyond these the fit would have no hold on it.
LEAST_SHARE, MOST_SHARE = 0.05, 2.0


def share_carried(past: Floats, coefficients: Floats) -> Floats:
    """The share of each row's usual log-odds that counts: 1 of what lies where it lay, and people who were there."""
    found = 1.0 + past[..., _SINCE] @ coefficients[SHARE]
    return np.asarray(np.clip(found, LEAST_SHARE, MOST_SHARE))


def usual_part(past: Floats, coefficients: Floats) -> Floats:
    """What the past says of each row by itself, without what is new."""
    told = coefficients[: len(NAMES)].copy()
    told[APART] = 0.0
    return np.asarray(past @ told)


def new_part(past: Floats, coefficients: Floats) -> Floats:
    """What a move, or having come lately, says of each row."""
    return np.asarray(past[..., APART] @ coefficients[APART])


def slopes(past: Floats, usual: Floats, share: Floats) -> Floats:
    """How the log-odds of each row grow with each coefficient; `usual` is what carries over."""
    found = np.empty((*past.shape[:-1], len(COEFFICIENTS)))
    found[..., : len(NAMES)] = past * share[..., None]
    found[..., APART] = past[..., APART]
    found[..., SHARE] = past[..., _SINCE] * usual[..., None]
    return found
