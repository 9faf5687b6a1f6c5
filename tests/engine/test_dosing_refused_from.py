"""From which share off a service draws nothing up: a tenth, or less where it says so."""

import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.chance import seeded
from drills.engine.dosing import ProblemError
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.exercises.burn import write as burn
from drills.engine.exercises.energy import write as energy
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import BURN, DRIP, ENERGY
from drills.engine.quantities import read_quantity
from tests.engine.treating import GROWN, carrying, rule

# Each is 3.8 to 9 % beside the mark next to it.
BESIDE = (
    {"kind": "dose", "fixed": "1.06 mg", "concentration": "1 mg/mL", "graduation": "0.1 mL"},
    {"kind": "dose", "fixed": "1.06 mg", "graduation": "0.1 mg"},
    {
        "kind": "containers",
        "fixed": "1.06 mg",
        "concentration": "1 mg / 1 mL",
        "graduation": "0.1 mL",
    },
    {"kind": "drip", "rate": "1.06 mL/h", "graduation": "0.2 mL/h"},
    {"kind": "drip", "rate": "10.6 mL/h", "set": "60 gtt/mL", "graduation": "10 gtt/min"},
    {
        "kind": "burn",
        "weight": "80 kg",
        "area": "20 %",
        "per": "2 mL/kg/%",
        "graduation": "210 mL/h",
    },
    {
        "kind": "burned",
        "chart": "rule of nines",
        "age": "30 years",
        "regions": "left arm",
        "weight": "80 kg",
        "per": "2 mL/kg/%",
        "graduation": "85 mL/h",
    },
)


@pytest.mark.parametrize("problem", BESIDE, ids=lambda problem: problem["kind"])
def test_a_service_may_refuse_what_others_draw_up(problem: dict[str, Any]) -> None:
    """The arithmetic stays as it is; the refusal says by what."""
    usual = read_problem(problem).solve()
    strict = read_problem(problem | {"refused_from": "3 %"}).solve()

    assert usual.refusal is None
    assert strict.refusal is not None
    assert strict.refusal.because.endswith("and less than 3% is accepted.")
    assert [each.exact for each in strict.results.values()] == [
        each.exact for each in usual.results.values()
    ]


def test_the_tighter_of_the_rule_and_the_service_is_kept() -> None:
    """3.8 % off: a rule's limit of 3 % refuses it, whatever the service allows."""
    problem = BESIDE[0] | {"error_limit": "3 %", "refused_from": "10 %"}

    refusal = read_problem(problem).solve().refusal

    assert refusal is not None
    assert refusal.because.endswith("less than 3% is accepted.")


@pytest.mark.parametrize("share", ["0 %", "11 %", "5 mg", "5"])
def test_no_service_draws_up_what_is_a_tenth_off(share: str) -> None:
    """The field is named, with what it takes."""
    with pytest.raises(ProblemError, match=r"^refused_from: "):
        read_problem(BESIDE[0] | {"refused_from": share})


@pytest.mark.parametrize(
    ("given", "aboard"),
    [
        (rule("0.32 mg"), "1 mg / 1 mL"),
        (rule("0.0064 mg/min", packed="1 mg / 1 mL", topic=DRIP), "1 mg / 1 mL"),
        (rule("0.017 mL/kg/%", packed="1,000 mL", topic=BURN), "1,000 mL"),
    ],
    ids=["dose", "drip", "burn"],
)
def test_what_is_worked_for_a_patient_keeps_to_the_share(given: Any, aboard: str) -> None:
    """A draw, a pump and a burn alike; 0.32 mL is 0.3 mL of a 3 mL syringe."""
    supplies = replace(carrying(aboard), syringes=(3,))
    patient = replace(GROWN, area=read_quantity("10 %"))

    usual = work_out(patient, given, supplies)
    strict = work_out(patient, given, supplies, Settings(refused_from=Fraction(1, 200)))

    assert usual.refusal is None
    assert strict.refusal is not None
    assert strict.refusal.because.endswith("less than 0.5% is accepted.")


def test_a_drill_asks_by_the_share_of_its_service() -> None:
    """It freezes it, so that what was made stays as it was; nothing is said of the usual tenth."""
    rules = (rule("4 mL/kg/%", topic=BURN), rule("2 J/kg", topic=ENERGY, code="T2"))
    strict = Stores(rules=rules, settings=Settings(refused_from=Fraction(1, 20)))

    fluid, shock = burn(2, strict, seeded("strict")), energy(2, strict, seeded("strict"))
    as_usual = burn(2, Stores(rules=rules), seeded("strict"))

    assert json.loads(fluid.given)["refused_from"] == "5 %"
    assert "refused_from" not in shock.given + as_usual.given
