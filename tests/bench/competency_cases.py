"""The simulated services that the model is measured on, and what is measured of each."""

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drills.engine.measures import Measures, log_loss, measure, share_of_gain
from drills.engine.simulated import Move, Scenario, Simulated, scenario_of, simulate_crews
from tests.bench.forecasts import BASELINES, Forecast, before, numbered

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ORACLE, READINESS, ITEM_MEAN, GLOBAL_MEAN = "oracle", "readiness", "item mean", "global mean"
# How long after a move its answers are looked at by themselves, with the last day of probes.
WEEKS_AFTER = 22.0
# New hires are looked at once they have so many answers, and before they have so many.
SOME_ANSWERS, MANY_ANSWERS = 12, 48


@dataclass(frozen=True, slots=True)
class Case:
    """A service to measure on: its name in the tables, what it is like, the least share of the
    gain that the model is held to, where there is one, and how many seeds it is run with."""

    name: str
    scenario: Scenario
    least_share: float | None = None
    seeds: int = 5


_MOVES = (Move(day=120, bags=2, loose=4), Move(day=250, bags=3, loose=6))
CASES = (
    Case("A, 300 people x 150 things", scenario_of("steady", law="A"), 0.80),
    Case("F, 300 people x 150 things", scenario_of("steady", law="F"), 0.68),
    Case("A, 60 people x 250 things", scenario_of("steady", law="A", people=60, items=250), 0.70),
    Case("A, 30 people x 150 things", scenario_of("steady", law="A", people=30), 0.70),
    Case("A, bags that move", scenario_of("moved", law="A")),
    Case("F, bags that move", scenario_of("moved", law="F")),
    Case("F, 300 people x 40 things", scenario_of("dense", law="F"), 0.80),
    Case("A, two layouts", scenario_of("two-layouts", law="A", people=150), seeds=1),
    Case("A, one in ten taps at random", scenario_of("lazy", law="A", people=150), seeds=1),
    Case("A, one in ten shares a sign-in", scenario_of("shared", law="A", people=150), seeds=1),
    Case("A, timed out after 15 s", scenario_of("time-outs", law="A", people=150), seeds=1),
    Case("A, a quiet season", scenario_of("quiet", law="A", people=150), seeds=1),
    Case("A, 10 people", scenario_of("small", law="A")),
)


@dataclass(frozen=True, slots=True)
class Thought:
    """What came of some answers, and the chances thought of them beforehand."""

    right: Array
    chance: Array

    @classmethod
    def joined(cls, parts: list["Thought"]) -> "Thought":
        """Those of several runs together."""
        return cls(
            np.concatenate([each.right for each in parts]),
            np.concatenate([each.chance for each in parts]),
        )


@dataclass(frozen=True, slots=True)
class Ran:
    """One case with one seed: of each forecast its figures in the period, its share of the gain
    and the seconds it took; `thought` are the answers of the period, and of parts of it, by part
    and forecast."""

    figures: Mapping[str, Measures]
    shares: Mapping[str, float]
    seconds: Mapping[str, float]
    thought: Mapping[str, Mapping[str, Thought]]


def run(case: Case, seed: int, forecasts: Mapping[str, Forecast], *, people: int | None) -> Ran:
    """Live through a case and forecast every answer of its last third; `people` are fewer than
    the case has, where the figures are only to be seen to come."""
    scenario = case.scenario
    if people is not None:
        scenario = replace(scenario, people=min(people, scenario.people))
    found = simulate_crews(scenario, seed=seed)
    first_day, chances, seconds = float(scenario.train_days), {ORACLE: found.chance}, {}
    for name, forecast in {**BASELINES, **forecasts}.items():
        begun = time.perf_counter()
        chances[name] = forecast(found.log, first_day)
        seconds[name] = time.perf_counter() - begun
    parts = {name: rows for name, rows in _parts(found, first_day) if rows.any()}
    period, right = parts["period"], found.log.is_right.astype(float)
    figures = {name: measure(right[period], each[period]) for name, each in chances.items()}
    worst, best = figures[GLOBAL_MEAN].log_loss, figures[ORACLE].log_loss
    kept = {name for name in chances if name in (ORACLE, ITEM_MEAN, *forecasts)}
    return Ran(
        figures,
        {name: share_of_gain(e.log_loss, worst=worst, best=best) for name, e in figures.items()},
        seconds,
        {
            part: {name: Thought(right[rows], chances[name][rows]) for name in kept}
            for part, rows in parts.items()
        },
    )


def _parts(found: Simulated, first_day: float) -> Iterator[tuple[str, Flags]]:
    """The rows that are measured: the whole period, and parts that are looked at by themselves.

    Of several answers of a person on one thing in a day the first is, as in public benchmarks: the
    others follow from it.
    """
    log = found.log
    day = np.floor(log.time).astype(int)
    again = before(numbered(log.person, log.layout, log.item, log.place, day), np.ones(len(log)))
    period = (log.time >= first_day) & (again == 0)
    yield "period", period
    # Who had no answer in the first two thirds came after them.
    is_late = ~np.isin(log.person, log.person[log.time < first_day])
    answers = before(log.person, np.ones(len(log)))
    some = (answers >= SOME_ANSWERS) & (answers < MANY_ANSWERS)
    yield "new hires", period & is_late & some
    for number, (since, things) in enumerate(found.moved, start=1):
        knew = _knew_before(found, float(since))
        after = (log.time >= since) & (log.time < since + WEEKS_AFTER) & (again == 0)
        yield f"move {number}", after & knew & np.isin(log.item, things)
        yield f"not moved {number}", after & ~np.isin(log.item, things)


def _knew_before(found: Simulated, day: float) -> Flags:
    """The rows of who had been right on the same thing before a day."""
    log = found.log
    pair = numbered(log.person, log.item)
    return np.isin(pair, pair[log.is_right & (log.time < day)])


def loss_against(ran: Ran, part: str, name: str, other: str) -> float:
    """The log loss of one forecast beside that of another, in a part of the period."""
    one, beside = (ran.thought[part][each] for each in (name, other))
    return log_loss(one.right, one.chance) / log_loss(beside.right, beside.chance)
