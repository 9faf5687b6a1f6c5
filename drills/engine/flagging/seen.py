"""What could have been seen with so many answers: measured on drawn cohorts, all synthetic.

That nothing is told may mean that nothing is different, or that little was asked. The figures are
those of the last evaluation: cohorts in which no thing is different, and cohorts in which ten of
150 are found 15 in 100 less often than the rest; each fitted and told as on the educator's page.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields

import numpy as np

from drills.engine.evaluated.page import figures, is_earlier
from drills.engine.tables.page import as_markdown

# Of the drawn cohorts: things asked, and how many of them are found so much less often.
THINGS, WEAK, LESS_IN_100 = 150, 10, 15


@dataclass(frozen=True, slots=True)
class Seen:
    """With so many answers on each thing: of so many cohorts without a difference the share in
    which anything was told; of so many with, the share of weak things told, its least and its most
    in one cohort, and the share of those told that were none."""

    answers: int
    without: int
    any_flag: float
    cohorts: int
    found: float
    least: float
    most: float
    false: float


def _read() -> tuple[Seen, ...]:
    rows = figures()["flags"]["all"]["rows"]
    return tuple(Seen(**{each.name: row[each.name] for each in fields(Seen)}) for row in rows)


SEEN = _read()
# Whether that was measured of the model before this one.
IS_EARLIER = is_earlier(figures()["flags"]["all"])


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
            f"{100 * each.found:.0f} in 100 ({100 * each.least:.0f} to {100 * each.most:.0f})",
            f"{100 * each.false:.1f} in 100",
            str(each.cohorts),
            f"{100 * each.any_flag:.1f} in 100",
            str(each.without),
        )
        for each in SEEN
    ]
    heads = (
        "answers on each thing",
        f"told of {WEAK} things found {LESS_IN_100} in 100 less often (of one cohort)",
        "no different, of those told",
        "cohorts",
        "cohorts without a difference in which anything is told",
        "of so many",
    )
    return as_markdown(heads, rows)


PRINTED: Mapping[str, Callable[[], str]] = {"what could have been seen": as_table}
