"""No way out changes the route, and both ends of a range tell the limit that applied to them."""

from typing import Any

import pytest

from drills.engine.dosing import ProblemError, judge
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


# Never rounded up, as a service may have it for a child.
NEVER_UP = {"rounding": "never up"}
DOUBLED = (("total", "9,600 mL"), ("first_half_rate", "600 mL/h"))
RISING = {"high": "3.07 mL/kg/h", "weight": "10 kg", "set": "60 gtt/mL"}


@pytest.mark.parametrize(
    ("problem", "said"),
    [
        (
            {"kind": "dose", "fixed": "0.34 mg", "high": "1.25 mg", "concentration": "1 mg/mL"}
            | {"graduation": "0.1 mL"},
            "apart, the high end never rounded up for a child: 0.4 mL, up to 1.2 mL",
        ),
        (
            {"kind": "drip", "dose_rate": "1.038 mL/kg/h"} | RISING,
            "Whole drops, the high end never rounded up for a child: 11 gtt/min, up to 30 gtt/min",
        ),
        (
            {"kind": "energy", "weight": "8.5 kg", "per_weight": "4 J/kg", "high": "10 J/kg"}
            | {"graduation": "10 J"},
            "apart, the high end never rounded up for a child: 40 J, up to 80 J",
        ),
        (
            {"kind": "dose", "fixed": "0.37 mg", "concentration": "1 mg/mL"}
            | {"graduation": "0.05 mL"},
            "By marks 0.05 mL apart, never rounded up for a child: 0.35 mL",
        ),
    ],
    ids=["volume", "drops", "energy", "one figure"],
)
def test_what_is_said_of_never_rounding_up_is_true(problem: dict[str, Any], said: str) -> None:
    """The first mark inside a range lies above its low end."""
    steps = told(problem.pop("kind"), **problem, **NEVER_UP)["steps"]

    assert any(each.endswith(said) for each in steps)


@pytest.mark.parametrize(
    ("problem", "barred"),
    [
        (
            {"kind": "drip", "weight": "3.1 kg", "dose_rate": "2 mcg/kg/min"}
            | {"high": "20 mcg/kg/min", "concentration": "1.6 mg/mL"},
            "the nearest that is not under the low end of the range, 0.3 mL/h, is 29% off",
        ),
        (
            {"kind": "dose", "fixed": "1.04 mg", "min": "1.01 mg", "concentration": "1 mg/mL"}
            | {"graduation": "0.2 mL"},
            "the nearest that is not under the minimum, 1.2 mL, is 15% off",
        ),
    ],
)
def test_a_refusal_names_the_end_or_the_minimum_that_there_is(
    problem: dict[str, Any], barred: str
) -> None:
    """A drip has no minimum."""
    assert barred in told(problem.pop("kind"), **problem)["refused"]["because"]


@pytest.mark.parametrize(
    ("packed", "container", "said"),
    [
        ({"amount": "1 mg", "in": "0.5 mL"}, "vial", "0.5 mL and 4.5 mL of diluent are 0.2 mg/mL"),
        ({"amount": "2 mg", "in": "1 mL"}, "vial", "1 mL and 9 mL of diluent are 0.2 mg/mL"),
        ({"amount": "4 mg", "in": "2 mL"}, "vial", "1 mL and 9 mL of diluent are 0.2 mg/mL"),
        ({"amount": "1 mg", "in": "0.5 mL"}, "syringe", ""),
    ],
)
def test_what_is_diluted_is_what_one_container_holds(
    packed: dict[str, str], container: str, said: str
) -> None:
    """0.02 mg of 2 mg/mL; what comes in a syringe is given as it is, and not diluted."""
    given = {"concentration": packed, "graduation": "0.1 mL", "container": container}
    ways = told("dose", fixed="0.02 mg", **given)["refused"]["instead"]
    diluted = [each for each in ways if each.startswith("Dilute it")]

    assert len(diluted) == bool(said)
    assert not said or f": {said}, of which 0.1 mL hold the dose." in diluted[0]


def test_what_takes_two_containers_is_diluted_by_whole_ones() -> None:
    """3.4 mg of 1 mg in 0.7 mL are 2.38 mL: four of them, and not 3 mL."""
    packed = {"amount": "1 mg", "in": "0.7 mL"}
    ways = told("dose", fixed="3.4 mg", concentration=packed, graduation="1 mL")["refused"]

    assert "2.8 mL and 25.2 mL of diluent" in ways["instead"][0]


@pytest.mark.parametrize(
    ("problem", "accepted"),
    [
        ({"kind": "dose", "fixed": "2 mL", "graduation": "1 tablet"}, "mL"),
        (
            {"kind": "dose", "fixed": "2 mg", "concentration": "1 mg/mL", "graduation": "1 tablet"},
            "mg or mL",
        ),
        ({"kind": "drip", "rate": "20 mL/h", "graduation": "5 gtt/min"}, "mL/h or mL/min"),
        (
            {"kind": "drip", "rate": "20 mL/h", "graduation": "5 gtt/h", "set": "20 gtt/mL"},
            "mL/h or mL/min or gtt/min",
        ),
    ],
)
def test_marks_that_nothing_is_set_by_are_refused(problem: dict[str, Any], accepted: str) -> None:
    """And never lost, so that something is marked otherwise."""
    with pytest.raises(ProblemError) as refused:
        read_problem(problem)

    said = f"graduation: {problem['graduation']} came in; what is set here is told in {accepted}."
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("problem", "of", "is_set"),
    [
        (
            {"kind": "drip", "rate": "13 mL/h", "set": "10 gtt/mL", "refused_from": "2 %"},
            "gtt_per_min",
            "mL_per_h",
        ),
        ({"kind": "dose", "fixed": "0.03 mg", "concentration": "10 mg/mL"}, "volume", "dose"),
        (
            {"kind": "burn", "weight": "10 kg", "area": "30 %", "per": "2 mL/kg/%"}
            | {"since_injury": "9 h"},
            "first_half_rate",
            "total",
        ),
    ],
)
def test_a_refusal_says_which_figure_it_is_of(
    problem: dict[str, Any], of: str, is_set: str
) -> None:
    """A rate that is set stands beside drops that are not."""
    found = told(problem.pop("kind"), **problem)

    assert found["refused"]["of"] == of
    assert found["results"][is_set]["rounded"] is not None


def test_one_unit_is_told_without_an_s() -> None:
    steps = told("dose", fixed="2 units", concentration="1 units/mL")["steps"]

    assert "2 units / 1 unit/mL = 2 mL" in steps


def test_twice_the_fluid_of_a_day_is_not_called_the_whole_of_it() -> None:
    """2 mL/kg/% x 80 kg x 30 % are 4,800 mL, which was asked whole."""
    burn = read_problem({"kind": "burn", "weight": "80 kg", "area": "30 %", "per": "2 mL/kg/%"})
    total, rate = (judge(burn, *each).sentence for each in DOUBLED)

    for said in (total, rate):
        assert "twice as much: the fluid was doubled, or not halved where half is due" in said
