"""What could have been seen with so many answers: measured on drawn cohorts, all synthetic.

That nothing is told may mean that nothing is different, or that little was asked. The table is what
`python -m tests.bench.flags` prints: 500 cohorts in which no thing is different and 100 in which
ten of 150 are found 15 in 100 less often than the rest.
"""

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from drills.engine.tables.page import as_markdown

# Of the drawn cohorts: things asked, and how many of them are found so much less often.
THINGS, WEAK, LESS_IN_100 = 150, 10, 15


@dataclass(frozen=True, slots=True)
class Seen:
    """With so many answers on each thing: the share of cohorts without a difference in which any
    thing was told, the share of weak things that were told, and of those told that were not."""

    answers: int
    any_flag: float
    found: float
    false: float


def _read() -> tuple[Seen, ...]:
    path = Path(__file__).parent / "seen.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(
            Seen(int(row["answers"]), *(float(row[n]) for n in ("any_flag", "found", "false")))
            for row in csv.DictReader(file)
        )


SEEN = _read()


def could_be_seen(answers: float) -> float:
    """The share of weak things that would be told by now, of as many answers on each.

    Between the rows by the logarithm; before the first it falls to nothing with the answers.
    """
    first = SEEN[0]
    if answers < first.answers:
        return first.found * max(answers, 0.0) / first.answers
    known = np.log([each.answers for each in SEEN])
    return float(np.interp(np.log(answers), known, [each.found for each in SEEN]))


def as_table() -> str:
    """The table as the manual prints it."""
    rows = [
        (
            str(each.answers),
            f"{100 * each.found:.0f} in 100",
            f"{100 * each.false:.1f} in 100",
            f"{100 * each.any_flag:.1f} in 100",
        )
        for each in SEEN
    ]
    heads = (
        "answers on each thing",
        f"told of {WEAK} things found {LESS_IN_100} in 100 less often",
        "no different, of those told",
        "cohorts without a difference in which anything is told",
    )
    return as_markdown(heads, rows)


PRINTED: Mapping[str, Callable[[], str]] = {"what could have been seen": as_table}
