"""No way out changes the route, and both ends of a range tell the limit that applied to them."""

from typing import Any

import pytest

from drills.engine.dosing.reading import read_problem, told_solution


def told(kind: str, **given: Any) -> dict[str, Any]:
    return told_solution(read_problem({"kind": kind} | given).solve())


@pytest.mark.parametrize(
    ("given", "offered"),
    [
        ({"concentration": "10 mg/mL", "per_site": "2 mL", "others": ["30 mg/tablet"]}, False),
        ({"concentration": "81 mg/tablet", "others": ["10 mg/mL"]}, False),
        ({"concentration": "10 mg/mL", "per_site": "2 mL", "others": ["15 mg/mL"]}, True),
        ({"concentration": "81 mg/tablet", "others": ["30 mg/tablet"]}, True),
    ],
    ids=["a muscle, no tablet", "a tablet, no vial", "a muscle, a vial", "tablets"],
)
def test_no_way_out_changes_the_route(given: dict[str, Any], offered: bool) -> None:
    """30 mg: what is given by another way is aboard, and is not offered."""
    ways = told("dose", fixed="30 mg", **given)["refused"]["instead"]

    assert any(each.startswith("Use what is aboard of ") for each in ways) == offered


def test_both_ends_of_a_drip_tell_the_maximum_that_cuts_them() -> None:
    """110 kg: 11 and 110 mcg/min, where 10 are the most."""
    given = {"weight": "110 kg", "dose_rate": "0.1 mcg/kg/min", "high": "1 mcg/kg/min"}
    found = told("drip", **given, max="10 mcg/min", concentration="4 mcg/mL")

    assert found["limit"] == "max"
    assert found["steps"][:-1] == [
        "The range begins at 0.1 mcg/kg/min",
        "110 kg x 0.1 mcg/kg/min = 11 mcg/min",
        "The maximum is 10 mcg/min: give 10 mcg/min",
        "10 mcg/min / 4 mcg/mL = 2.5 mL/min",
        "2.5 mL/min x 60 min/h = 150 mL/h",
        "The range goes to 1 mcg/kg/min",
        "110 kg x 1 mcg/kg/min = 110 mcg/min",
        "The maximum is 10 mcg/min: give no more than 10 mcg/min",
    ]


def test_a_drip_for_anybody_tells_it_too() -> None:
    """2 to 5 mg/min, where 1 is the most; and where the high end alone is cut."""
    drip = {"dose_rate": "2 mg/min", "high": "5 mg/min", "concentration": "4 mg/mL"}
    both = told("drip", **drip, max="1 mg/min")["steps"]
    one = told("drip", **drip, max="3 mg/min")["steps"]

    assert both[:2] == ["The range begins at 2 mg/min", "The maximum is 1 mg/min: give 1 mg/min"]
    assert both[4:6] == [
        "The range goes to 5 mg/min",
        "The maximum is 1 mg/min: give no more than 1 mg/min",
    ]
    assert one[0] == "Start with 2 mg/min"
    assert one[3:5] == [
        "The range goes to 5 mg/min",
        "The maximum is 3 mg/min: give no more than 3 mg/min",
    ]
    assert not [each for each in (*both, *one) if each.startswith("Go up to")]


def test_the_high_end_of_an_energy_tells_the_maximum() -> None:
    """120 kg at 4 to 10 J/kg, where 360 J are the most."""
    given = {"weight": "120 kg", "per_weight": "4 J/kg", "high": "10 J/kg", "max": "360 J"}

    assert told("energy", **given)["steps"] == [
        "120 kg x 4 J/kg = 480 J",
        "The maximum is 360 J: give 360 J",
        "120 kg x 10 J/kg = 1,200 J",
        "The maximum is 360 J: give no more than 360 J",
    ]


def test_a_dose_whose_ends_meet_both_limits_tells_both() -> None:
    """12 kg at 0.1 to 0.3 mg/kg, from 1.5 to 2 mg."""
    given = {"weight": "12 kg", "per_weight": "0.1 mg/kg", "high": "0.3 mg/kg"}
    found = told("dose", **given, min="1.5 mg", max="2 mg", concentration="1 mg/mL")

    assert (found["limit"], found["limit_high"]) == ("min", "max")
    assert found["steps"][:4] == [
        "12 kg x 0.1 to 0.3 mg/kg = 1.2 to 3.6 mg",
        "The minimum is 1.5 mg: give no less",
        "The maximum is 2 mg: give no more",
        "1.5 to 2 mg / 1 mg/mL = 1.5 to 2 mL",
    ]
