"""Whether a move changes what is thought of anything else."""

import numpy as np
from numpy.typing import NDArray

from drills.engine.knowing.rolling import predict_rows
from drills.engine.simulated import Log, Move, Scenario, simulate_crews
from tests.bench.readiness import answers_of, places_of, questions_after

Ints = NDArray[np.int_]

# So many people are thought about, on everything.
PEOPLE = 12
MOST_CHANGE = 1e-9
MOVED = Scenario(
    people=20,
    items=60,
    days=150,
    moves=(Move(day=50, bags=1, loose=2), Move(day=110, bags=1, loose=2)),
)


def change_elsewhere(scenario: Scenario, *, seed: int) -> tuple[float, float]:
    """How much the chances of what did not move change at most, and those of what moved on
    average, when on the day of the last revision the model is asked about the layout as it is
    from then on, and about the one before. The steps inside a bag that moved did not move."""
    found = simulate_crews(scenario, seed=seed)
    day, things = found.moved[-1]
    earlier, later = (found.log.rows(rows) for rows in _split(found.log, float(day)))
    items = np.intersect1d(earlier.item, later.item)
    people = np.unique(earlier.person)[:PEOPLE]
    chances = [
        _thought(earlier, people, items, places, float(day))
        for places in (places_of(earlier, items, -1), places_of(later, items, 0))
    ]
    change = np.abs(chances[1] - chances[0])
    is_moved = np.isin(np.tile(items, len(people)), things)
    return float(change[~is_moved].max()), float(change[is_moved].mean())


def _split(log: Log, day: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    return log.time < day, log.time >= day


def _thought(log: Log, people: Ints, items: Ints, places: Ints, day: float) -> NDArray[np.float64]:
    """The chances of all people on all things at the day, asked one after another and never
    answered."""
    whole = questions_after(log, people, items, places, day)
    return predict_rows(answers_of(whole, counts=np.arange(len(whole)) < len(log)))[len(log) :]
