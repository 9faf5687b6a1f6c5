"""How much of what is usual carries over to a thing's new place, and to people who came lately.

Whoever knew a thing well at its old place looks for it there, so that what tells people and things
apart tells less of the new place for a while. Who is new has not come across what others know from
their shifts, so that how well a thing is known where it lies tells less of them. The shares that
carry over, and how they grow with the days, are fitted like all else.
"""

import numpy as np
from scipy.special import expit

from drills.engine.knowing.columns import Floats
from drills.engine.knowing.history import NAMES

CARRIED = (
    *("carries over to a new place", "carries over, days since it moved"),
    *("carries over to who is new", "carries over, days since they came"),
)
COEFFICIENTS = (*NAMES, *CARRIED)
# What those are multiplied by.
_MOVED = [NAMES.index(name) for name in ("moved", "days since it moved")]
_NEW = [NAMES.index(name) for name in ("new here", "days since they came")]
_TO_PLACE = slice(len(NAMES), len(NAMES) + len(_MOVED))
_TO_PEOPLE = slice(_TO_PLACE.stop, len(COEFFICIENTS))
# What a move says is said of it whole.
_APART = [
    *_MOVED,
    *(NAMES.index(name) for name in ("known at the old place", "known at the old place, fading")),
]
# No share is more, and none is less: it would have nothing that it could grow from.
MOST_SHARE, LEAST_SHARE = 2.0, 1e-3


def share_of_usual(past: Floats, coefficients: Floats) -> Floats:
    """The share of each row's usual log-odds that counts: 1 of what lies where it always lay."""
    return _share(past[..., _MOVED] @ coefficients[_TO_PLACE])


def share_of_fact(past: Floats, coefficients: Floats) -> Floats:
    """The share of the fact's own offset that counts: 1 of people who were always there."""
    return _share(past[..., _NEW] @ coefficients[_TO_PEOPLE])


def _share(told: Floats) -> Floats:
    """1 of 0, growing as fast as what is told there, and between none and the most."""
    return np.asarray(np.maximum(MOST_SHARE * expit(MOST_SHARE * told), LEAST_SHARE))


def _growth(share: Floats) -> Floats:
    return np.asarray(share * (MOST_SHARE - share))


def usual_part(past: Floats, coefficients: Floats) -> Floats:
    """What the past says of each row by itself, without what a move says."""
    told = coefficients[: len(NAMES)].copy()
    told[_APART] = 0.0
    return np.asarray(past @ told)


def moved_part(past: Floats, coefficients: Floats) -> Floats:
    """What a move says of each row."""
    return np.asarray(past[..., _APART] @ coefficients[_APART])


def slopes(past: Floats, share: Floats, usual: Floats, of_fact: Floats, fact: Floats) -> Floats:
    """How the log-odds of each row grow with each coefficient: `share` of its `usual` log-odds
    counts, and in those `of_fact` of the fact's own offset."""
    found = np.empty((*past.shape[:-1], len(COEFFICIENTS)))
    found[..., : len(NAMES)] = past * share[..., None]
    found[..., _APART] = past[..., _APART]
    found[..., _TO_PLACE] = past[..., _MOVED] * (_growth(share) * usual)[..., None]
    told = share * _growth(of_fact) * fact
    found[..., _TO_PEOPLE] = past[..., _NEW] * told[..., None]
    return found
