"""What the model holds: coefficients of the past, and offsets of people, things and kinds."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from drills.engine.knowing.carrying import (
    CARRIED,
    COEFFICIENTS,
    moved_part,
    share_of_fact,
    share_of_usual,
    usual_part,
)
from drills.engine.knowing.columns import Answers, Floats, Ints
from drills.engine.knowing.history import NAMES

PERSON, FORGETTING, NEED, FACT, CATEGORY, KIND = (
    "person",
    "forgetting",
    "need",
    "fact",
    "category",
    "kind",
)
# A person's own offsets, and those that people share.
OWN = (PERSON, FORGETTING)
SHARED = (NEED, FACT, CATEGORY, KIND)
# How much levels are thought to differ before anything is known: ours, no source.
LEVEL_VARIANCE, FORGETTING_VARIANCE, PAIR_VARIANCE = 0.5, 0.05, 1.0
# What seldom comes cannot be judged by the rest: weak, ours, no source.
SELDOM = (
    *("right elsewhere, in the same place", "right elsewhere, in another place"),
    *("moved", "days since it moved", "known at the old place", "known at the old place, fading"),
    *("new here", "days since they came", "by scan", "hands-on"),
    *CARRIED,
)
SELDOM_VARIANCE, INTERCEPT_VARIANCE = 1.0, 9.0
DAYS_SINCE = NAMES.index("days since it was asked")


@dataclass(frozen=True, slots=True)
class Offsets:
    """One offset on the log-odds scale for each level of something, drawn towards 0.

    `variance` is how much levels differ (estimated from all of them); `means` and `spreads` are
    each level's offset and the variance of what is not known of it.
    """

    variance: float
    means: Floats
    spreads: Floats

    def of(self, levels: Ints) -> Floats:
        """The offsets of some levels; 0 of one that was not there when it was fitted."""
        return _of_levels(self.means, levels, 0.0)

    def spread_of(self, levels: Ints) -> Floats:
        """The variance of what is not known of some levels."""
        return _of_levels(self.spreads, levels, self.variance)


def _of_levels(values: Floats, levels: Ints, unknown: float) -> Floats:
    there = levels < len(values)
    return np.where(there, np.append(values, unknown)[np.where(there, levels, 0)], unknown)


@dataclass(frozen=True, slots=True)
class Model:
    """A fitted model: log-odds of a right answer = coefficients x history + offsets, of which only
    a share carries over to a new place and to new people.

    `coefficients` has one for each of `carrying.COEFFICIENTS`; `offsets` one for each of person,
    forgetting (of a person: times the logarithm of 1 + days since the thing was asked), need, fact,
    category and kind. `pair_variance` is how much one person's answers on one thing agree beyond
    all of these; `answers` how many it was fitted to;
    `past_variance` how much coefficients
    differ from none, and `past_doubt` the covariance of what is not known of them.
    """

    coefficients: Floats
    offsets: Mapping[str, Offsets]
    pair_variance: float
    answers: int
    past_variance: float
    past_doubt: Floats

    def usual(self, answers: Answers, past: Floats) -> Floats:
        """The log-odds of each row without what a move says, the person's own offsets and the
        fact's."""
        whole = usual_part(past, self.coefficients)
        for name, levels in ((NEED, answers.need), (CATEGORY, answers.category)):
            whole = whole + self.offsets[name].of(levels)
        return whole + self.offsets[KIND].of(answers.kind)

    def log_odds(self, answers: Answers, past: Floats) -> Floats:
        """The log-odds that each row is right, without what chance alone gives."""
        own = self.offsets[PERSON].of(answers.person)
        own = own + past[:, DAYS_SINCE] * self.offsets[FORGETTING].of(answers.person)
        fact = share_of_fact(past, self.coefficients) * self.offsets[FACT].of(answers.fact)
        return self.carried(past, self.usual(answers, past) + own + fact)

    def carried(self, past: Floats, usual: Floats) -> Floats:
        """The log-odds of each row with what a move says, from what they usually are."""
        share = share_of_usual(past, self.coefficients)
        return share * usual + moved_part(past, self.coefficients)

    def chances(self, answers: Answers, past: Floats) -> Floats:
        """The chance that each row is right, 0 to 1, with what chance alone gives."""
        return with_guess(self.log_odds(answers, past), answers.guess)


def with_guess(log_odds: Floats, guess: Floats) -> Floats:
    """The chance of being right by knowing, or else by chance alone."""
    return np.asarray(guess + (1.0 - guess) * expit(log_odds))


def blank() -> Model:
    """The model before anybody answered anything: all chances are even."""
    none = np.zeros(0)
    names = (*OWN, *SHARED)
    variances = dict.fromkeys(names, LEVEL_VARIANCE) | {FORGETTING: FORGETTING_VARIANCE}
    return Model(
        np.zeros(len(COEFFICIENTS)),
        {name: Offsets(variances[name], none, none) for name in names},
        PAIR_VARIANCE,
        0,
        LEVEL_VARIANCE,
        np.diag(past_priors(LEVEL_VARIANCE)),
    )


def past_priors(variance: float) -> Floats:
    """The variance of each coefficient before any answer: what is usual hardly drawn to none, what
    seldom comes by a variance of its own, and the others by how much they are found to differ."""
    found = np.full(len(COEFFICIENTS), variance)
    found[0] = INTERCEPT_VARIANCE
    found[[COEFFICIENTS.index(name) for name in SELDOM]] = SELDOM_VARIANCE
    return found
