"""Fluid by weight and time: so many mL for each kg and hour."""

from typing import Any

import pytest

from drills.engine.dosing import ProblemError, judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import DRIP
from tests.engine.treating import CHILD as A_CHILD
from tests.engine.treating import carrying, rule

CHILD = {"kind": "drip", "weight": "44 lb"}


@pytest.mark.parametrize("field", ["rate", "dose_rate"])
def test_fluid_by_weight_is_solved_wherever_it_is_told(field: str) -> None:
    """4 mL/kg/h of 20 kg are 80 mL/h, told as a rate or as a dose rate."""
    solved = read_problem({**CHILD, field: "4 mL/kg/h", "set": "15 gtt/mL", "bag": "1 L"}).solve()
    told = {name: str(each.rounded) for name, each in solved.results.items()}

    assert told == {
        "mL_per_h": "80 mL/h",
        "mL_per_min": "1.33 mL/min",
        "gtt_per_min": "20 gtt/min",
        "minutes": "750 min",
    }
    assert solved.steps[:2] == ("44 lb / 2.2 = 20 kg", "20 kg x 4 mL/kg/h = 80 mL/h")


def test_fluid_by_weight_and_minute_is_turned_into_hours() -> None:
    """0.0005 L/kg/min of 20 kg, at most 5 mL/min."""
    solved = read_problem({**CHILD, "rate": "0.0005 L/kg/min", "max": "5 mL/min"}).solve()

    assert str(solved.results["mL_per_h"].rounded) == "300 mL/h"
    assert solved.limit == "max"
    assert solved.steps == (
        "44 lb / 2.2 = 20 kg",
        "20 kg x 0.0005 L/kg/min = 0.01 L/min",
        "The maximum is 5 mL/min: give 0.005 L/min",
        "0.005 L/min x 60 min/h = 300 mL/h",
    )


@pytest.mark.parametrize(
    ("entered", "verdict", "slips"),
    [
        ("80 mL/h", "right", []),
        ("120 mL/h", "right", []),
        ("176 mL/h", "unsafe", ["pounds-as-kg"]),
        ("4 mL/h", "unsafe", ["no-weight"]),
        ("1.33 mL/h", "unsafe", ["minute-for-hour"]),
        ("100 mL/h", "right", []),
        ("125 mL/h", "out of tolerance", []),
    ],
)
def test_fluid_by_weight_is_judged_with_its_slips(
    entered: str, verdict: str, slips: list[str]
) -> None:
    """80 to 120 mL/h of 20 kg."""
    found = judge(
        read_problem({**CHILD, "dose_rate": "4 mL/kg/h", "high": "6 mL/kg/h"}), "mL_per_h", entered
    )

    assert (found.verdict, [each.key for each in found.slips]) == (verdict, slips)


@pytest.mark.parametrize(
    ("problem", "error"),
    [
        ({"rate": "4 mL/kg/h", "weight": None}, "weight: it is missing"),
        ({"rate": "4 mL/kg/h", "dose_rate": "4 mL/kg/h"}, "rate: a drip has one of"),
        ({"rate": "4 mL/kg/h", "volume": "1 L", "over": "1 h"}, "rate: a drip has one of"),
        ({"rate": "4 mL/kg/h", "concentration": "10 %"}, "concentration: 4 mL/kg/h is a volume"),
        ({"rate": "4 mL/kg/h", "max": "5 mL/min"}, "max: 5 mL/min came in"),
        ({"rate": "4 mL/kg/h", "high": "5 mL/h"}, "high: 5 mL/h came in"),
        ({"rate": "4 mL/kg/h", "high": "3 mL/kg/h"}, "dose_rate: 4 mL/kg/h is more than the high"),
    ],
)
def test_fluid_by_weight_that_lacks_a_thing_is_refused_by_its_field(
    problem: dict[str, Any], error: str
) -> None:
    """A weight it needs, and a strength it has not."""
    with pytest.raises(ProblemError) as refused:
        read_problem({**CHILD, **problem})
    assert str(refused.value).startswith(error)


def test_a_rule_of_fluid_by_weight_and_time_is_worked_out_for_a_patient() -> None:
    """4 mL/kg/h of 20 kg, with a maximum of 60 mL/h too."""
    bag = carrying("1,000 mL")
    free = work_out(A_CHILD, rule("4 mL/kg/h", packed="1,000 mL", topic=DRIP), bag)
    capped = work_out(
        A_CHILD, rule("4 mL/kg/h", packed="1,000 mL", topic=DRIP, maximum="60 mL/h"), bag
    )

    assert str(free.results["mL_per_h"].rounded) == "80 mL/h"
    assert (str(capped.results["mL_per_h"].rounded), capped.limit) == ("60 mL/h", "max")
