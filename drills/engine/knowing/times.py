"""How long people take to find things: by person, by thing and by door, time-outs censored."""

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from drills.engine.knowing.columns import MODALITIES, Answers, Bools, Floats, Ints
from drills.engine.searching import LOG_SECONDS

# Own speed and a thing's time are means drawn towards 0 as by so many answers.
PSEUDO = 3.0
# Rounds of completing what ran out, and in each the turns of its least squares.
ROUNDS, TURNS = 20, 5
# The spread of the logarithm of seconds before anything is known: ours, no source.
SPREAD, LEAST_SPREAD = 0.5, 0.05
TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Times:
    """Logarithms of seconds to a right answer: `usual` of each modality, what each person and each
    fact adds, and the standard deviation of what is left."""

    usual: Floats
    people: Floats
    facts: Floats
    spread: float

    def log_seconds(self, person: Ints, fact: Ints, modality: Ints) -> Floats:
        """What is expected of each row."""
        found = self.usual[modality]
        for offsets, levels in ((self.people, person), (self.facts, fact)):
            there = levels < len(offsets)
            found = found + np.where(
                there, np.append(offsets, 0.0)[np.where(there, levels, 0)], 0.0
            )
        return np.asarray(found)


def fit_times(answers: Answers) -> Times:
    """Fit to right answers and to those that ran out of time, which took longer than they show.

    What ran out is put at what is expected beyond its limit, again and again (the usual
    expectation-maximisation of a censored normal). What is usual of a modality and the offsets of
    people and facts, drawn to 0 as by three more answers, are the least squares of all together, by
    turns: who is slow and mostly seen at the rig makes the rig no slower than it is. Wrong answers
    say nothing of how long finding takes; of a modality in which nobody was right in any time, the
    published usual is taken.
    """
    timed = answers.counts & (answers.seconds > 0) & (answers.ran_out | (answers.right >= 1.0))
    rows = answers.take(np.flatnonzero(timed))
    people, facts = _size(answers.person), _size(answers.fact)
    found = Times(np.full(len(MODALITIES), LOG_SECONDS), np.zeros(people), np.zeros(facts), SPREAD)
    if not len(rows):
        return found
    limit = np.log(rows.seconds)
    for _ in range(ROUNDS):
        expected = found.log_seconds(rows.person, rows.fact, rows.modality)
        took, spare = _completed(limit, rows.ran_out, expected, found.spread)
        found = _together(rows, took, spare, found)
    return found


def _together(rows: Answers, took: Floats, spare: Floats, found: Times) -> Times:
    """What is usual and all offsets, from some that are near; `spare` is the variance of each."""
    by_person, by_fact = found.people, found.facts
    for _ in range(TURNS):
        usual = _usual(rows.modality, took - by_person[rows.person] - by_fact[rows.fact])
        left = took - usual[rows.modality]
        by_fact = _means(rows.fact, left - by_person[rows.person], len(by_fact), PSEUDO)
        by_person = _means(rows.person, left - by_fact[rows.fact], len(by_person), PSEUDO)
    left = left - by_fact[rows.fact] - by_person[rows.person]
    return Times(usual, by_person, by_fact, _spread(left**2 + spare))


def _usual(modality: Ints, took: Floats) -> Floats:
    means = _means(modality, took, len(MODALITIES), 0.0)
    is_known = np.bincount(modality, minlength=len(MODALITIES)) > 0
    return np.where(is_known, means, LOG_SECONDS)


def _spread(squares: Floats) -> float:
    """The standard deviation of what is left; never none, however alike the times are."""
    return max(float(np.sqrt(np.mean(squares))), LEAST_SPREAD)


def _completed(
    limit: Floats, ran_out: Bools, expected: Floats, spread: float
) -> tuple[Floats, Floats]:
    """Logarithms of seconds with those that ran out as expected, and the variance left to them."""
    beyond = (limit - expected) / spread
    ratio = np.exp(-0.5 * beyond**2 - 0.5 * np.log(2.0 * np.pi) - log_ndtr(-beyond))
    took = np.where(ran_out, expected + spread * ratio, limit)
    spare = np.where(ran_out, spread**2 * (1.0 + beyond * ratio - ratio**2), 0.0)
    return took, np.maximum(spare, 0.0)


def _means(levels: Ints, values: Floats, size: int, pseudo: float) -> Floats:
    totals = np.bincount(levels, weights=values, minlength=size)
    counts = np.bincount(levels, minlength=size) + pseudo
    return np.asarray(totals / np.maximum(counts, TINY))


def _size(levels: Ints) -> int:
    return int(levels.max(initial=-1)) + 1
