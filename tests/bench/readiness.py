"""The model, asked row by row about a simulated log."""

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from drills.engine.knowing.columns import MODALITIES as KNOWN
from drills.engine.knowing.columns import Answers, came_lately, came_to_place
from drills.engine.knowing.rolling import predict_rows
from drills.engine.simulated import Log
from drills.engine.simulated.laws import GUESS
from drills.engine.simulated.log import MODALITIES, TIMED_OUT
from tests.bench.forecasts import numbered

Array = NDArray[np.float64]
Ints = NDArray[np.int_]
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
        moved=came_to_place(log.time, fact, slot, np.arange(len(log))),
        came=came_lately(log.time, log.person),
        skill=~every,
        counts=every if counts is None else counts,
        scored=every if counts is None else counts,
    )


def places_of(log: Log, items: Ints, at: int) -> Ints:
    """Where each of some things was at its row of a number, such as 0 for the first."""
    return np.array([log.place[np.flatnonzero(log.item == item)[at]] for item in items])


def questions_after(log: Log, people: Ints, items: Ints, places: Ints, day: float) -> Log:
    """A log with a question more for each of some people (in turn) and each of some things at its
    place, at a day and on the first layout; none is answered."""
    many = len(people) * len(items)
    category = np.array([log.category[log.item == item][0] for item in items])
    nothing = np.zeros(many, dtype=int)
    asked = Log(
        time=np.full(many, day),
        person=np.repeat(people, len(items)),
        item=np.tile(items, len(people)),
        layout=nothing,
        place=np.tile(places, len(people)),
        category=np.tile(category, len(people)),
        modality=nothing,
        outcome=nothing,
        seconds=np.full(many, np.nan),
        chosen=nothing,
        things=log.things,
    )
    both = {
        each.name: np.concatenate([getattr(log, each.name), getattr(asked, each.name)])
        for each in fields(Log)
        if each.name != "things"
    }
    return Log(**both, things=log.things)
