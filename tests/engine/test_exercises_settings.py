"""One setting of a service gives one figure: in an exercise, and worked out for a patient."""

import json
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import product
from random import Random

import pytest

from drills.engine.ages import Age
from drills.engine.calls import Call
from drills.engine.calls import Patient as OfCall
from drills.engine.chance import seeded
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.exercises.burn import write as burn
from drills.engine.exercises.energy import write as energy
from drills.engine.exercises.exercise import NEVER_ROUNDED_UP, Exercise
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, ENERGY, ProblemOf
from drills.engine.quantities import read_quantity
from drills.engine.recipes import CannotApplyError
from tests.engine.treating import carrying, rule

Writer = Callable[[int, Stores, Random], Exercise]

NEVER_UP = Settings(is_never_up_for_children=True)
ELEVEN = Age.of_years(11)
CHILD = OfCall(
    number=1,
    problem="burn-child",
    severity=2,
    band="",
    size="",
    age_y=11,
    is_female=False,
    weight="25 kg",
    who="11-year-old boy",
    findings="",
    signs=(),
    burned=("left arm", "front of the trunk"),
)
OF_CHILD, OF_OTHERS = (ProblemOf("burn-child"),), (ProblemOf("burn-electric"),)
RULES = (
    rule("4 mL/kg/%", topic=BURN, indication="burn", problems=OF_CHILD),
    rule("4 mL/kg/%", topic=BURN, indication="electrical", code="T2", problems=OF_OTHERS),
    rule("2 J/kg", topic=ENERGY, indication="first shock", code="T3", problems=OF_CHILD),
)
WEIGHTS = ("22.5 kg", "55 lb", "27.5 kg", "66 lb", "35 kg", "77 lb", "88 lb")
REGIONS = (("left arm", "front of the trunk"), ("head", "left arm"), ("left leg", "right arm"))
HOURS = (1, 2, 3, 4)


def children() -> list[tuple[OfCall, Call]]:
    """Some of an age, each with the hours since of a call."""
    return [
        (replace(CHILD, weight=weight, burned=burned), call_since(hours))
        for weight, burned, hours in product(WEIGHTS, REGIONS, HOURS)
    ]


def call_since(hours: int) -> Call:
    return Call("burns", "Burns", "", (), (), burned_h=hours)


def stores(settings: Settings, patient: OfCall | None = CHILD) -> Stores:
    call = call_since(2) if patient else None
    return Stores(rules=RULES, settings=settings, patient=patient, call=call)


@pytest.mark.parametrize(("write", "grades"), [(burn, (2, 3)), (energy, (1, 2))])
def test_a_drill_and_a_working_give_one_figure(write: Writer, grades: tuple[int, ...]) -> None:
    """Over many exercises of a child; and somewhere half up would have given another."""
    rounded_otherwise, many = 0, 0
    for grade in grades:
        random = seeded(f"one figure {grade}")
        for child, call in children():
            try:
                each = write(grade, replace(stores(NEVER_UP, child), call=call), random)
            except CannotApplyError:  # a body that makes none on paper
                continue
            many += 1
            given, own = json.loads(each.given), each.medicine
            if own is None:
                continue
            area = getattr(each.problem, "area", None)
            worked = work_out(
                Patient(
                    age=ELEVEN,
                    weight=read_quantity(given["weight"]),
                    area=area,
                    since_injury=read_quantity(given.get("since_injury", "0 h")),
                ),
                own,
                carrying(),
                NEVER_UP,
            )
            asked = each.problem.solve().results[each.asked]
            assert asked.rounded == worked.results[each.asked].rounded, each
            assert NEVER_ROUNDED_UP in each.facts
            assert asked.rounded is not None
            rounded_otherwise += asked.rounded.amount != Fraction(round(asked.exact.amount))
    # A shock asked in a drill comes to whole joules on paper: there the words alone differ.
    assert rounded_otherwise or write is energy
    assert many >= 40


def test_a_grown_person_is_told_nothing_of_it() -> None:
    """The setting is of children alone."""
    for write in (burn, energy):
        random = seeded("grown")
        for grade in (1, 2):
            for _ in range(20):
                each = write(grade, stores(Settings()), random)
                assert NEVER_ROUNDED_UP not in each.facts
                assert "rounding" not in each.given
    random = seeded("forty")
    for _ in range(20):
        each = burn(2, stores(NEVER_UP, patient=None), random)
        is_child = "child" in each.facts[0].words or int(each.facts[0].words.split("-")[0]) < 18
        assert (NEVER_ROUNDED_UP in each.facts) == is_child, each.facts
