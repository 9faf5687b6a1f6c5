"""What a weight gives that was rightly rounded on the way is right; and joules are set whole."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem

# 150 lb: 68.1818 kg, told as 68.2 or 68.
DOSE = {"kind": "dose", "weight": "150 lb", "per_weight": "1 mg/kg", "concentration": "1 mg/mL"}
SHOCK = {"kind": "energy", "weight": "150 lb", "per_weight": "1 J/kg"}
# 4 x 68.1818 x 69 = 18,818.2 mL; by 68.2 kg 18,823.2, by 68 kg 18,768.
BURN = {"kind": "burn", "weight": "150 lb", "area": "69 %", "per": "4 mL/kg/%"}
BURNED = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "front of the trunk; left arm",
    "weight": "150 lb",
    "per": "4 mL/kg/%",
}
DRIP = {
    "kind": "drip",
    "weight": "150 lb",
    "dose_rate": "5 mcg/kg/min",
    "concentration": "1 mg/mL",
}
CONTAINERS = {**DOSE, "kind": "containers", "concentration": "10 mg / 2 mL"}


@pytest.mark.parametrize(
    ("given", "asked", "entered", "verdict"),
    [
        (DOSE, "dose", "68 mg", "right"),
        (DOSE, "dose", "68.2 mg", "right"),
        (DOSE, "dose", "0.068 g", "right"),
        (DOSE, "dose", "68.1 mg", "right"),
        (DOSE, "dose", "67 mg", "out of tolerance"),
        ({**DOSE, "weight": "68.1818 kg"}, "dose", "68 mg", "out of tolerance"),
        (DOSE, "volume", "68 mL", "right"),
        ({**DOSE, "max": "67.9 mg"}, "dose", "68 mg", "unsafe"),
        # 20.4545 kg are told as 20.5 kg, never as 20.
        ({**DOSE, "weight": "45 lb"}, "dose", "20.5 mg", "right"),
        ({**DOSE, "weight": "45 lb"}, "dose", "20 mg", "out of tolerance"),
        # A fixed dose has no weight to round.
        (
            {"kind": "dose", "weight": "150 lb", "fixed": "68.2 mg"},
            "dose",
            "68 mg",
            "out of tolerance",
        ),
        (CONTAINERS, "dose", "68 mg", "right"),
        (CONTAINERS, "volume", "13.6 mL", "right"),
        (BURN, "total", "18,768 mL", "right"),
        (BURN, "total", "18,823 mL", "right"),
        (BURN, "total", "18,790 mL", "right"),
        (BURN, "total", "18,760 mL", "out of tolerance"),
        (BURNED, "total", "7,344 mL", "right"),
        ({**BURNED, "weight": None, "per": None}, "area", "28 %", "out of tolerance"),
        (DRIP, "mL_per_min", "0.34 mL/min", "right"),
        (DRIP, "mL_per_min", "0.343 mL/min", "out of tolerance"),
        ({**DRIP, "pounds": "exact"}, "mL_per_min", "0.34 mL/min", "right"),
    ],
)
def test_what_a_rightly_rounded_weight_gives_is_right(
    given: dict[str, Any], asked: str, entered: str, verdict: str
) -> None:
    """Whoever may take 68 kg of 150 lb may give 68 mg, and what is nearer."""
    assert judge(read_problem(given), asked, entered).verdict == verdict


@pytest.mark.parametrize(
    ("weight", "entered", "verdict"),
    [
        ("150 lb", "68 J", "right"),
        ("20.45 kg", "20 J", "right"),
        ("20.45 kg", "20.5 J", "right"),
        ("20.45 kg", "21 J", "out of tolerance"),
        ("12.6 kg", "13 J", "right"),
        ("9.45 kg", "9.5 J", "right"),
        ("9.45 kg", "9 J", "right"),
        ("9.45 kg", "10 J", "out of tolerance"),
    ],
)
def test_joules_are_right_to_the_whole_one(weight: str, entered: str, verdict: str) -> None:
    """Nobody sets 20.45 J."""
    shock = read_problem({**SHOCK, "weight": weight})

    assert judge(shock, "energy", entered).verdict == verdict
    assert judge(shock, "energy", str(shock.solve().results["energy"].rounded)).verdict == "right"
