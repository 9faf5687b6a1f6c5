"""What the model holds: coefficients of the past, and offsets of people, things and kinds."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.special import expit

from drills.engine.knowing.averaging import averaged
from drills.engine.knowing.carrying import (
    CARRIED,
    COEFFICIENTS,
    moved_part,
    share_of_fact,
    share_of_usual,
    slopes,
    usual_part,
)
from drills.engine.knowing.columns import Answers, Floats, Ints
from drills.engine.knowing.history import NAMES, SKILLED

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
# Few levels, of which much is known together with the coefficients, and little of each.
FEW = (CATEGORY, KIND)
# How much levels are thought to differ before anything is known: ours, no source.
LEVEL_VARIANCE, FORGETTING_VARIANCE, PAIR_VARIANCE = 0.5, 0.05, 1.0
# What seldom comes cannot be judged by the rest: weak, ours, no source.
SELDOM = (
    *("right elsewhere, in the same place", "right elsewhere, in another place"),
    *("moved", "days since it moved", "known at the old place", "known at the old place, fading"),
    *("new here", "days since they came", "by scan", "hands-on"),
    *SKILLED,
    *CARRIED,
)
SELDOM_VARIANCE, INTERCEPT_VARIANCE = 1.0, 9.0
DAYS_SINCE = NAMES.index("days since it was asked")
# Doors beside the screen. How little is known of one is told in words, *screen only*, and is no
# doubt about a chance: else nothing could be said before many had been seen there.
DOORS = [NAMES.index(name) for name in ("by scan", "hands-on")]
_RARE = np.array([COEFFICIENTS.index(name) for name in SELDOM])


@dataclass(frozen=True, slots=True)
class Offsets:
    """One offset on the log-odds scale for each level of something, drawn towards 0.

    `variance` is how much levels differ (estimated from all of them); `means` and `spreads` are
    each level's offset and the variance of what is not known of it. `common` is, of facts, the
    covariance of that with what is not known of the fact's need: answers tell of the sum.
    """

    variance: float
    means: Floats
    spreads: Floats
    common: Floats = field(default_factory=lambda: np.zeros(0))

    def of(self, levels: Ints) -> Floats:
        """The offsets of some levels; 0 of one that was not there when it was fitted."""
        return _of_levels(self.means, levels, 0.0)

    def spread_of(self, levels: Ints) -> Floats:
        """The variance of what is not known of some levels."""
        return _of_levels(self.spreads, levels, self.variance)

    def common_of(self, levels: Ints) -> Floats:
        """The covariance of what is not known of some facts and of their needs."""
        return _of_levels(self.common, levels, 0.0)


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
    all of these; `answers` how many it was fitted to; `past_variance` how much coefficients differ
    from none. `covariance` is that of what is not known of the coefficients, the categories and the
    kinds, in this order.
    """

    coefficients: Floats
    offsets: Mapping[str, Offsets]
    pair_variance: float
    answers: int
    past_variance: float
    covariance: Floats

    def usual(self, answers: Answers, past: Floats) -> Floats:
        """The log-odds of each row without what a move says, the person's own offsets and the
        fact's."""
        whole = usual_part(past, self.coefficients)
        for name, levels in ((NEED, answers.need), (CATEGORY, answers.category)):
            whole = whole + self.offsets[name].of(levels)
        return whole + self.offsets[KIND].of(answers.kind)

    def log_odds(self, answers: Answers, past: Floats) -> Floats:
        """The likeliest log-odds that each row is right, without what chance alone gives."""
        return self.carried(past, self._whole(answers, past))

    def _whole(self, answers: Answers, past: Floats) -> Floats:
        own = self.offsets[PERSON].of(answers.person)
        own = own + past[:, DAYS_SINCE] * self.offsets[FORGETTING].of(answers.person)
        fact = share_of_fact(past, self.coefficients) * self.offsets[FACT].of(answers.fact)
        return self.usual(answers, past) + own + fact

    def carried(self, past: Floats, usual: Floats) -> Floats:
        """The log-odds of each row with what a move says, from what they usually are."""
        share = share_of_usual(past, self.coefficients)
        return share * usual + moved_part(past, self.coefficients)

    def chances(self, answers: Answers, past: Floats) -> Floats:
        """The chance that each row is right, 0 to 1, with what chance alone gives: the mean over
        what is not known of the model's own figures."""
        odds = averaged(self.log_odds(answers, past), self.doubt(answers, past))
        return with_guess(odds, answers.guess)

    def doubt(self, answers: Answers, past: Floats) -> Floats:
        """The variance of what is not known of each row's log-odds.

        Minded is what coefficients, categories and kinds have in common, and a fact and its need.
        What these have in common with each other and with the person is left out, which counts a
        little more doubt than there is. Of `DOORS` nothing is doubted.
        """
        grows = self.slopes(answers, past)
        share = share_of_usual(past, self.coefficients)
        own = self.offsets[PERSON].spread_of(answers.person)
        own = own + past[:, DAYS_SINCE] ** 2 * self.offsets[FORGETTING].spread_of(answers.person)
        told = np.sum(grows @ self.covariance * grows, axis=1)
        return np.asarray(told + share**2 * (own + self.doubt_of_things(answers, past)))

    def doubt_of_seldom(self, answers: Answers, past: Floats) -> Floats:
        """The variance of what is not known of what seldom comes, such as the days after a move.

        What often comes is left out: the doubt about each person, who answered as the others did,
        has that in it.
        """
        grows = self.slopes(answers, past)[:, _RARE]
        return np.asarray(np.sum(grows @ self.covariance[np.ix_(_RARE, _RARE)] * grows, axis=1))

    def slopes(self, answers: Answers, past: Floats) -> Floats:
        """How the log-odds of each row grow with each figure of `covariance` that is doubted."""
        share = share_of_usual(past, self.coefficients)
        of_past = slopes(
            past,
            share,
            self._whole(answers, past),
            share_of_fact(past, self.coefficients),
            self.offsets[FACT].of(answers.fact),
        )
        of_past[:, DOORS] = 0.0
        return np.hstack([of_past, share[:, None] * self.marks(answers)])

    def marks(self, answers: Answers) -> Floats:
        """Of which category and of which kind each row is: a column for each that is known."""
        sizes = {name: len(self.offsets[name].means) for name in FEW}
        levels = {name: _levels_of(answers, name) for name in FEW}
        return np.hstack([levels[name][:, None] == np.arange(sizes[name]) for name in FEW]) * 1.0

    def doubt_of_things(self, answers: Answers, past: Floats) -> Floats:
        """The variance of what is not known of each row's fact and need, and of a category or kind
        that was not there."""
        fact, of_fact = self.offsets[FACT], share_of_fact(past, self.coefficients)
        common = 2.0 * of_fact * fact.common_of(answers.fact)
        own = of_fact**2 * fact.spread_of(answers.fact)
        return np.maximum(self.doubt_of_needs(answers) + common + own, 0.0)

    def doubt_of_needs(self, answers: Answers) -> Floats:
        """The same without the fact."""
        found = self.offsets[NEED].spread_of(answers.need)
        for name in FEW:
            is_new = _levels_of(answers, name) >= len(self.offsets[name].means)
            found = found + is_new * self.offsets[name].variance
        return found


def _levels_of(answers: Answers, name: str) -> Ints:
    levels: Ints = getattr(answers, name)
    return levels


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
