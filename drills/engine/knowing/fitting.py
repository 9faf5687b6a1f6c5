"""The fit: coefficients and offsets of highest posterior density, with the offsets' variances
estimated from the answers themselves (empirical Bayes).

Newton's method on the log-odds; people, of whom there are most, are eliminated block by block, so
that what is solved is as large as what they share. The variance of each kind of offset is the sum
of the squares, divided by how many of them the answers tell of (MacKay, Neural Computation 1992; 4:
415-447, from memory).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit

from drills.engine.knowing.agreeing import variance_of_agreement
from drills.engine.knowing.carrying import COEFFICIENTS
from drills.engine.knowing.columns import Answers, Floats, Ints
from drills.engine.knowing.curvature import Levels, Problem, Step, newton_step
from drills.engine.knowing.history import NAMES, pair_of
from drills.engine.knowing.model import (
    DAYS_SINCE,
    FACT,
    FEW,
    NEED,
    OWN,
    PAIR_VARIANCE,
    SELDOM,
    SHARED,
    Model,
    Offsets,
    blank,
    past_priors,
    with_guess,
)

# The coefficients whose variance is estimated from all of them together.
PAST = "past"
OFTEN = np.array([at for at, name in enumerate(COEFFICIENTS) if at and name not in SELDOM])
LEAST_VARIANCE, MOST_VARIANCE, LEAST_TOLD = 0.005, 9.0, 1e-3
# No variance starts from less: it would take long to grow again.
LEAST_START = 0.03
# The variances have settled when none changes by more than this share of itself and a little.
MOST_ROUNDS, ENOUGH, SMALL_VARIANCE = 25, 0.05, 0.02
# What tells nothing of earlier answers.
TOLD_OF_NO_PAST = ("always", "by scan", "hands-on")
# So many pairs of even chances are needed before they say how much answers agree.
LEAST_WEIGHT = 30 / 16
# The shares of a step that are tried, until the figures are no less likely than before.
SHARES, TINY = tuple(0.5**each for each in range(12)), 1e-9
# Chances nearer to 0 or 1 than this would make a single answer count without bound.
EDGE = 1e-6


@dataclass(slots=True)
class _State:
    shared: Floats
    own: Floats
    variances: dict[str, float]


def fit(answers: Answers, past: Floats, start: Model | None = None) -> Model:
    """Fit the model to the rows that are scored; `past` is their `history`.

    `start` is an earlier fit of the same numbering, from which fewer rounds lead to the same end.
    Without a scored row nothing is known.
    """
    if not answers.scored.any():
        return blank()
    problem = _problem(answers, past)
    state = _start(problem, start or blank())
    for _ in range(MOST_ROUNDS):
        if _estimate_variances(problem, state, _move(problem, state)) < ENOUGH:
            break
    return _told(problem, state, _move(problem, state))


def _problem(answers: Answers, past: Floats) -> Problem:
    rows = np.flatnonzero(answers.scored)
    kept, columns = answers.take(rows), past[rows]
    levels, at = [], len(COEFFICIENTS)
    for name in SHARED:
        index: Ints = getattr(kept, name)
        size = int(index.max()) + 1
        levels.append(Levels(name, index, np.ones(len(rows)), slice(at, at + size)))
        at += size
    own = np.stack([np.ones(len(rows)), columns[:, DAYS_SINCE]], axis=1)
    people = int(kept.person.max()) + 1
    return Problem(kept.right, kept.guess, columns, kept.person, own, people, tuple(levels))


def _start(problem: Problem, start: Model) -> _State:
    shared = [start.coefficients]
    shared += [start.offsets[each.name].of(np.arange(each.size)) for each in problem.levels]
    people = np.arange(problem.people)
    own = np.stack([start.offsets[name].of(people) for name in OWN], axis=1)
    variances = {name: max(each.variance, LEAST_START) for name, each in start.offsets.items()}
    variances[PAST] = max(start.past_variance, LEAST_START)
    return _State(np.concatenate(shared), own, variances)


def _move(problem: Problem, state: _State) -> Step:
    """Move the figures by one step of Newton's method, shortened until they are no less likely."""
    known = np.clip(expit(problem.log_odds(state.shared, state.own)), EDGE, 1.0 - EDGE)
    chance = problem.guess + (1.0 - problem.guess) * known
    slope = (1.0 - problem.guess) * known * (1.0 - known)
    weight = slope**2 / (chance * (1.0 - chance))
    pull = slope * (problem.right - chance) / (chance * (1.0 - chance))
    priors, own_priors = _priors(problem, state.variances)
    straight, counts = problem.straight(state.shared, state.own)
    weight, pull = weight * counts**2, pull * counts
    curved, blocks = straight.curved(weight), straight.curved_own(weight)
    curved[np.diag_indices_from(curved)] += 1.0 / priors
    blocks[:, range(len(OWN)), range(len(OWN))] += 1.0 / own_priors
    step = newton_step(
        curved,
        blocks,
        straight.between(weight),
        straight.times_columns(pull) - state.shared / priors,
        straight.times_own(pull) - state.own / own_priors,
    )
    before = _loss(problem, state.shared, state.own, state.variances)
    for share in SHARES:
        shared, own = state.shared + share * step.shared, state.own + share * step.own
        if _loss(problem, shared, own, state.variances) <= before + TINY:
            state.shared, state.own = shared, own
            break
    return step


