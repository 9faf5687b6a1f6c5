"""A small log of a simulated service, with what the model says of it, kept to see that it changes.

`python -m tests.engine.model_log` writes what it says now over what is kept: after the number of
the model was raised, and what the manual prints of it is measured anew.
"""

import csv
import io
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from drills.engine.knowing.columns import Floats
from drills.engine.knowing.fitting import fit, with_pairs
from drills.engine.knowing.history import history
from drills.engine.knowing.logs import read_log
from drills.engine.knowing.rolling import predict_rows
from drills.engine.knowing.thinking import doubt_of
from drills.engine.simulated import Move, Scenario, simulate_crews
from drills.engine.simulated.log import write_csv

FILE = Path(__file__).resolve().parent.parent / "data" / "model_log.csv"
# Something of all that a service may have: two layouts, bags, moves, new people, drills at the rig,
# answers cut off, and some who tap at random.
SERVICE = Scenario(
    people=7,
    items=14,
    days=120,
    asked=6,
    bag_holds=3,
    hired=0.3,
    hands_on=0.2,
    moves=(Move(day=60, bags=1, loose=2),),
    layouts=2,
    lazy=0.15,
    cut_off=15.0,
)
# The chance of each row by the rows before it; and of all rows, fitted together, how sure it is.
SAID = ("chance", "centre", "own", "shared")
DIGITS = 12


def what_it_says(text: str) -> dict[str, Floats]:
    """Of each row of a log, in order of time, one figure by each name of `SAID`."""
    answers = read_log(text).answers
    past = history(answers)
    model = with_pairs(fit(answers, past), answers, past)
    found = {name: np.empty(len(answers)) for name in SAID}
    found["chance"] = predict_rows(answers)
    for person in np.unique(answers.person):
        rows = np.flatnonzero(answers.person == person)
        doubt = doubt_of(model, answers, past, rows)
        for name in SAID[1:]:
            found[name][rows] = getattr(doubt, name)
    return found


def _write() -> None:
    told = io.StringIO()
    write_csv(simulate_crews(SERVICE, seed=1).log, told, start=datetime(2026, 1, 1, tzinfo=UTC))
    said = what_it_says(told.getvalue())
    rows = list(csv.DictReader(io.StringIO(told.getvalue())))
    with FILE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, (*rows[0], *SAID), lineterminator="\n")
        writer.writeheader()
        for at, row in enumerate(rows):
            writer.writerow(row | {name: f"{said[name][at]:.{DIGITS}f}" for name in SAID})


if __name__ == "__main__":
    _write()
