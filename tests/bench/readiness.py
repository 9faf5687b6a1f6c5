"""The model, asked row by row about a simulated log."""

import numpy as np
from numpy.typing import NDArray

from drills.engine.knowing.columns import MODALITIES as KNOWN
from drills.engine.knowing.columns import Answers, came_to_place
from drills.engine.knowing.rolling import predict_rows
from drills.engine.simulated import Log
from drills.engine.simulated.laws import GUESS
from drills.engine.simulated.log import MODALITIES, TIMED_OUT
from tests.bench.forecasts import numbered

Array = NDArray[np.float64]
_MODEL_MODALITY = np.array([KNOWN.index(each) for each in MODALITIES])


def readiness(log: Log, first_day: float) -> Array:
    """The chance the model thought of each row from the rows before it, the earliest included."""
    return predict_rows(answers_of(log))


def answers_of(log: Log, *, counts: NDArray[np.bool_] | None = None) -> Answers:
    """A simulated log in the columns of the model; rows that do not count are questions that were
    only thought about."""
    fact, slot = numbered(log.item, log.layout, log.place), numbered(log.item, log.layout)
    every = np.ones(len(log), dtype=bool)
    return Answers(
        time=log.time,
        person=log.person,
        fact=fact,
        need=log.item,
        place=numbered(log.layout, log.place),
        spot=log.place,
        slot=slot,
        category=log.category,
        kind=np.zeros(len(log), dtype=int),
        modality=_MODEL_MODALITY[log.modality],
        right=log.is_right.astype(float),
        seconds=log.seconds,
        ran_out=log.outcome == TIMED_OUT,
        guess=np.full(len(log), GUESS),
        moved=came_to_place(log.time, fact, slot),
        counts=every if counts is None else counts,
        scored=every if counts is None else counts,
    )
