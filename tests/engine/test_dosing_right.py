"""What is right: a setting, the exact figure as it is told, or near it by mark and by share."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem

OUT = "out of tolerance"
LB45 = {"kind": "dose", "per_weight": "1 mg/kg", "weight": "45 lb", "rounding": "never up"}
BOLUS = {"kind": "dose", "per_weight": "15 mL/kg", "weight": "45 lb", "rounding": "never up"}
LB149 = LB45 | {"weight": "149 lb"}
BURN149 = {"kind": "burn", "per": "4 mL/kg/%", "area": "20 %", "weight": "149 lb"}
SHOCK = {"kind": "energy", "weight": "75 kg", "per_weight": "2 J/kg", "graduation": "50 J"}
CAPPED = {
    "kind": "energy",
    "weight": "88 lb",
    "per_weight": "2 J/kg",
    "max": "80 J",
    "graduation": "20 J",
}
BETWEEN = {"kind": "energy", "weight": "68.2 kg", "per_weight": "1 J/kg"}
TINY = {"kind": "dose", "weight": "3 kg", "per_weight": "0.01 mg/kg", "concentration": "1 mg/mL"}
DROPS = {"kind": "drip", "rate": "9 mL/h", "set": "20 gtt/mL"}
SLOW = {"kind": "drip", "rate": "0.3 mL/h"}
TABLET = {
    "kind": "dose",
    "fixed": "400 mg",
    "concentration": {"amount": "400 mg", "in": "1 tablet"},
}
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "pressure": "1800 psi",
    "residual": "200 psi",
    "flow": ["15 L/min"],
}
NEARLY_EMPTY = OXYGEN | {"pressure": "225 psi"}
BAG = {"kind": "drip", "volume": "10 mL", "over": "1 min", "bag": "12.5 mL"}
TUBE = {"kind": "tube", "age": "3 years", "cuff": "uncuffed"}
COMA = {
    "kind": "coma_score",
    "scale": "adult",
    "eyes": "spontaneous",
    "voice": "oriented",
    "movement": "obeys",
}
# 2.225 to 4.45 mL: set from 2.3 to 4.4 mL.
RANGE = {
    "kind": "dose",
    "per_weight": "0.1 mg/kg",
    "high": "0.2 mg/kg",
    "weight": "22.25 kg",
    "concentration": "1 mg/mL",
    "graduation": "0.1 mL",
}
# 2.33 to 2.37 mL: no mark lies inside, and 2.3 mL is set.
NARROW = RANGE | {"per_weight": "0.233 mg/kg", "high": "0.237 mg/kg", "weight": "10 kg"}
THIRDS = RANGE | {"concentration": "1.2 mg/mL", "weight": "28 kg"}
PUMP = {
    "kind": "drip",
    "dose_rate": "1 mg/h",
    "high": "10.54 mg/h",
    "concentration": "0.1 mg/mL",
}
VIALS = {"kind": "containers", "fixed": "8 mg", "concentration": "10 mg / 2 mL"}


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "verdict"),
    [
        # By a weight that was rounded up a child's dose would be rounded up.
        (LB45, "dose", "20.5 mg", OUT),
        (LB45, "dose", "20.4 mg", "right"),
        (LB45 | {"concentration": "1 mg/mL"}, "volume", "20.5 mL", OUT),
        (BOLUS, "dose", "307.5 mL", OUT),
        (BOLUS, "dose", "306 mL", "right"),
        (LB149, "dose", "68 mg", OUT),
        (LB149, "dose", "67 mg", "right"),
        (LB149 | {"rounding": "half up"}, "dose", "68 mg", "right"),
        (BURN149 | {"rounding": "never up"}, "total", "5440 mL", OUT),
        (BURN149, "total", "5440 mL", "right"),
        # Half a mark of a coarse device is more than can be called the same.
        (SHOCK, "energy", "126 J", OUT),
        (SHOCK, "energy", "174 J", OUT),
        (SHOCK, "energy", "151 J", OUT),
        (SHOCK, "energy", "150 J", "right"),
        (CAPPED, "energy", "72 J", OUT),
        (CAPPED, "energy", "80 J", "right"),
        (BETWEEN, "energy", "68.2 J", "right"),
        (BETWEEN, "energy", "68 J", "right"),
        (BETWEEN, "energy", "68.4 J", OUT),
        (BETWEEN | {"rounding": "never up", "weight": "68.26 kg"}, "energy", "68.3 J", OUT),
        (BETWEEN | {"rounding": "never up", "weight": "68.26 kg"}, "energy", "68.2 J", "right"),
        (TINY, "volume", "0.025 mL", OUT),
        (TINY, "volume", "0.03 mL", "right"),
        (TINY, "volume", "0.0285 mL", "right"),
        (TINY, "volume", "0.0284 mL", OUT),
        (DROPS, "gtt_per_min", "2.6 gtt/min", OUT),
        (DROPS, "gtt_per_min", "3 gtt/min", "right"),
        (DROPS | {"rate": "100 mL/h"}, "gtt_per_min", "33.3 gtt/min", "right"),
        (DROPS | {"rate": "100 mL/h"}, "gtt_per_min", "33 gtt/min", "right"),
        (DROPS | {"rate": "100 mL/h"}, "gtt_per_min", "33.6 gtt/min", OUT),
        (SLOW, "mL_per_h", "0.26 mL/h", OUT),
        (SLOW, "mL_per_h", "0.3 mL/h", "right"),
        (SLOW, "mL_per_h", "0.29 mL/h", "right"),
        # What runs out lasts no longer than the exact figure, however it is rounded.
        (OXYGEN, "minutes", "17.1 min", "unsafe"),
        (OXYGEN, "minutes", "17.07 min", "unsafe"),
        (OXYGEN, "minutes", "17.06 min", "right"),
        (OXYGEN, "minutes", "17 min", "right"),
        (OXYGEN, "minutes", "17.066666666667 min", "right"),
        (OXYGEN, "minutes", "17.2 min", "unsafe"),
        (OXYGEN, "minutes", "18 min", "unsafe"),
        (NEARLY_EMPTY, "minutes", "0.3 min", "unsafe"),
        (NEARLY_EMPTY, "minutes", "0.26 min", "right"),
        (BAG, "minutes", "1.3 min", "unsafe"),
        (BAG, "minutes", "1.25 min", "right"),
        # Above a range nothing can be set: half a mark is for the low end alone.
        (RANGE, "volume", "4.5 mL", OUT),
        (RANGE, "volume", "4.46 mL", OUT),
        (RANGE, "volume", "4.45 mL", "right"),
        (RANGE, "volume", "4.4 mL", "right"),
        (RANGE, "volume", "2.2 mL", "right"),
        (PUMP, "mL_per_h", "105.8 mL/h", OUT),
        (PUMP, "mL_per_h", "105 mL/h", "right"),
        # As it is told, and where no mark lies inside, the one that is set.
        (THIRDS, "volume", "4.67 mL", "right"),
        (THIRDS, "volume", "4.666666666667 mL", "right"),
        (THIRDS, "volume", "4.7 mL", OUT),
        (NARROW, "volume", "2.3 mL", "right"),
        (NARROW | {"per_weight": "0.235 mg/kg"}, "volume", "2.4 mL", "right"),
        # Whole things, and sizes that are made.
        (TUBE, "size", "4.8 mm", OUT),
        (TUBE, "size", "4.6 mm", OUT),
        (TUBE, "size", "4.5 mm", "right"),
        (TUBE, "size", "5 mm", "right"),
        (COMA, "points", "14.96 points", OUT),
        (COMA, "points", "15", "right"),
        (VIALS, "open", "0.999 vials", OUT),
        (VIALS, "open", "1 vial", "right"),
        (TABLET, "volume", "0.9 tablets", OUT),
        (TABLET, "volume", "1 tablet", "right"),
    ],
)
def test_right_is_what_can_be_set_or_is_told(
    problem: dict[str, Any], asked: str, entered: str, verdict: str
) -> None:
    """A setting, the exact figure to its own digits, or near by half a mark and a twentieth."""
    judged = judge(read_problem(problem), asked, entered)
    assert judged.verdict == verdict, judged.sentence


def test_who_is_above_a_range_is_told_its_end() -> None:
    """Half a mark decides below it, and nothing above it."""
    problem = read_problem(RANGE)

    assert judge(problem, "volume", "4.46 mL").sentence.endswith(
        "Above the range nothing is set: right is no more than 4.45 mL."
    )
    assert "Half a mark decides" in judge(problem, "volume", "2.16 mL").sentence
