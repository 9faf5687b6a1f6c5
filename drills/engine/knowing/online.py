"""One answer at a time: coefficients and the offsets of its person and fact moved by one step."""

import math

import numpy as np

from drills.engine.knowing.averaging import SMOOTHED
from drills.engine.knowing.carrying import (
    moved_part,
    share_of_fact,
    share_of_usual,
    slopes,
    usual_part,
)
from drills.engine.knowing.columns import Floats
from drills.engine.knowing.model import DAYS_SINCE, DOORS, FACT, OWN, Model


class Moving:
    """A model whose coefficients and offsets move with each answer.

    The step is that of a Kalman filter on the log-odds: what is less known moves more, and is
    better known after it. A fact's own offset and its need's, of whose sum answers tell, move
    together, the latter for this fact alone. What else two figures have in common, but for
    coefficients, categories and kinds, is left out.
    """

    def __init__(self, model: Model) -> None:
        self._model = model
        self._people: dict[int, list[list[float]]] = {}
        self._things: dict[int, list[float]] = {}
        self._now = model.coefficients.copy()
        self._few = np.zeros(len(model.covariance) - len(self._now))
        self._doubt = model.covariance.copy()

    def _person(self, level: int) -> list[list[float]]:
        """The person's offset and its variance, and the same of their forgetting."""
        found = self._people.get(level)
        if found is None:
            index, each = np.array([level]), (self._model.offsets[name] for name in OWN)
            found = [[float(own.of(index)[0]), float(own.spread_of(index)[0])] for own in each]
            self._people[level] = found
        return found

    def _thing(self, level: int, doubt_of_need: float) -> list[float]:
        """How far its need moved for it, its own offset, the variances of both, and between them
        their covariance."""
        found = self._things.get(level)
        if found is None:
            index, own = np.array([level]), self._model.offsets[FACT]
            told = (own.of(index), own.common_of(index), own.spread_of(index))
            mean, common, spread = (float(each[0]) for each in told)
            found = [0.0, mean, doubt_of_need, common, spread]
            self._things[level] = found
        return found

    def next(
        self,
        base: float,
        doubt_of_need: float,
        past: Floats,
        marks: Floats,
        person: int,
        fact: int,
        right: float,
        guess: float,
        is_scored: bool,
    ) -> float:
        """The chance of one row, then the step that its outcome makes.

        `base` is the model's own log-odds without what a move says and without the person's and the
        fact's offsets, `doubt_of_need` the variance of what is not known of its need, `past` what
        came before, and `marks` are those of its category and kind.
        """
        days, of_fact = float(past[DAYS_SINCE]), float(share_of_fact(past, self._now))
        own, forgets = self._person(person)
        thing = self._thing(fact, doubt_of_need)
        moved = usual_part(past, self._now - self._model.coefficients)
        usual = base + float(moved + marks @ self._few)
        usual += own[0] + days * forgets[0] + thing[0] + of_fact * thing[1]
        share = float(share_of_usual(past, self._now))
        log_odds = share * usual + float(moved_part(past, self._now))
        of_past = slopes(past, *map(np.array, (share, usual, of_fact, thing[1])))
        grows = np.concatenate([of_past, share * marks])
        leaning = self._doubt @ grows
        of_need, of_own = (thing[2 + at] + of_fact * thing[3 + at] for at in range(2))
        doubt = own[1] + days**2 * forgets[1] + max(of_need + of_fact * of_own, 0.0)
        doubt, told = float(grows @ leaning) + share**2 * doubt, share**2 * doubt
        grows[DOORS] = 0.0
        told += float(grows @ self._doubt @ grows)
        if is_scored:
            known = _expit(log_odds)
            chance = guess + (1.0 - guess) * known
            slope = (1.0 - guess) * known * (1.0 - known)
            weight = slope * slope / (chance * (1.0 - chance))
            step = slope * (right - chance) / (chance * (1.0 - chance)) / (1.0 + weight * doubt)
            surer = weight / (1.0 + weight * doubt)
            self._now += leaning[: len(self._now)] * step
            self._few += leaning[len(self._now) :] * step
            self._doubt -= np.outer(leaning, leaning) * surer
            for times, part in ((share, own), (share * days, forgets)):
                leans = times * part[1]
                part[0] += leans * step
                part[1] -= leans**2 * surer
            _step_thing(thing, share * of_need, share * of_own, step, surer)
        return guess + (1.0 - guess) * _expit(log_odds / math.sqrt(1.0 + SMOOTHED * told))


def _step_thing(
    thing: list[float], of_need: float, of_own: float, step: float, surer: float
) -> None:
    """Move a thing, whose need and own offset lean so far on what was seen."""
    for at, leans in ((0, of_need), (1, of_own)):
        thing[at] += leans * step
        thing[2 + 2 * at] -= leans**2 * surer
    thing[3] -= of_need * of_own * surer


def _expit(log_odds: float) -> float:
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, log_odds))))
