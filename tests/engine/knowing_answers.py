"""Answers drawn at random, for the tests of the model; nothing of them is anybody's."""

import numpy as np
from scipy.special import expit

from drills.engine.knowing.columns import Answers, came_lately, came_to_place


def drawn(seed: int, *, people: int = 5, things: int = 6, rows: int = 60) -> Answers:
    """Answers on two layouts, some of things that moved, some by hand, some that ran out."""
    draw = np.random.default_rng(seed)
    time = np.sort(np.round(draw.uniform(0, 300, rows), 1))
    need, layout = draw.integers(0, things, rows), draw.integers(0, 2, rows)
    slot = need * 2 + layout
    place = layout * 10 + (need + (draw.random(rows) < 0.2) * (time > 150)) % 4
    fact = slot * 20 + place
    right = draw.choice([0.0, 0.5, 1.0], rows, p=[0.4, 0.1, 0.5])
    # The last of them came late.
    person = draw.integers(0, people - 1, rows)
    person = np.where((time > 100) & (draw.random(rows) < 0.3), people - 1, person)
    return Answers(
        time=time,
        person=person,
        fact=fact,
        need=need,
        place=place,
        spot=place % 10,
        slot=slot,
        category=need % 3,
        kind=draw.integers(0, 2, rows),
        modality=draw.choice([0, 1, 2], rows, p=[0.7, 0.1, 0.2]),
        right=right,
        seconds=np.where(draw.random(rows) < 0.8, np.exp(draw.normal(2, 0.5, rows)), np.nan),
        ran_out=right < draw.uniform(0, 0.6, rows),
        guess=draw.choice([0.0, 0.02, 0.25], rows),
        moved=came_to_place(time, fact, slot, np.arange(rows)),
        came=came_lately(time, person),
        skill=need % 3 == 2,
        counts=draw.random(rows) < 0.95,
        scored=draw.random(rows) < 0.9,
    )


def ability(seed: int, *, people: int, things: int, each: int) -> tuple[Answers, np.ndarray]:
    """Answers of people who differ by a known spread, on things that do, and who learn nothing;
    with the chance that each was right."""
    draw = np.random.default_rng(seed)
    rows = people * each
    person, thing = np.repeat(np.arange(people), each), draw.integers(0, things, rows)
    of_person, of_thing = draw.normal(0, 1.2, people), draw.normal(0, 0.8, things)
    chance = expit(0.5 + of_person[person] + of_thing[thing])
    order = draw.permutation(rows)
    none = np.zeros(rows, dtype=np.int64)
    answers = Answers(
        time=np.arange(rows, dtype=float) / 100,
        person=person[order],
        fact=thing[order],
        need=none,
        place=none,
        spot=none,
        slot=thing[order],
        category=none,
        kind=none,
        modality=none,
        right=(draw.random(rows) < chance[order]).astype(float),
        seconds=np.full(rows, np.nan),
        ran_out=np.zeros(rows, dtype=bool),
        guess=np.zeros(rows),
        moved=np.full(rows, np.nan),
        came=np.full(rows, np.nan),
        skill=np.zeros(rows, dtype=bool),
        counts=np.ones(rows, dtype=bool),
        scored=np.ones(rows, dtype=bool),
    )
    return answers, chance[order]
