"""How well people are foretold by whom nothing was fitted: `python -m tests.bench.other_law`.

Here a thing is known or it is not, with nothing between: whoever answers wrong and is shown the
place learns it with a chance of their own, one in seven hardly ever, and what is known is lost with
a chance a day of their own. Neither law of the simulator is like that, and nothing in the model was
chosen by it. The log goes through the door of `predict_log`, the first third only to learn from.

Nought is the share right so far, one is who knows the law with all its figures, and sees the same
answers. Prints that share, the gap over ten parts of equal count, the slope, and what was
thought and came after so many wrong ones in a row. All of it is simulated.
"""

import argparse
import csv
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import StringIO
from statistics import fmean

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray
from scipy.special import expit

from drills.engine.knowing.logs import predicted_log
from drills.engine.measures import calibration_gap, calibration_line, log_loss
from drills.engine.simulated.log import COLUMNS

Array = NDArray[np.float64]
PEOPLE, THINGS, DAYS, ASKED, ON_SHIFT = 80, 60, 150, 10, 0.3
SLIP, GUESS, HARDLY = 0.04, 1 / 30, 0.08
BEFORE = 1 / 3
# How many were wrong in a row, from so many up to so many.
RUNS = ((0, 0), (1, 1), (2, 2), (3, 3), (4, 4), (5, 6), (7, 9), (10, DAYS))
START = datetime(2025, 1, 1, 6, tzinfo=UTC)
# The columns that every log has; the others a log may have.
NEEDED = COLUMNS[:8]


@dataclass(frozen=True, slots=True)
class People:
    """Each one's chance to learn from being shown, to lose a thing in a day, and to know each thing
    at first."""

    learns: Array
    loses: Array
    knows: Array


@dataclass(frozen=True, slots=True)
class Found:
    """Of each row that counts: what was thought, what who knows the law thinks, whether it was
    right, how many were wrong in a row before it, and the share that was right before all."""

    thought: Array
    best: Array
    right: Array
    wrong: NDArray[np.int64]
    share: float


def draw_people(random: Generator) -> People:
    """Most learn more often than not; one in seven hardly ever does."""
    hardly = random.random(PEOPLE) < 1 / 7
    learns = np.where(hardly, HARDLY, random.beta(6, 4, PEOPLE))
    loses = random.lognormal(np.log(0.008), 0.6, PEOPLE)
    own, hard = random.normal(-0.3, 0.8, PEOPLE), random.normal(0, 1, THINGS)
    return People(learns, loses, expit(own[:, None] - hard))


def run(seed: int) -> Found:
    """One simulated service, foretold row by row."""
    random = default_rng(seed)
    people = draw_people(random)
    rows, best, wrong = _answered(people, random)
    out = StringIO()
    csv.writer(out).writerows([NEEDED, *rows])
    told = csv.DictReader(StringIO(predicted_log(out.getvalue())))
    thought = np.array([float(row["probability"]) for row in told])
    right = np.array([row[5] == "right" for row in rows], float)
    first = int(len(rows) * BEFORE)
    share = float(right[:first].mean())
    return Found(thought[first:], best[first:], right[first:], wrong[first:], share)


def _answered(
    people: People, random: Generator
) -> tuple[list[tuple[object, ...]], Array, NDArray[np.int64]]:
    """Rows as they are given in, which the door puts in order of time; the chance of each by who
    knows the law, and the wrong ones before."""
    known, belief = random.random(people.knows.shape) < people.knows, people.knows.copy()
    last, in_a_row = np.zeros_like(belief), np.zeros(belief.shape, int)
    rows, best, wrong = [], [], []
    for day in range(DAYS):
        for person in np.flatnonzero(random.random(PEOPLE) < ON_SHIFT).tolist():
            for number, thing in enumerate(random.choice(THINGS, ASKED, replace=False).tolist()):
                at, pair = day + person / 1000 + number / 2880, (person, thing)
                kept = np.exp(-people.loses[person] * (at - last[pair]))
                known[pair] &= random.random() < kept
                right = random.random() < (1 - SLIP if known[pair] else GUESS)
                before = belief[pair] * kept
                best.append(before * (1 - SLIP) + (1 - before) * GUESS)
                wrong.append(in_a_row[pair])
                rows.append(
                    _row(at, person, thing, right=right, seconds=random.lognormal(1.3, 0.4))
                )
                known[pair] |= random.random() < people.learns[person]
                belief[pair] = _after(before, people.learns[person], right=right)
                last[pair], in_a_row[pair] = at, 0 if right else in_a_row[pair] + 1
    return rows, np.array(best), np.array(wrong)


def _after(belief: float, learns: float, *, right: bool) -> float:
    """How likely it is known once an answer was seen, and the place shown."""
    yes, no = (1 - SLIP, GUESS) if right else (SLIP, 1 - GUESS)
    seen = belief * yes / (belief * yes + (1 - belief) * no)
    return seen + (1 - seen) * learns


def _row(at: float, person: int, thing: int, *, right: bool, seconds: float) -> tuple[object, ...]:
    time = (START + timedelta(days=at)).isoformat(timespec="milliseconds")
    said = "right" if right else "wrong"
    who, what = f"person-{person}", f"thing-{thing}"
    return time, who, what, "layout-1", "screen", said, f"{seconds:.2f}", "assigned"


def share_of_gain(found: Found) -> float:
    nought = log_loss(found.right, np.full_like(found.right, found.share))
    thought, best = (log_loss(found.right, each) for each in (found.thought, found.best))
    return (nought - thought) / (nought - best)


def _told(ran: Sequence[Found]) -> str:
    rows = sum(len(each.right) for each in ran)
    lines = [f"{len(ran)} services of {PEOPLE} people and {THINGS} things, {rows} answers foretold"]
    for name, figure in (
        ("share of the gain", share_of_gain),
        ("gap", lambda each: calibration_gap(each.right, each.thought)),
        ("gap of who knows the law", lambda each: calibration_gap(each.right, each.best)),
        ("slope", lambda each: calibration_line(each.right, each.thought)[0]),
    ):
        told = [figure(each) for each in ran]
        lines.append(f"{name}: {fmean(told):.3f} ({min(told):.3f} to {max(told):.3f})")
    for least, most in RUNS:
        among = [(each.wrong >= least) & (each.wrong <= most) for each in ran]
        thought = np.concatenate([e.thought[a] for e, a in zip(ran, among, strict=True)])
        right = np.concatenate([e.right[a] for e, a in zip(ran, among, strict=True)])
        lines.append(
            f"{least} to {most} wrong in a row: {len(right)} answers, "
            f"thought {thought.mean():.3f}, came {right.mean():.3f}"
        )
    return "\n".join(lines) + "\n"


def main() -> int:
    """Print the figures of some seeds; 1 where the gap is above .02 or the slope far from 1."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=5)
    ran = [run(seed) for seed in range(1, parser.parse_args().seeds + 1)]
    sys.stdout.write(_told(ran))
    gaps = fmean(calibration_gap(each.right, each.thought) for each in ran)
    slopes = fmean(calibration_line(each.right, each.thought)[0] for each in ran)
    return 0 if gaps <= 0.02 and 0.9 <= slopes <= 1.1 else 1


if __name__ == "__main__":
    sys.exit(main())
