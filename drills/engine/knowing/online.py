"""One answer at a time: the offsets of its person and its fact moved by one step."""

import math

import numpy as np

from drills.engine.knowing.model import FACT, FORGETTING, PERSON, Model


class Moving:
    """A model whose offsets of people and facts move with each answer.

    The step is that of a Kalman filter on the log-odds: what is less known moves more, and is
    better known after it. What two offsets have in common is left out.
    """

    def __init__(self, model: Model) -> None:
        self._model = model
        self._moved: dict[tuple[str, int], list[float]] = {}

    def _at(self, name: str, level: int) -> list[float]:
        found = self._moved.get((name, level))
        if found is None:
            offsets, index = self._model.offsets[name], np.array([level])
            found = [float(offsets.of(index)[0]), float(offsets.spread_of(index)[0])]
            self._moved[name, level] = found
        return found

    def next(
        self,
        base: float,
        days: float,
        person: int,
        fact: int,
        right: float,
        guess: float,
        is_scored: bool,
    ) -> float:
        """The chance of one row, then the step that its outcome makes."""
        parts = (
            (1.0, self._at(PERSON, person)),
            (days, self._at(FORGETTING, person)),
            (1.0, self._at(FACT, fact)),
        )
        log_odds = base + sum(times * part[0] for times, part in parts)
        known = 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, log_odds))))
        chance = guess + (1.0 - guess) * known
        if is_scored:
            slope = (1.0 - guess) * known * (1.0 - known)
            weight = slope * slope / (chance * (1.0 - chance))
            doubt = sum(times * times * part[1] for times, part in parts)
            step = slope * (right - chance) / (chance * (1.0 - chance)) / (1.0 + weight * doubt)
            for times, part in parts:
                part[0] += times * part[1] * step
                part[1] -= (times * part[1]) ** 2 * weight / (1.0 + weight * doubt)
        return chance