def _loss(problem: Problem, shared: Floats, own: Floats, variances: Mapping[str, float]) -> float:
    """Less the logarithm of the posterior density, up to what does not depend on the figures."""
    known = np.clip(expit(problem.log_odds(shared, own)), EDGE, 1.0 - EDGE)
    chance = problem.guess + (1.0 - problem.guess) * known
    told = problem.right * np.log(chance) + (1.0 - problem.right) * np.log1p(-chance)
    priors, own_priors = _priors(problem, variances)
    return float(np.sum(shared**2 / priors) + np.sum(own**2 / own_priors)) / 2 - float(told.sum())


def _priors(problem: Problem, variances: Mapping[str, float]) -> tuple[Floats, Floats]:
    """The variances that shared figures and a person's own have before any answer."""
    found = np.empty(problem.shared_size)
    found[: problem.width] = past_priors(variances[PAST])
    for each in problem.levels:
        found[each.span] = variances[each.name]
    return found, np.array([variances[name] for name in OWN])


def _estimate_variances(problem: Problem, state: _State, step: Step) -> float:
    """Estimate the variances anew; how much they changed, at most, as a share."""
    parts = [(name, state.own[:, at], step.own_spread[:, at]) for at, name in enumerate(OWN)]
    spans: list[tuple[str, slice | Ints]] = [(PAST, OFTEN)]
    spans += [(each.name, each.span) for each in problem.levels]
    parts += [(name, state.shared[span], step.shared_spread[span]) for name, span in spans]
    most = 0.0
    for name, means, spreads in parts:
        before = state.variances[name]
        told = max(float(np.sum(1.0 - spreads / before)), LEAST_TOLD)
        new = min(max(float(means @ means) / told, LEAST_VARIANCE), MOST_VARIANCE)
        most = max(most, abs(new - before) / (before + SMALL_VARIANCE))
        state.variances[name] = new
    return most


def _told(problem: Problem, state: _State, step: Step) -> Model:
    offsets = {
        name: Offsets(state.variances[name], state.own[:, at].copy(), step.own_spread[:, at].copy())
        for at, name in enumerate(OWN)
    } | {
        each.name: Offsets(
            state.variances[each.name],
            state.shared[each.span].copy(),
            step.shared_spread[each.span].copy(),
        )
        for each in problem.levels
    }
    spans = {each.name: each.span for each in problem.levels}
    offsets[FACT] = replace(offsets[FACT], common=_common(problem, step.covariance))
    few = np.r_[slice(problem.width), *(spans[name] for name in FEW)]
    return Model(
        state.shared[: problem.width].copy(),
        offsets,
        PAIR_VARIANCE,
        len(problem.right),
        state.variances[PAST],
        step.covariance[np.ix_(few, few)],
    )


def _common(problem: Problem, covariance: Floats) -> Floats:
    """The covariance of what is not known of each fact and of its need, by its latest row."""
    levels = {each.name: each for each in problem.levels}
    fact, need = levels[FACT], levels[NEED]
    found = np.zeros(fact.size)
    found[fact.index] = covariance[fact.span, need.span][fact.index, need.index]
    return found


def with_pairs(model: Model, answers: Answers, past: Floats) -> Model:
    """The model with how much answers of one person on one thing agree beyond those two.

    A second fit is told nothing of what came before on the thing itself. What it leaves of each
    first answer, times that of the next on the same thing, comes in the sum to what a variance on
    the log-odds scale makes of it: a moment estimate, our own, no source.
    """
    blind = np.where(np.isin(NAMES, TOLD_OF_NO_PAST), past, 0.0)
    told = fit(answers, blind, model)
    kept = np.flatnonzero(answers.scored)
    odds, guess = told.log_odds(answers, blind)[kept], answers.guess[kept]
    pairs = pair_of(answers.person, answers.fact)[kept]
    order = np.argsort(pairs, kind="stable")
    is_same = pairs[order][1:] == pairs[order][:-1]
    first, second = order[:-1][is_same], order[1:][is_same]
    chance = with_guess(odds, guess)
    left, weight = answers.right[kept] - chance, chance * (1.0 - chance)
    if float(weight[first] @ weight[second]) <= LEAST_WEIGHT:
        return replace(model, pair_variance=PAIR_VARIANCE)
    found = variance_of_agreement(
        (odds[first], odds[second]),
        (1.0 - guess[first]) * (1.0 - guess[second]),
        float(left[first] @ left[second]),
        LEAST_VARIANCE,
        MOST_VARIANCE,
    )
    return replace(model, pair_variance=found)
