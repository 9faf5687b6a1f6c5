"""One answer at a time: coefficients and the offsets of its person and fact moved by one step."""

import math

import numpy as np

from drills.engine.knowing.carrying import (
    moved_part,
    share_of_fact,
    share_of_usual,
    slopes,
    usual_part,
)
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
        self._now = model.coefficients.copy()
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
        log-odds without what a move says and without the person's and the fact's offsets, `past`
        what came before."""
        days, of_fact = float(past[DAYS_SINCE]), float(share_of_fact(past, self._now))
        parts = (
            (1.0, self._at(PERSON, person)),
            (days, self._at(FORGETTING, person)),
            (of_fact, self._at(FACT, fact)),
        )
        usual = base + float(usual_part(past, self._now - self._model.coefficients))
        usual += sum(times * part[0] for times, part in parts)
        share = float(share_of_usual(past, self._now))
        log_odds = share * usual + float(moved_part(past, self._now))
        known = 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, log_odds))))
        chance = guess + (1.0 - guess) * known
        if is_scored:
            slope = (1.0 - guess) * known * (1.0 - known)
            weight = slope * slope / (chance * (1.0 - chance))
            grows = slopes(past, *map(np.array, (share, usual, of_fact, parts[-1][1][0])))
            leaning = self._doubt @ grows
            doubt = float(grows @ leaning)
            doubt += sum((share * times) ** 2 * part[1] for times, part in parts)
            step = slope * (right - chance) / (chance * (1.0 - chance)) / (1.0 + weight * doubt)
            self._now += leaning * step
            self._doubt -= np.outer(leaning, leaning) * (weight / (1.0 + weight * doubt))
            for times, part in parts:
                told = share * times * part[1]
                part[0] += told * step
                part[1] -= told**2 * weight / (1.0 + weight * doubt)
        return chance
