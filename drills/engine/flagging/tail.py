"""Things missed more than expected: an exact tail for each, and few false alarms among all.

What is expected of each answer is the model's chance without what it thinks of this thing itself:
who was asked, when, what kind of thing and where. What is left is the thing.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import false_discovery_control

from drills.engine.readying.counting import Array, how_many

# Of the things that are told, so many in the mean may be no more missed than the others.
FALSE_SHARE = 0.10
# So few answers can be no surprise at this share; asked of them, all would stand in the way of
# those that can.
FEWEST_ANSWERS = 5


@dataclass(frozen=True, slots=True)
class Asked:
    """A thing, the expected chance of each answer on it, and how many were right."""

    thing: Hashable
    expected: tuple[float, ...]
    right: int


@dataclass(frozen=True, slots=True)
class Flag:
    """A thing that is missed more than expected: how many answers, how many right, how many were
    expected, and the share of false alarms among all things at least as surprising."""

    thing: Hashable
    answers: int
    right: int
    expected: float
    adjusted: float


def flagged(asked: Sequence[Asked], *, false_share: float = FALSE_SHARE) -> list[Flag]:
    """Things missed more than expected, the most surprising first.

    For each the chance of no more right answers than were given, half of that of as many counted
    (mid-p), from the exact distribution of unlike chances; then by Benjamini and Hochberg, Journal
    of the Royal Statistical Society B 1995; 57: 289-300, checked by
    `tests/data/benjamini_hochberg.csv`.
    """
    able = [each for each in asked if len(each.expected) >= FEWEST_ANSWERS]
    if not able:
        return []
    adjusted = false_discovery_control(surprise(able), method="bh")
    found = [
        Flag(each.thing, len(each.expected), each.right, sum(each.expected), float(share))
        for each, share in zip(able, adjusted, strict=True)
        if share <= false_share
    ]
    return sorted(found, key=lambda each: each.adjusted)


def surprise(asked: Sequence[Asked]) -> Array:
    """For each thing the chance of as few right answers or fewer, the last half counted."""
    most = max(len(each.expected) for each in asked)
    expected = np.zeros((len(asked), most))
    for row, each in zip(expected, asked, strict=True):
        row[: len(each.expected)] = each.expected
    return tails(expected, np.array([each.right for each in asked]))


def tails(expected: Array, right: NDArray[np.int64]) -> Array:
    """(things, answers) and (things,) to (things,); an answer never given has the chance 0."""
    counts = how_many(expected)
    places = np.arange(counts.shape[1])
    fewer = np.where(places < right[:, None], counts, 0.0).sum(axis=1)
    as_many = counts[np.arange(len(right)), right]
    return np.asarray(np.clip(fewer + as_many / 2, 0.0, 1.0))
