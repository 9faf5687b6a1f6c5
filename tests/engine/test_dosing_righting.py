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
