"""What the model is measured beside: plainer ways to say how likely an answer is right.

Each takes a log and the first day of the period in which it is measured, and gives a chance for
every row from earlier rows alone; what is fitted is fitted to the days before that period.
"""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import numpy as np
from fsrs import Card, Rating, Scheduler
from fsrs.scheduler import LOWER_BOUNDS_PARAMETERS, UPPER_BOUNDS_PARAMETERS
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, log_expit

from drills.engine.simulated import Log
from drills.engine.simulated.curve import (
    MISSED,
    PUBLISHED,
    USUAL,
    States,
    first_states,
    next_states,
    recall,
)

Array = NDArray[np.float64]
Ints = NDArray[np.int_]
Forecast = Callable[[Log, float], Array]

# So many answers' worth of the common share stand behind that of a thing: ours.
PSEUDO_ANSWERS = 8.0
WINDOWS = (30.0, 120.0, np.inf)
RIDGE = 1e-3
# The curve is fitted to so many people, to the first reviews of each memory, in so many steps.
FITTED_PEOPLE, FITTED_REVIEWS, FITTED_STEPS = 40, 64, 12
# What a right or a wrong answer, which is all that is graded here, never touches.
UNTOUCHED = (1, 3, 15, 16)
NEAREST = 1e-4
_DAY_ONE = datetime(2025, 1, 1, tzinfo=UTC)


def global_mean(log: Log, first_day: float) -> Array:
    """One chance for everything: the share that was right before the period."""
    return np.full(len(log), log.is_right[log.time < first_day].mean())


def item_mean(log: Log, first_day: float) -> Array:
    """The share of right answers on the same thing at the same place so far, drawn towards that of
    all."""
    key = numbered(log.layout, log.item, log.place)
    right = log.is_right.astype(float)
    tries, hits = before(key, np.ones(len(log))), before(key, right)
    common = _running_share(right, np.ones(len(log), dtype=bool))
    return (hits + PSEUDO_ANSWERS * common) / (tries + PSEUDO_ANSWERS)


def curve_default(log: Log, first_day: float) -> Array:
    """The published curve as its package has it, with the published parameters."""
    found = _first_share(log)
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    cards: dict[int, Card] = {}
    graded = np.where(log.is_right, USUAL, MISSED)
    for at, key in enumerate(memories(log).tolist()):
        now = _DAY_ONE + timedelta(days=float(log.time[at]))
        card = cards.get(key)
        if card is None:
            card = Card(card_id=key)
        else:
            found[at] = scheduler.get_card_retrievability(card, now)
        cards[key], _ = scheduler.review_card(card, Rating(graded[at]), now)
    return found


def curve_fitted(log: Log, first_day: float) -> Array:
    """The published curve with its parameters fitted to the days before the period."""
    before_it = log.rows(log.time < first_day)
    people = np.unique(before_it.person)[:FITTED_PEOPLE]
    fitted = _fit_curve(before_it.rows(np.isin(before_it.person, people)))
    known, found = _curve_chances(log, fitted, np.inf), _first_share(log)
    return np.where(np.isnan(known), found, known)


def windows(log: Log, first_day: float) -> Array:
    """A logistic regression on how often a person tried and found the thing in 30 days, 120 days
    and ever, and on the days since."""
    columns, right = _window_columns(log), log.is_right.astype(float)
    early = log.time < first_day

    def loss(line: Array) -> tuple[float, Array]:
        at = columns[early] @ line
        miss = expit(at) - right[early]
        value = -(right[early] * log_expit(at) + (1 - right[early]) * log_expit(-at)).sum()
        return value + RIDGE * line @ line, columns[early].T @ miss + 2 * RIDGE * line

    fitted = minimize(loss, np.zeros(columns.shape[1]), jac=True, method="L-BFGS-B").x
    chances: Array = expit(columns @ fitted)
    return chances


BASELINES: dict[str, Forecast] = {
    "global mean": global_mean,
    "item mean": item_mean,
    "FSRS default": curve_default,
    "FSRS fitted": curve_fitted,
    "windows only": windows,
}


def numbered(*columns: Ints) -> Ints:
    """A number for each different row of some columns."""
    _, found = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)
    return found.reshape(-1)


def memories(log: Log) -> Ints:
    """A number for each person and thing at a place."""
    return numbered(log.person, log.layout, log.item, log.place)


