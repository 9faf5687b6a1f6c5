"""The energy of a shock for a child: first, second, later, and no more than the most."""

import json
from dataclasses import replace
from random import Random

from drills.engine import tables
from drills.engine.ages import Age
from drills.engine.chance import drawn_evenly
from drills.engine.dosing.energy import ENERGY
from drills.engine.exercises.exercise import Exercise, Told, way_of
from drills.engine.exercises.paper import settled
from drills.engine.exercises.people import (
    age_drawn,
    age_of,
    kg_of,
    told_age,
    told_weight,
    weight_for,
    weight_near,
)
from drills.engine.exercises.stores import Stores
from drills.engine.quantities import plain
from drills.engine.recipes import SUPPLY
from drills.engine.tables.kinds import Energy

TOPIC = "energy"
UNITS = ("J", "J/kg")
GROWN_FROM_Y = 14
CAP, RANGE = "a maximum", "a range"
_YEARS, _NEARLY_GROWN = range(1, 12), range(11, GROWN_FROM_Y)


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """The joules of one shock of a sequence."""
    return settled(TOPIC, lambda: _draft(grade, stores, random))


def _draft(grade: int, stores: Stores, random: Random) -> Exercise | None:
    """Without a limit or a range below grade 3; there with either."""
    wants_cap = grade == 3 and random.random() < 0.5
    row = drawn_evenly(tables.ENERGIES, random)
    age, weight = _who(grade, stores, random, grown=wants_cap)
    made = _made(grade, stores, row, (Told("Patient", f"{told_age(age)} child"),), weight)
    solution = made.problem.solve()
    is_capped = bool(solution.limit or solution.limit_high)
    trap = CAP if is_capped else RANGE if row.high != row.low else ""
    return replace(made, trap=trap) if bool(trap) == (grade == 3) else None


def _made(
    grade: int, stores: Stores, row: Energy, about: tuple[Told, ...], weight: str
) -> Exercise:
    pounds = stores.pounds_of(weight)
    given = {
        "kind": "energy",
        "weight": weight,
        **({"pounds": pounds} if pounds else {}),
        "per_weight": f"{plain(row.low)} J/kg",
        **({"high": f"{plain(row.high)} J/kg"} if row.high != row.low else {}),
        **({"max": f"{plain(row.most_j)} J"} if row.most_j else {}),
    }
    return Exercise(
        kind=SUPPLY,
        topic=TOPIC,
        grade=grade,
        question=f"How many joules for the {_words(row)}?",
        facts=(*about, told_weight(weight, pounds)),
        given=json.dumps(given),
        asked=ENERGY,
        units=UNITS,
        rule=f"{'; '.join(map(_line, _of(row.use)))}.",
        source=f"{row.source} ({row.status})",
        subject=f"{TOPIC}, {way_of(is_rule_shown=stores.is_rule_shown)}",
        is_rule_shown=stores.is_rule_shown,
    )


def _who(grade: int, stores: Stores, random: Random, *, grown: bool) -> tuple[Age, str]:
    """A child, nearly grown where the most is to be met, and a weight: in kg at grade 1, in pounds
    above."""
    if stores.patient is not None and stores.patient.age_y < GROWN_FROM_Y:
        near = weight_near(kg_of(stores.patient), random, pounds=grade > 1)
        return age_of(stores.patient), near
    age = age_drawn(random, _NEARLY_GROWN if grown else _YEARS)
    return age, weight_for(age, random, pounds=grade > 1)


def _of(use: str) -> list[Energy]:
    return [row for row in tables.ENERGIES if row.use == use]


def _words(row: Energy) -> str:
    return f"{row.step} shock" if row.use == "defibrillation" else f"{row.step} {row.use}"


def _line(row: Energy) -> str:
    high = f" to {plain(row.high)}" if row.high != row.low else ""
    most = f", at most {plain(row.most_j)} J" if row.most_j else ""
    return f"{_words(row)} {plain(row.low)}{high} J/kg{most}"
