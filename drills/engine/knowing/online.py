"""One answer at a time: coefficients and the offsets of its person and fact moved by one step."""

import math

import numpy as np

from drills.engine.knowing.columns import Floats
from drills.engine.knowing.model import DAYS_SINCE, FACT, FORGETTING, PERSON, Model


class Moving:
    """A model whose coefficients and offsets of people and facts move with each answer.

    The step is that of a Kalman filter on the log-odds: what is less known moves more, and is
    better known after it. What two offsets have in common is left out.
    """

    def __init__(self, model: Model) -> None:
        self._model = model
        self._moved: dict[tuple[str, int], list[float]] = {}
        self._shift = np.zeros(len(model.coefficients))
        self._doubt = model.past_doubt.copy()

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
        past: Floats,
        person: int,
        fact: int,
        right: float,
        guess: float,
        is_scored: bool,
    ) -> float:
        """The chance of one row, then the step that its outcome makes; `base` is the model's own
        log-odds without the person's and the fact's offsets, `past` what came before."""
        days = float(past[DAYS_SINCE])
        parts = (
            (1.0, self._at(PERSON, person)),
            (days, self._at(FORGETTING, person)),
            (1.0, self._at(FACT, fact)),
        )
        log_odds = base + float(past @ self._shift) + sum(times * part[0] for times, part in parts)
        known = 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, log_odds))))
        chance = guess + (1.0 - guess) * known
        if is_scored:
            slope = (1.0 - guess) * known * (1.0 - known)
            weight = slope * slope / (chance * (1.0 - chance))
            leaning = self._doubt @ past
            doubt = float(past @ leaning) + sum(times * times * part[1] for times, part in parts)
            step = slope * (right - chance) / (chance * (1.0 - chance)) / (1.0 + weight * doubt)
            self._shift += leaning * step
            self._doubt -= np.outer(leaning, leaning) * (weight / (1.0 + weight * doubt))
            for times, part in parts:
                part[0] += times * part[1] * step
                part[1] -= (times * part[1]) ** 2 * weight / (1.0 + weight * doubt)
        return chance
