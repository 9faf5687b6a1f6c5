"""The published forgetting curve FSRS-6, for whole arrays of memories at once.

A memory has a stability (days until the chance of recall is 0.9) and a difficulty, 1 to 10. It
serves the simulator as one of its truths; what people know is never estimated by it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# What an answer is graded as, from 1 to 4: not found, found slowly, as usual, or at once.
MISSED, SLOW, USUAL, QUICK = 1, 2, 3, 4
# The published parameters w0 to w20, in this order: tests/data/fsrs6_parameters.csv.
_FIRST_STABILITY = (0.212, 1.2931, 2.3065, 8.2956)
_DIFFICULTY = (6.4133, 0.8334, 3.0194, 0.001)
_SUCCESS = (1.8722, 0.1666, 0.796)
_LAPSE = (1.4835, 0.0614, 0.2629, 1.6483)
_SLOW_AND_QUICK = (0.6014, 1.8729)
_SAME_DAY = (0.5425, 0.0912, 0.0658)
_DECAY = 0.1542
PUBLISHED: Array = np.array(
    (*_FIRST_STABILITY, *_DIFFICULTY, *_SUCCESS, *_LAPSE, *_SLOW_AND_QUICK, *_SAME_DAY, _DECAY)
)
PUBLISHED.setflags(write=False)
LEAST_STABILITY, LEAST_DIFFICULTY, MOST_DIFFICULTY = 0.001, 1.0, 10.0
# Reviews closer than this follow the rule of the same day.
ONE_DAY = 1.0


@dataclass(frozen=True, slots=True)
class States:
    """Memories, in arrays of one length: stability in days, and difficulty from 1 to 10."""

    stability: Array
    difficulty: Array


def recall(days: ArrayLike, stability: ArrayLike, w: Array = PUBLISHED) -> Array:
    """The chance of recall so many days after the last review."""
    factor = 0.9 ** (-1.0 / w[20]) - 1.0
    result: Array = (1.0 + factor * np.asarray(days) / np.asarray(stability)) ** -w[20]
    return result


def first_states(grades: ArrayLike, w: Array = PUBLISHED) -> States:
    """The states after a first review; `grades` are whole numbers, 1 to 4."""
    given = np.asarray(grades, dtype=int)
    stability = np.maximum(w[given - 1], LEAST_STABILITY)
    return States(stability, _within(_first_difficulty(given, w)))


def next_states(states: States, grades: ArrayLike, days: ArrayLike, w: Array = PUBLISHED) -> States:
    """The states after a further review, `days` after the one before."""
    given, after = np.asarray(grades, dtype=int), np.asarray(days, dtype=float)
    stability, difficulty = states.stability, states.difficulty
    recalled = recall(after, stability, w)
    later = np.where(
        given == MISSED,
        _after_lapse(stability, difficulty, recalled, w),
        _after_success(stability, difficulty, recalled, given, w),
    )
    stable = np.where(after < ONE_DAY, _same_day(stability, given, w), later)
    return States(np.maximum(stable, LEAST_STABILITY), _next_difficulty(difficulty, given, w))


def _after_success(
    stability: Array, difficulty: Array, recalled: Array, grades: NDArray[np.int_], w: Array
) -> Array:
    grown = (
        np.exp(w[8])
        * (11.0 - difficulty)
        * stability ** -w[9]
        * np.expm1((1.0 - recalled) * w[10])
        * np.where(grades == SLOW, w[15], 1.0)
        * np.where(grades == QUICK, w[16], 1.0)
    )
    result: Array = stability * (1.0 + grown)
    return result


def _after_lapse(stability: Array, difficulty: Array, recalled: Array, w: Array) -> Array:
    kept = (
        w[11]
        * difficulty ** -w[12]
        * ((stability + 1.0) ** w[13] - 1.0)
        * np.exp((1.0 - recalled) * w[14])
    )
    result: Array = np.minimum(kept, stability / np.exp(w[17] * w[18]))
    return result


def _same_day(stability: Array, grades: NDArray[np.int_], w: Array) -> Array:
    grown = np.exp(w[17] * (grades - USUAL + w[18])) * stability ** -w[19]
    result: Array = stability * np.where(grades == MISSED, grown, np.maximum(grown, 1.0))
    return result


def _first_difficulty(grades: NDArray[np.int_], w: Array) -> Array:
    result: Array = w[4] - np.exp(w[5] * (grades - 1)) + 1.0
    return result


def _next_difficulty(difficulty: Array, grades: NDArray[np.int_], w: Array) -> Array:
    moved = difficulty - w[6] * (grades - USUAL) * (MOST_DIFFICULTY - difficulty) / 9.0
    target = _first_difficulty(np.array(QUICK), w)
    return _within(w[7] * target + (1.0 - w[7]) * moved)


def _within(difficulty: Array) -> Array:
    return np.clip(difficulty, LEAST_DIFFICULTY, MOST_DIFFICULTY)
