"""Whether the cohort flags raise false alarms, and what they find: drawn cohorts, all synthetic.

People of unlike ability are each asked for every thing once, ten a drill, in an order of their own.
The model is fitted to all of it; what it expects, and which things are told, comes of the functions
behind the educator's page. In some cohorts no thing is different; in the others ten of 150 are
found 15 points less often.
"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from statistics import fmean
from typing import Any

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import expit

from drills.engine.flagging import expected, flagged, newest_of
from drills.engine.flagging.seen import LESS_IN_100, THINGS, WEAK, Seen
from drills.engine.knowing.columns import Answers
from drills.engine.knowing.fitting import fit
from drills.engine.knowing.history import history
from tests.bench.jobs import Job

Floats = NDArray[np.float64]

POINTS = LESS_IN_100 / 100
# Of so many answers on each thing, how many cohorts have no difference, and how many have.
COHORTS = {30: (500, 100), 60: (500, 100), 150: (500, 100), 300: (500, 100)}
AT_ONCE = 10
FOUND, ABILITY = 0.80, 0.8
NODES, WEIGHTS = hermegauss(41)
# Where and when they are asked: as many places and categories, and days from drill to drill.
A_PLACE, CATEGORIES, A_DRILL, DAYS = 5, 6, 10, 9.0
BETWEEN = 20.0 / 86_400.0
HELD_AT, MOST_ANY, LEAST_FOUND, MOST_FALSE = 150, 0.13, 0.80, 0.10
# Seeds of cohorts with a difference begin here.
_WITH = 10_000


@dataclass(frozen=True, slots=True)
class Told:
    """Of one cohort: whether anything was told, and where there are weak things the share of them
    that was, and the share of those told that were none."""

    answers: int
    any_flag: bool
    found: float | None
    false: float | None


def cohort(seed: int, people: int, weak: int) -> tuple[Answers, set[int]]:
    """The answers of a cohort in order of time, and which things are found `POINTS` less often by
    the mean of everybody."""
    random = np.random.default_rng(seed)
    ability = random.normal(scale=ABILITY, size=people)
    weaker = random.permutation(THINGS)[:weak]
    difficulty = np.full(THINGS, _logit_for(FOUND))
    difficulty[weaker] = _logit_for(FOUND - POINTS)
    thing = np.argsort(random.random((people, THINGS)), axis=1).ravel()
    turn, person = np.tile(np.arange(THINGS), people), np.repeat(np.arange(people), THINGS)
    begun = np.repeat(random.uniform(0.0, DAYS, people), THINGS)
    time = begun + (turn // A_DRILL) * DAYS + (turn % A_DRILL) * BETWEEN
    right = random.random(len(time)) < expit(ability[person] + difficulty[thing])
    order = np.argsort(time, kind="stable")
    return _answers(time[order], person[order], thing[order], right[order]), set(weaker.tolist())


def _logit_for(share: float) -> float:
    weights = WEIGHTS / WEIGHTS.sum()
    return float(brentq(lambda at: weights @ expit(at + ABILITY * NODES) - share, -5, 5))


def _answers(
    time: Floats, person: NDArray[np.int64], thing: NDArray[np.int64], right: NDArray[np.bool_]
) -> Answers:
    """On one screen, without choices to guess from; nothing moved, and nobody came lately."""
    none, every = np.zeros(len(time), dtype=np.int64), np.ones(len(time), dtype=bool)
    never = np.full(len(time), np.nan)
    return Answers(
        time=time,
        person=person,
        fact=thing,
        need=thing,
        place=thing // A_PLACE,
        spot=thing // A_PLACE,
        slot=thing,
        category=thing % CATEGORIES,
        kind=none,
        modality=none,
        right=right.astype(float),
        seconds=never,
        ran_out=~every,
        guess=np.zeros(len(time)),
        moved=never,
        came=never,
        skill=~every,
        counts=every,
        scored=every,
    )


def told_of(answers: int, weak: int, seeds: Sequence[int]) -> list[Told]:
    """What is told of cohorts of as many people as there are answers on each thing."""
    return [_told_of(answers, weak, seed) for seed in seeds]


def _told_of(answers: int, weak: int, seed: int) -> Told:
    columns, weaker = cohort(seed, answers, weak)
    past = history(columns)
    chances = expected(fit(columns, past), columns, past).tolist()
    rows = zip(
        columns.fact.tolist(), columns.person.tolist(), chances, columns.right.tolist(), strict=True
    )
    asked = newest_of((fact, who, chance, right >= 1.0) for fact, who, chance, right in rows)
    told = {each.thing for each in flagged(asked)}
    if not weak:
        return Told(answers, bool(told), None, None)
    found = len(told & weaker) / len(weaker)
    return Told(answers, bool(told), found, len(told - weaker) / max(len(told), 1))


def jobs(seeds: Sequence[int]) -> list[Job]:
    """All cohorts, some at once; of less than all five seeds a tenth of them."""
    part = 1 if len(seeds) > 1 else 10
    found: list[Job] = []
    for answers, (without, with_weak) in COHORTS.items():
        for begin, many, weak in ((0, without, 0), (_WITH, with_weak, WEAK)):
            numbers = range(begin, begin + many // part)
            found += [
                Job(
                    f"{answers} answers, cohorts {some[0]} to {some[-1]}",
                    partial(told_of, answers, weak, some),
                )
                for some in (numbers[at : at + AT_ONCE] for at in range(0, len(numbers), AT_ONCE))
            ]
    return found


def summed(ran: Sequence[list[Told]]) -> dict[str, Any]:
    """A row for each number of answers, and the bounds that were missed."""
    every = [each for some in ran for each in some]
    rows = [asdict(_row(number, every)) for number in COHORTS]
    return {"rows": rows, "missed": list(_missed(rows))}


def _row(answers: int, every: Sequence[Told]) -> Seen:
    here = [each for each in every if each.answers == answers]
    alarms = [each.any_flag for each in here if each.found is None]
    found = [each.found for each in here if each.found is not None]
    false = [each.false for each in here if each.false is not None]
    return Seen(
        answers,
        len(alarms),
        fmean(alarms),
        len(found),
        fmean(found),
        min(found),
        max(found),
        fmean(false),
    )


def _missed(rows: Sequence[dict[str, Any]]) -> Iterator[str]:
    for row in rows:
        if row["any_flag"] > MOST_ANY:
            yield f"flags, {row['answers']} answers: any {row['any_flag']:.3f}, held to {MOST_ANY}"
        if row["false"] > MOST_FALSE:
            yield f"flags, {row['answers']} answers: false {row['false']:.3f}, held to {MOST_FALSE}"
        if row["answers"] == HELD_AT and row["found"] < LEAST_FOUND:
            yield f"flags, {HELD_AT} answers: found {row['found']:.3f}, held to {LEAST_FOUND}"


def lines(told: dict[str, Any]) -> Iterator[str]:
    """The table, in words."""
    for row in told["rows"]:
        yield (
            f"{row['answers']:4} answers on each thing: anything told in {row['any_flag']:.3f} of "
            f"{row['without']} cohorts without a difference; told {row['found']:.3f} of the weak "
            f"({row['least']:.2f} to {row['most']:.2f}) in {row['cohorts']}, of those told "
            f"{row['false']:.3f} false"
        )
