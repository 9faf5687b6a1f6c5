"""How sure the model is of what it thinks of each fact."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from drills.engine.knowing.averaging import averaged, centred
from drills.engine.knowing.carrying import share_of_usual
from drills.engine.knowing.columns import HANDS_ON, Answers, Floats, Ints
from drills.engine.knowing.history import WINDOWS, Past, pair_of
from drills.engine.knowing.model import DAYS_SINCE, FORGETTING, PERSON, Model

# Answers of so many days say whether this person knows this thing; older ones are in the chance
# alone. Each weighs as one of even chances at most, and not less than this: ours, no source.
TELLING_DAYS, LEAST_WEIGHT = WINDOWS[1], 0.1


@dataclass(frozen=True, slots=True)
class Doubt:
    """For some rows, one figure for each: the middle of the log-odds, the variance of it alone, the
    deviation that it shares with the others (all move together by as many), and how many first
    answers there are, and of them at the rig."""

    centre: Floats
    own: Floats
    shared: Floats
    firsts: NDArray[np.int64]
    hands_on: NDArray[np.int64]


def doubt_of(model: Model, answers: Answers, past: Floats, rows: Ints) -> Doubt:
    """What is not known of some rows, which are one person's: of the person, and of each thing.

    Beside these, what is not known of what seldom comes, such as the days after a move; of several
    things together that makes a little less doubt than there is. The middle is so much farther from
    even that the mean over the doubt is the model's chance.
    """
    of, seen_before = answers.take(rows), past[rows]
    odds = averaged(model.log_odds(of, seen_before), model.doubt(of, seen_before))
    seen = Past.of(pair_of(answers.person, answers.fact), answers.time)
    first = answers.scored.astype(float)
    told = seen.summed(first, TELLING_DAYS)[rows]
    chance = expit(odds)
    weighed = told * np.maximum(chance * (1.0 - chance), LEAST_WEIGHT)
    pair = model.pair_variance / (1.0 + model.pair_variance * weighed)
    share = share_of_usual(seen_before, model.coefficients)
    shared = share**2 * model.offsets[PERSON].spread_of(of.person)
    days = seen_before[:, DAYS_SINCE]
    usual = days**2 * model.offsets[FORGETTING].spread_of(of.person)
    usual = usual + model.doubt_of_things(of, seen_before)
    own = pair + share**2 * usual + model.doubt_of_seldom(of, seen_before)
    by_hand = seen.summed(first * (answers.modality == HANDS_ON))[rows]
    return Doubt(
        centred(odds, own + shared),
        own,
        np.sqrt(shared),
        seen.summed(first)[rows].astype(np.int64),
        by_hand.astype(np.int64),
    )


# Fluent is what was right these last times, no slower than usual, over so many days: ours, no
# source.
LAST_TIMES, SPREAD_DAYS = 3, 14.0


def fluent_facts(answers: Answers, unusual: Floats) -> set[int]:
    """The facts of one person that are known without a search: the last three times right, at the
    person's and the thing's usual pace or quicker, and spread over a fortnight at least."""
    rows: dict[int, list[int]] = {}
    for at in np.flatnonzero(answers.counts).tolist():
        rows.setdefault(int(answers.fact[at]), []).append(at)
    return {fact for fact, seen in rows.items() if _is_fluent(answers, unusual, seen[-LAST_TIMES:])}


def _is_fluent(answers: Answers, unusual: Floats, rows: list[int]) -> bool:
    is_quick = (answers.right[rows] >= 1.0) & (answers.seconds[rows] > 0) & (unusual[rows] <= 0.0)
    spread = float(answers.time[rows[-1]] - answers.time[rows[0]])
    return len(rows) == LAST_TIMES and bool(is_quick.all()) and spread >= SPREAD_DAYS
