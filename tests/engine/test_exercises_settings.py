"""One setting of a service gives one figure: in an exercise, and worked out for a patient."""

import json
from collections.abc import Callable
from fractions import Fraction
from random import Random

import pytest

from drills.engine.ages import Age
from drills.engine.calls import Patient as OfCall
from drills.engine.chance import seeded
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.exercises.burn import write as burn
from drills.engine.exercises.energy import write as energy
from drills.engine.exercises.exercise import NEVER_ROUNDED_UP, Exercise
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, ENERGY
from drills.engine.quantities import read_quantity
from tests.engine.treating import carrying, rule

Writer = Callable[[int, Stores, Random], Exercise]

NEVER_UP = Settings(is_never_up_for_children=True)
ELEVEN = Age.of_years(11)
CHILD = OfCall(
    number=1,
    problem="burn",
    severity=1,
    band="",
    size="",
    age_y=11,
    is_female=False,
    weight="25 kg",
    who="",
    findings="",
    signs=(),
)
RULES = (
    rule("4 mL/kg/%", topic=BURN, indication="burn"),
    rule("4 mL/kg/%", topic=BURN, indication="electrical burn", code="T2"),
    rule("2 J/kg", topic=ENERGY, indication="first shock", code="T3"),
)


def stores(settings: Settings, patient: OfCall | None = CHILD) -> Stores:
    return Stores(rules=RULES, settings=settings, patient=patient)


@pytest.mark.parametrize(("write", "grades"), [(burn, (2, 3)), (energy, (1, 2))])
def test_a_drill_and_a_working_give_one_figure(write: Writer, grades: tuple[int, ...]) -> None:
    """Over many exercises of a child; and somewhere half up would have given another."""
    rounded_otherwise = 0
    for grade in grades:
        random = seeded(f"one figure {grade}")
        for _ in range(40):
            each = write(grade, stores(NEVER_UP), random)
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
