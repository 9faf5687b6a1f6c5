"""The line that puts a slip right: where the slip is made, and the same for door and drill."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.righting import line_for
from drills.engine.dosing.working import steps_to

BY_WEIGHT = {"kind": "dose", "per_weight": "0.1 mg/kg", "concentration": "2 mg/mL"}
CHILD = {**BY_WEIGHT, "weight": "20 kg"}
PUMP = {
    "kind": "drip",
    "dose_rate": "5 mcg/kg/min",
    "weight": "80 kg",
    "concentration": "1600 mcg/mL",
    "graduation": "1 mL/h",
}
BURN = {
    "kind": "burn",
    "weight": "60 kg",
    "area": "40 %",
    "per": "2 mL/kg/%",
    "since_injury": "2 h",
}
OXYGEN = {"kind": "oxygen", "cylinder": "D", "residual": "200 psi"}
TWO_PATIENTS = {
    "kind": "cylinders",
    "factor": "0.16 L/psi",
    "residual": "200 psi",
    "pressures": ["1,500 psi", "2,000 psi"],
    "flow": ["10 L/min", "6 L/min"],
}
HALVED = "4,800 mL / 2 = 2,400 mL"
WEIGHED = "20 kg x 0.1 mg/kg = 2 mg"


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "slip", "line"),
    [
        (
            {**BY_WEIGHT, "weight": "44 lb"},
            "volume",
            "2.2 mL",
            "pounds-as-kg",
            "44 lb / 2.2 = 20 kg",
        ),
        (
            {**BY_WEIGHT, "weight": "44 lb"},
            "volume",
            "4.84 mL",
            "pounds-multiplied",
            "44 lb / 2.2 = 20 kg",
        ),
        (CHILD, "volume", "0.45 mL", "kg-as-pounds", WEIGHED),
        (CHILD, "volume", "2.2 mL", "kg-to-pounds", WEIGHED),
        (CHILD, "volume", "0.05 mL", "no-weight", WEIGHED),
        (
            {**CHILD, "max": "1.5 mg"},
            "volume",
            "1 mL",
            "no-maximum",
            "The maximum is 1.5 mg: give 1.5 mg",
        ),
        (
            {**CHILD, "min": "3 mg"},
            "volume",
            "1 mL",
            "no-minimum",
            "The minimum is 3 mg: give 3 mg",
        ),
        (
            {**OXYGEN, "pressure": "1,500 psi", "flow": "10 L/min"},
            "minutes",
            "24 min",
            "no-residual",
            "1,500 psi - 200 psi = 1,300 psi",
        ),
        (
            TWO_PATIENTS,
            "minutes",
            "49 min",
            "one-patient",
            "10 L/min + 6 L/min = 16 L/min",
        ),
        (BURN, "first_half_rate", "300 mL/h", "from-arrival", "8 h - 2 h = 6 h"),
        (BURN, "first_half_rate", "800 mL/h", "burn-doubled", HALVED),
        (BURN, "first_half_rate", "200 mL/h", "burn-halved", HALVED),
        (PUMP, "mL_per_h", "0.25 mL/h", "minute-for-hour", "0.25 mL/min x 60 min/h = 15 mL/h"),
    ],
)
def test_a_slip_is_put_right_where_it_is_made(
    problem: dict[str, Any], asked: str, entered: str, slip: str, line: str
) -> None:
    """The door's sentence and the drill's working show the line that was left out or got wrong."""
    read = read_problem(problem)

    judged = judge(read, asked, entered)

    assert [each.key for each in judged.slips] == [slip]
    assert f"Right: {line}" in judged.sentence
    assert line_for(judged.slips[0], steps_to(read.solve(), asked)) == line


@pytest.mark.parametrize(
    ("problem", "asked", "entered"),
    [
        # 16.8 minutes with the residual: 16 is as well 15.2 rounded up.
        (
            {**OXYGEN, "pressure": "2,000 psi", "flow": ["15 L/min", "4 L/min"]},
            "minutes",
            "16 min",
        ),
        (
            {
                "kind": "energy",
                "weight": "6 kg",
                "per_weight": "2 J/kg",
                "max": "9 J",
                "graduation": "5 J",
            },
            "energy",
            "5 J",
        ),
        (
            {
                "kind": "dose",
                "fixed": "1.3 mg",
                "concentration": "1 mg/mL",
                "graduation": "0.2 mL",
                "refused_from": "5 %",
            },
            "volume",
            "1.4 mL",
        ),
    ],
)
def test_a_mark_beside_what_is_right_is_rounded_and_no_slip(
    problem: dict[str, Any], asked: str, entered: str
) -> None:
    """Who took the other mark is not told that something was forgotten."""
    judged = judge(read_problem(problem), asked, entered)

    assert judged.verdict != "right"
    assert (judged.slips, judged.possibly) == ((), ())


def test_a_limit_that_did_not_apply_was_not_forgotten() -> None:
    """The dose is 2 mg with its minimum and without it."""
    problem = {**CHILD, "concentration": "3 mg/mL", "min": "2 mg", "max": "2 mg"}

    judged = judge(read_problem(problem), "volume", "0.66 mL")

    assert judged.slips == ()


@pytest.mark.parametrize(
    ("entered", "verdict"), [("40.1 mg", "right"), ("40 mg", "unsafe"), ("39 mg", "unsafe")]
)
def test_a_limit_of_a_rule_holds_for_a_weight_in_whole_kilograms_too(
    entered: str, verdict: str
) -> None:
    """88.9 lb are 40 kg as they may be told, 1.01 % off: a rule's limit of 1 % is tighter."""
    problem = {
        "kind": "dose",
        "weight": "88.9 lb",
        "per_weight": "1 mg/kg",
        "error_limit": "1 %",
    }

    assert judge(read_problem(problem), "dose", entered).verdict == verdict


def test_both_ends_of_a_range_are_told_where_no_mark_comes_near() -> None:
    """0.4 mL is as right as 0.2 mL, whatever the syringe aboard can measure."""
    problem = {**BY_WEIGHT, "weight": "20 kg", "per_weight": "0.01 mg/kg", "high": "0.02 mg/kg"}
    read = read_problem({**problem, "concentration": "1 mg/mL", "graduation": "1 mL"})

    assert read.solve().results["volume"].answer == "0.2 mL, up to 0.4 mL"
    assert (
        "0.2 to 0.4 mL, which no mark aboard comes near"
        in judge(read, "volume", "0.41 mL").sentence
    )


def test_what_is_told_as_right_is_never_past_the_maximum() -> None:
    """Two thirds of a mL are told as 0.666 mL where 0.667 mL is too much."""
    problem = read_problem({**CHILD, "concentration": "3 mg/mL", "min": "2 mg", "max": "2 mg"})

    told = problem.solve().results["volume"].answer

    assert told == "0.666 mL"
    assert not judge(problem, "volume", told).is_past_maximum
