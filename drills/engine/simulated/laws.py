"""How simulated people remember and forget: two laws, each the truth of its own world.

A memory is of one person and one slot; a slot is a thing at a place. Law A is a sum of decaying
traces, after Anderson and Schooler 1991 and Petrov 2006, from memory; that an old place competes
with the new one is ours. Law F is the published curve FSRS-6 at a pace of one's own.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from drills.engine.simulated.curve import States, first_states, next_states, recall

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

# Who knows nothing taps one of so many places.
CHOICES = 30
GUESS = 1.0 / CHOICES
# The latest traces of a memory; older ones of things so well known count for nothing.
TRACES_KEPT = 32
# No trace is fresher than half an hour, so that one drill does not settle a thing for weeks.
FRESHEST_DAYS = 0.02
# Ours: the sum of traces at which recall is even, and how sharply it turns, for a usual person.
EVEN_TRACES, SHARPNESS = 0.22, 0.45
# Ours: how much an old place that is well known takes from the new one under law F.
TAKEN_BY_RIVAL = 0.5


class Memory(Protocol):
    """What people remember. `people` and `slots` are arrays of one length, or broadcast."""

    def chance(self, people: Ints, slots: Ints, rivals: Ints, weights: Array, time: Array) -> Array:
        """The chance of knowing the thing of a slot at a time in days, guesses included.

        `rivals` are slots where the thing is known to be elsewhere, -1 for none, and `weights` how
        strongly they come to mind, 0 to 1. No time lies before the last review.
        """

    def review(self, people: Ints, slots: Ints, time: Array, grades: Ints) -> None:
        """Somebody was asked or came across the thing; no pair of person and slot comes twice."""

    def grow(self, effects: Array) -> None:
        """New slots that nobody has met; `effects` as when the memory was made."""


class TraceMemory:
    """Law A: each review leaves a trace that decays with its own age.

    `decays` are the exponents, one of each person; `effects` (people by slots) say how much more
    easily a person knows a thing, in log-odds.
    """

    def __init__(self, decays: Array, effects: Array) -> None:
        self._decays, self._effects = decays, effects
        self._times = np.full((*effects.shape, TRACES_KEPT), -np.inf)
        self._counts = np.zeros(effects.shape, dtype=np.int_)

    def chance(self, people: Ints, slots: Ints, rivals: Ints, weights: Array, time: Array) -> Array:
        """See `Memory`."""
        own, rival = self._strength(people, slots, time), np.array(0.0)
        if (rivals >= 0).any():
            rival = np.where(rivals >= 0, weights * self._strength(people, rivals, time), 0.0)
        result: Array = GUESS + (1.0 - GUESS) * own / (own + rival + 1.0)
        return result

    def review(self, people: Ints, slots: Ints, time: Array, grades: Ints) -> None:
        """See `Memory`; right or wrong, the place is shown and leaves the same trace."""
        self._times[people, slots, self._counts[people, slots] % TRACES_KEPT] = time
        self._counts[people, slots] += 1

    def grow(self, effects: Array) -> None:
        """See `Memory`."""
        self._effects = np.hstack([self._effects, effects])
        unmet = np.full((*effects.shape, TRACES_KEPT), -np.inf)
        self._times = np.concatenate([self._times, unmet], axis=1)
        self._counts = np.hstack([self._counts, np.zeros(effects.shape, dtype=np.int_)])

    def _strength(self, people: Ints, slots: Ints, time: Array) -> Array:
        """The odds of knowing it when nothing competes."""
        ages = np.maximum(np.asarray(time)[..., None] - self._times[people, slots], FRESHEST_DAYS)
        total = (ages ** -self._decays[people][..., None]).sum(axis=-1)
        result: Array = (total / EVEN_TRACES) ** (1 / SHARPNESS) * np.exp(
            self._effects[people, slots]
        )
        return result


class CurveMemory:
    """Law F: the published curve, for each person and thing at a pace of its own.

    `effects` (people by slots) are natural logarithms of how much longer a memory holds.
    """

    def __init__(self, effects: Array) -> None:
        self._pace = np.exp(-effects)
        self._stability, self._difficulty = np.zeros(effects.shape), np.zeros(effects.shape)
        self._last = np.zeros(effects.shape)

    def chance(self, people: Ints, slots: Ints, rivals: Ints, weights: Array, time: Array) -> Array:
        """See `Memory`."""
        own, rival = self._recall(people, slots, time), np.array(0.0)
        if (rivals >= 0).any():
            rival = np.where(rivals >= 0, weights * self._recall(people, rivals, time), 0.0)
        result: Array = GUESS + (1.0 - GUESS) * own * (1.0 - TAKEN_BY_RIVAL * rival)
        return result

    def review(self, people: Ints, slots: Ints, time: Array, grades: Ints) -> None:
        """See `Memory`."""
        stability = self._stability[people, slots]
        is_new = stability == 0.0
        begun = first_states(grades)
        known = States(
            np.where(is_new, 1.0, stability),
            np.where(is_new, 1.0, self._difficulty[people, slots]),
        )
        later = next_states(known, grades, self._aged(people, slots, time))
        self._stability[people, slots] = np.where(is_new, begun.stability, later.stability)
        self._difficulty[people, slots] = np.where(is_new, begun.difficulty, later.difficulty)
        self._last[people, slots] = time

    def grow(self, effects: Array) -> None:
        """See `Memory`."""
        self._pace, unmet = np.hstack([self._pace, np.exp(-effects)]), np.zeros(effects.shape)
        self._stability = np.hstack([self._stability, unmet])
        self._difficulty = np.hstack([self._difficulty, unmet])
        self._last = np.hstack([self._last, unmet])

    def _aged(self, people: Ints, slots: Ints, time: Array) -> Array:
        """Days since the last review, as this memory feels them."""
        since = np.maximum(np.asarray(time) - self._last[people, slots], 0.0)
        result: Array = since * self._pace[people, slots]
        return result

    def _recall(self, people: Ints, slots: Ints, time: Array) -> Array:
        stability = self._stability[people, slots]
        known = recall(self._aged(people, slots, time), np.where(stability > 0, stability, 1.0))
        return np.where(stability > 0, known, 0.0)
