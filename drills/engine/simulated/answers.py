"""What simulated people are asked, and how they answer: right or wrong, and in what time."""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.special import logit, ndtr

from drills.engine.simulated.cast import Crew, Kit
from drills.engine.simulated.log import RIGHT, TIMED_OUT, WRONG

Array = NDArray[np.float64]
Ints = NDArray[np.int_]
Flags = NDArray[np.bool_]

SCREEN, HANDS_ON = 0, 1
# Ours: the seconds of a usual answer, how they scatter, what a wrong one takes longer (both as
# logarithms), how much quicker one is who knows it well, and the walk at the rig.
USUAL_SECONDS, SCATTER, SLOWER_WRONG, QUICKER, WALK = 4.0, 0.4, 0.25, 0.12, 5.0
# How fast somebody taps who does not read.
LAZY_SECONDS = 1.1
# Beyond these odds nobody is any quicker or slower.
SUREST = 0.995


@dataclass(frozen=True, slots=True)
class Questions:
    """One step asked of each of some people, as arrays of one length."""

    time: Array
    person: Ints
    item: Ints
    layout: Ints
    modality: Ints
    chosen: Ints

    def rows(self, some: Flags | Ints) -> "Questions":
        """Some of them."""
        return Questions(
            self.time[some],
            self.person[some],
            self.item[some],
            self.layout[some],
            self.modality[some],
            self.chosen[some],
        )

    def of(self, items: Ints) -> "Questions":
        """The same, asked for something else."""
        return Questions(self.time, self.person, items, self.layout, self.modality, self.chosen)


@dataclass(frozen=True, slots=True)
class Answers:
    """What came of it: outcomes, seconds, and the true chance that each would be right."""

    asked: Questions
    place: Ints
    outcome: Ints
    seconds: Array
    chance: Array


def answered(
    asked: Questions, knows: Array, crew: Crew, kit: Kit, cut_off: float | None, rng: Generator
) -> Answers:
    """Answers of people who know it with a chance of `knows`; later than `cut_off` seconds none."""
    is_right = rng.random(len(knows)) < knows
    usual = _usual_seconds(asked, knows, crew, kit)
    slower = np.where(is_right | crew.is_lazy[asked.person], 0.0, SLOWER_WRONG)
    walk = np.where(asked.modality == HANDS_ON, WALK, 0.0)
    seconds = walk + np.exp(usual + slower + rng.normal(0.0, SCATTER, len(knows)))
    outcome, chance = np.where(is_right, RIGHT, WRONG), knows
    if cut_off is not None:
        chance = knows * ndtr((np.log(cut_off - walk) - usual) / SCATTER)
        outcome = np.where(seconds > cut_off, TIMED_OUT, outcome)
        seconds = np.minimum(seconds, cut_off)
    return Answers(asked, kit.place[asked.layout, asked.item], outcome, seconds, chance)


def _usual_seconds(asked: Questions, knows: Array, crew: Crew, kit: Kit) -> Array:
    """The median seconds of a right answer without the walk, as logarithms."""
    sure = logit(np.clip(knows, 1 - SUREST, SUREST))
    own = crew.speed[asked.person] + kit.slow[asked.item] - QUICKER * sure
    usual: Array = np.where(
        crew.is_lazy[asked.person], np.log(LAZY_SECONDS), np.log(USUAL_SECONDS) + own
    )
    return usual