def before(key: Ints, values: Array) -> Array:
    """For each row the sum of the values of earlier rows with the same key."""
    order = np.argsort(key, kind="stable")
    total = np.cumsum(values[order])
    begins = np.flatnonzero(np.diff(key[order], prepend=key[order][0] - 1))
    ends = np.append(begins[1:], len(key))
    ahead = np.repeat(total[begins] - values[order][begins], ends - begins)
    found = np.empty(len(key))
    found[order] = total - values[order] - ahead
    return found


def _running_share(right: Array, among: NDArray[np.bool_]) -> Array:
    """For each row the share that was right among some earlier ones, half before there are any."""
    asked = among.astype(float)
    tries, hits = np.cumsum(asked) - asked, np.cumsum(right * asked) - right * asked
    result: Array = (hits + 1.0) / (tries + 2.0)
    return result


def _first_share(log: Log) -> Array:
    """For each row the share of first answers of a memory that were right so far."""
    is_first = before(memories(log), np.ones(len(log))) == 0
    return _running_share(log.is_right.astype(float), is_first)


def _rounds(log: Log) -> Iterator[tuple[Ints, Ints]]:
    """The first rows of all memories, then the second ones, and so on, with their memories."""
    key = memories(log)
    turn = before(key, np.ones(len(log))).astype(int)
    order = np.argsort(turn, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(turn[order])) + 1):
        yield rows, key[rows]


def _curve_chances(log: Log, w: Array, most: float) -> Array:
    """The chance of recall of each row but the first of each memory, which is not a number; of the
    first `most` rows of each."""
    return _walk(log, list(_rounds(log)), w, most)


def _walk(log: Log, rounds: list[tuple[Ints, Ints]], w: Array, most: float) -> Array:
    many = 1 + max(int(key.max()) for _, key in rounds)
    stability, difficulty, last = np.zeros(many), np.zeros(many), np.zeros(many)
    found, grades = np.full(len(log), np.nan), np.where(log.is_right, USUAL, MISSED)
    for turn, (rows, key) in enumerate(rounds):
        if turn >= most:
            break
        if turn:
            since = log.time[rows] - last[key]
            found[rows] = recall(since, stability[key], w)
            states = next_states(States(stability[key], difficulty[key]), grades[rows], since, w)
        else:
            states = first_states(grades[rows], w)
        stability[key], difficulty[key], last[key] = (
            states.stability,
            states.difficulty,
            log.time[rows],
        )
    return found


def _fit_curve(log: Log) -> Array:
    """The parameters under which the answers are likeliest, of those that grades touch."""
    rounds, right = list(_rounds(log)), log.is_right.astype(float)
    free = np.setdiff1d(np.arange(len(PUBLISHED)), UNTOUCHED)

    def loss(moved: Array) -> float:
        w = PUBLISHED.copy()
        w[free] = moved
        chance = _walk(log, rounds, w, FITTED_REVIEWS)
        told = ~np.isnan(chance)
        thought = np.clip(chance[told], NEAREST, 1 - NEAREST)
        return float(-np.log(np.where(right[told] > 0, thought, 1 - thought)).mean())

    found = minimize(
        loss,
        PUBLISHED[free],
        method="L-BFGS-B",
        bounds=[(LOWER_BOUNDS_PARAMETERS[at], UPPER_BOUNDS_PARAMETERS[at]) for at in free],
        options={"maxiter": FITTED_STEPS},
    )
    fitted = PUBLISHED.copy()
    fitted[free] = found.x
    return fitted


def _window_columns(log: Log) -> Array:
    """Of each row the logarithms of tries and hits in each window, of the days since, whether it
    was never asked, and a one."""
    key, right = memories(log), log.is_right.astype(float)
    order = np.argsort(key, kind="stable")
    # Memories one after another on one line of time, too far apart for any window to reach over.
    apart = 2.0 * (log.time[-1] + 1.0)
    line = key[order] * apart + log.time[order]
    hits = np.concatenate([[0.0], np.cumsum(right[order])])
    begin = np.searchsorted(key[order], key[order])
    end = np.arange(len(log))
    columns = []
    for window in WINDOWS:
        since = np.maximum(np.searchsorted(line, line - min(window, apart / 2)), begin)
        columns += [np.log1p(end - since), np.log1p(hits[end] - hits[since])]
    is_new = begin == end
    ago = np.where(is_new, 0.0, line - line[np.maximum(end - 1, 0)])
    columns += [np.log1p(ago), is_new.astype(float), np.ones(len(log))]
    found = np.empty((len(log), len(columns)))
    found[order] = np.stack(columns, axis=1)
    return found
