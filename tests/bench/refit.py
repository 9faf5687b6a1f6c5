"""What a fit of the model costs, and how it grows: `python -m tests.bench.refit`.

Answers are those of simulated services: 300 people with 100,000 answers, 1,000 with 320,000. Each
fit is made in a process of its own; seconds are those of the processor, and beside them stands a
floor measured in the same run, the sum of each column of the same answers. It ends with 1 where
the step of one answer takes a millisecond or more.
"""

import math
import multiprocessing
import os
import re
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields
from pathlib import Path
from statistics import median
from typing import TypeVar

import numpy as np

from drills.engine.knowing.columns import Answers
from drills.engine.knowing.fitting import fit
from drills.engine.knowing.history import history
from drills.engine.knowing.online import Moving
from drills.engine.simulated import Scenario, simulate_crews
from tests.bench.readiness import answers_of

# People, days that give at least so many answers, and how many are taken.
SIZES = ((300, 240, 100_000), (1_000, 220, 320_000))
STEPS, MOST_MS = 20_000, 1.0
MEGABYTE = 1 << 20
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Cost:
    """What one size took: seconds of the processor, megabytes of the whole process before and at
    the most, and milliseconds of one step at the median and of 99 in 100."""

    people: int
    answers: int
    floor: float
    history: float
    fit: float
    refit: float
    before_mb: float
    most_mb: float
    step_ms: float
    step_ms_99: float


def main() -> int:
    """Print the costs; 1 where a step is too slow."""
    # As the evaluation runs: small sums are quicker on one thread.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    costs = []
    for people, days, count in SIZES:
        log = simulate_crews(Scenario(people=people, days=days), seed=1).log
        if len(log) < count:
            raise SystemExit(f"{people} people gave {len(log)} answers in {days} days")
        answers = answers_of(log.rows(slice(0, count)))
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            costs.append(pool.submit(cost, answers).result())
        sys.stdout.write(f"{_words(costs[-1])}\n")
    one, other = costs
    power = math.log(other.fit / one.fit) / math.log(other.answers / one.answers)
    sys.stdout.write(f"growth: seconds of a fit as answers to the {power:.2f}\n")
    return int(any(each.step_ms >= MOST_MS for each in costs))


def cost(answers: Answers) -> Cost:
    """Fit some answers, fit them again from there, and move the offsets by the last of them."""
    before = _megabytes("VmRSS")
    floor = _seconds(lambda: [getattr(answers, each.name).sum() for each in fields(answers)])[0]
    taken, past = _seconds(lambda: history(answers))
    first, model = _seconds(lambda: fit(answers, past))
    again, _ = _seconds(lambda: fit(answers, past, model))
    last = answers.take(slice(len(answers) - STEPS, len(answers)))
    moving, steps = Moving(model), []
    rows, marks = past[-STEPS:], model.marks(last)
    base, doubt = model.usual(last, rows).tolist(), model.doubt_of_needs(last).tolist()
    for at in range(STEPS):
        begun = time.perf_counter()
        moving.next(
            base[at],
            doubt[at],
            rows[at],
            marks[at],
            int(last.person[at]),
            int(last.fact[at]),
            float(last.right[at]),
            float(last.guess[at]),
            True,
        )
        steps.append((time.perf_counter() - begun) * 1000)
    return Cost(
        people=len(np.unique(answers.person)),
        answers=len(answers),
        floor=floor,
        history=taken,
        fit=first,
        refit=again,
        before_mb=before,
        most_mb=_megabytes("VmHWM"),
        step_ms=median(steps),
        step_ms_99=sorted(steps)[int(0.99 * STEPS)],
    )


def _seconds(what: Callable[[], Result]) -> tuple[float, Result]:
    begun = time.process_time()
    found = what()
    return time.process_time() - begun, found


def _megabytes(what: str) -> float:
    """Memory of this process; Linux alone tells it."""
    found = re.search(rf"{what}:\s+(\d+)", Path("/proc/self/status").read_text(encoding="utf-8"))
    return int(found[1]) * 1024 / MEGABYTE if found else math.nan


def _words(told: Cost) -> str:
    return (
        f"{told.people} people, {told.answers} answers (simulated): what came before "
        f"{told.history:.1f} s, fit {told.fit:.1f} s, again from there {told.refit:.1f} s, floor "
        f"{told.floor:.3f} s; {told.most_mb:.0f} MB at most, {told.before_mb:.0f} before; "
        f"one answer {told.step_ms:.3f} ms at the median, 99 in 100 within {told.step_ms_99:.3f}"
    )


if __name__ == "__main__":
    sys.exit(main())
