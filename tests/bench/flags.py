"""Whether the cohort flags raise false alarms, and what they find: drawn cohorts, all synthetic.

    python -m tests.bench.flags            # the table of the guide, about three minutes
    python -m tests.bench.flags 40         # the same from so many cohorts for each figure

People of unlike ability are each asked every thing once. What is expected of an answer is fitted on
the same answers, person by person and without the thing itself, as the model does. In some cohorts
no thing is different; in the others ten of 150 are found 15 points less often.
"""

import sys
import time

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize
from scipy.special import expit, gammaln
from scipy.stats import false_discovery_control

from drills.engine.flagging import FALSE_SHARE
from drills.engine.flagging.seen import LESS_IN_100, THINGS, WEAK, Seen
from drills.engine.flagging.tail import tails
from drills.engine.readying.counting import Array

POINTS = LESS_IN_100 / 100
ANSWERS = (30, 60, 150, 300)
NO_DIFFERENCE, WITH_WEAK = 500, 100
FOUND, ABILITY = 0.80, 0.8
NODES, WEIGHTS = hermegauss(41)
Bools = NDArray[np.bool_]


def cohort(seed: int, people: int, weak: int) -> tuple[Array, Bools]:
    """Answers, (people, things), 1 for right; and which things are weak. The weak ones are found
    `POINTS` less often by the mean of everybody."""
    random = np.random.default_rng(seed)
    ability = random.normal(scale=ABILITY, size=(people, 1))
    difficulty = np.full(THINGS, _logit_for(FOUND))
    difficulty[:weak] = _logit_for(FOUND - POINTS)
    right = random.random((people, THINGS)) < expit(ability + difficulty)
    return right.astype(float), np.arange(THINGS) < weak


def _logit_for(share: float) -> float:
    weights = WEIGHTS / WEIGHTS.sum()
    return float(brentq(lambda at: weights @ expit(at + ABILITY * NODES) - share, -5, 5))


def expected(right: Array) -> Array:
    """The chance of each person, fitted on all answers together, (people, 1).

    Mean and spread of ability by marginal maximum likelihood, then each person's mean given their
    answers.
    """
    good, asked = right.sum(axis=1), right.shape[1]
    constant = gammaln(asked + 1) - gammaln(good + 1) - gammaln(asked - good + 1)

    def each(figures: Array) -> tuple[Array, Array]:
        chance = expit(figures[0] + np.exp(figures[1]) * NODES)
        log = good[:, None] * np.log(chance) + (asked - good[:, None]) * np.log1p(-chance)
        return np.exp(log + constant[:, None]) * (WEIGHTS / WEIGHTS.sum()), chance

    found = minimize(
        lambda figures: -float(np.log(each(figures)[0].sum(axis=1)).sum()),
        np.array([1.0, -0.5]),
        method="Nelder-Mead",
    )
    there, chance = each(found.x)
    return np.asarray((there @ chance / there.sum(axis=1))[:, None])


def flags(right: Array) -> Bools:
    """Which things are flagged."""
    chances = np.broadcast_to(expected(right), right.shape).T
    surprise = tails(chances, right.sum(axis=0).astype(int))
    return np.asarray(false_discovery_control(surprise) <= FALSE_SHARE)


def measured(answers: int, cohorts: int, no_difference: int) -> Seen:
    """So many cohorts of as many people as there are answers on each thing."""
    alarms = [flags(cohort(seed, answers, 0)[0]).any() for seed in range(no_difference)]
    found, false = [], []
    for seed in range(cohorts):
        right, weak = cohort(10_000 + seed, answers, WEAK)
        told = flags(right)
        found.append(told[weak].mean())
        false.append(told[~weak].sum() / max(told.sum(), 1))
    return Seen(answers, float(np.mean(alarms)), float(np.mean(found)), float(np.mean(false)))


def main() -> None:
    cohorts = int(sys.argv[1]) if len(sys.argv) > 1 else WITH_WEAK
    no_difference = cohorts if len(sys.argv) > 1 else NO_DIFFERENCE
    began = time.perf_counter()
    sys.stdout.write("answers,any_flag,found,false\n")
    for answers in ANSWERS:
        seen = measured(answers, cohorts, no_difference)
        told = f"{seen.any_flag:.3f},{seen.found:.3f},{seen.false:.3f}"
        sys.stdout.write(f"{answers},{told}\n")
    sys.stderr.write(
        f"{no_difference} cohorts without a difference, {cohorts} with {WEAK} of {THINGS} things "
        f"found {100 * POINTS:.0f} points less often; {time.perf_counter() - began:.0f} s.\n"
    )


if __name__ == "__main__":
    main()
