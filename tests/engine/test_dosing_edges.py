"""The working line by line, both ends of ranges, and what is told where something is left out."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import BurnProblem, DripProblem, ProblemError, judge
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.quantities import read_quantity

OXYGEN = {"kind": "oxygen", "factor": "0.28 L/psi", "pressure": "1,000 psi", "residual": "200 psi"}
DRIP = {"kind": "drip", "weight": "70 kg", "concentration": "1 mg/mL"}
BURN = {"kind": "burn", "weight": "80 kg", "area": "30 %", "per": "2 mL/kg/%"}
SHOCK = {"kind": "energy", "weight": "60 kg", "per_weight": "2 J/kg", "high": "4 J/kg"}


@pytest.mark.parametrize(
    ("problem", "steps"),
    [
        (
            {**OXYGEN, "flow": "10 L/min"},
            (
                "1,000 psi - 200 psi = 800 psi",
                "800 psi x 0.28 L/psi = 224 L",
                "224 L / 10 L/min = 22.4 min",
                "Rounded down: 22 min",
            ),
        ),
        (
            {**OXYGEN, "residual": "0 psi", "flow": ["10 L/min", "4,000 mL/min"]},
            (
                "1,000 psi x 0.28 L/psi = 280 L",
                "10 L/min + 4 L/min = 14 L/min",
                "280 L / 14 L/min = 20 min",
            ),
        ),
        (
            {"kind": "drip", "rate": "30 gtt/min", "set": "10 gtt/mL", "over": "30 min"},
            (
                "30 gtt/min / 10 gtt/mL = 3 mL/min",
                "3 mL/min x 60 min/h = 180 mL/h",
                "180 mL/h x 0.5 h = 90 mL",
            ),
        ),
        (
            {"kind": "drip", "rate": "180 mL/h", "set": "10 gtt/mL"},
            ("180 mL/h / 60 min/h = 3 mL/min", "3 mL/min x 10 gtt/mL = 30 gtt/min"),
        ),
        (
            {"kind": "drip", "rate": "0.5 L/h", "bag": "1 L"},
            (
                "0.5 L/h = 500 mL/h",
                "1,000 mL / 500 mL/h x 60 min/h = 120 min",
            ),
        ),
        (
            {"kind": "drip", "rate": "12 mL/h", "concentration": "100 units/mL"},
            ("12 mL/h x 100 units/mL = 1,200 units/h", "1,200 units/h / 60 min/h = 20 units/min"),
        ),
        (
            {**DRIP, "rate": "42 mL/h"},
            (
                "42 mL/h x 1 mg/mL = 42 mg/h",
                "42 mg/h / 60 min/h = 0.7 mg/min",
                "0.7 mg/min = 700 mcg/min",
                "700 mcg/min / 70 kg = 10 mcg/kg/min",
            ),
        ),
        (
            {**DRIP, "dose_rate": "2 mg/h"},
            ("2 mg/h / 1 mg/mL = 2 mL/h",),
        ),
        (
            {**DRIP, "dose_rate": "10 mcg/kg/min", "max": "0.5 mg/min"},
            (
                "70 kg x 10 mcg/kg/min = 700 mcg/min",
                "The maximum is 0.5 mg/min: give 500 mcg/min",
                "1 mg/mL = 1,000 mcg/mL",
                "500 mcg/min / 1,000 mcg/mL = 0.5 mL/min",
                "0.5 mL/min x 60 min/h = 30 mL/h",
            ),
        ),
        (
            {"kind": "drip", "volume": "1 L", "over": "8 h"},
            ("1,000 mL / 8 h = 125 mL/h",),
        ),
        (
            {"kind": "drip", "volume": "100 mL", "over": "20 min"},
            ("100 mL / 20 min = 5 mL/min", "5 mL/min x 60 min/h = 300 mL/h"),
        ),
        (
            {**BURN, "weight": "176 lb"},
            (
                "176 lb / 2.2 = 80 kg",
                "2 mL/kg/% x 80 kg x 30% = 4,800 mL",
                "4,800 mL / 2 = 2,400 mL",
                "2,400 mL / 8 h = 300 mL/h",
            ),
        ),
        (
            {**SHOCK, "max": "200 J"},
            (
                "60 kg x 2 J/kg = 120 J",
                "60 kg x 4 J/kg = 240 J",
                "The maximum is 200 J: give no more than 200 J",
            ),
        ),
        (
            {
                "kind": "dose",
                "weight": "5 kg",
                "per_weight": "0.02 L/kg",
                "concentration": "10 %",
            },
            ("5 kg x 0.02 L/kg = 0.1 L", "100 mL x 100 mg/mL = 10,000 mg"),
        ),
        (
            {"kind": "dose", "fixed": "1,500 mcg", "concentration": "2 mg/mL"},
            (
                "Fixed dose: 1,500 mcg",
                "2 mg/mL = 2,000 mcg/mL",
                "1,500 mcg / 2,000 mcg/mL = 0.75 mL",
            ),
        ),
        (
            {
                "kind": "dose",
                "weight": "20 kg",
                "per_weight": "20 mg/kg",
                "concentration": {"amount": "1 g", "in": "10 mL"},
            },
            (
                "20 kg x 20 mg/kg = 400 mg",
                "0.1 g/mL = 100 mg/mL",
                "400 mg / 100 mg/mL = 4 mL",
            ),
        ),
        (
            {
                "kind": "dose",
                "fixed": "400 mg",
                "concentration": {"amount": "1 g", "in": "3 mL"},
            },
            ("Fixed dose: 400 mg", "1 g = 1,000 mg", "400 mg x 3 mL / 1,000 mg = 1.2 mL"),
        ),
        (
            {"kind": "dose", "fixed": "10 g", "concentration": "10 %"},
            ("Fixed dose: 10 g", "100 mg/mL = 0.1 g/mL", "10 g / 0.1 g/mL = 100 mL"),
        ),
        ({"kind": "weight", "from": "20 kg"}, ("20 kg",)),
        (
            {"kind": "weight", "from": "10 lb", "pounds": "exact"},
            ("10 lb x 0.45359237 ≈ 4.53592 kg",),
        ),
        (
            {"kind": "dilution", "concentration": "1:1,000", "volume": "1 mL", "to": "1 L"},
            ("1 mL x 1 mg/mL = 1 mg", "1 mg / 1,000 mL = 0.001 mg/mL"),
        ),
    ],
)
def test_the_working_is_told_line_by_line(problem: dict[str, Any], steps: tuple[str, ...]) -> None:
    """Each in the unit that the next line takes it in."""
    told = read_problem(problem).solve().steps

    assert tuple(each for each in told if not each.startswith("By marks")) == steps


@pytest.mark.parametrize(
    ("problem", "name", "figures"),
    [
        (
            {"kind": "dose", "weight": "20 kg", "per_weight": "0.1 mg/kg", "high": "0.2 mg/kg"},
            "dose",
            ("2", "2", "4", "4"),
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "high": "2 mg", "concentration": "3 mg/mL"},
            "volume",
            ("0.333333333333", "0.34", "0.666666666667", "0.66"),
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "high": "2 mg", "doses": 2},
            "total",
            ("2", "2", "4", "4"),
        ),
        (SHOCK, "energy", ("120", "120", "240", "240")),
        ({**SHOCK, "max": "200 J"}, "energy", ("120", "120", "200", "200")),
        (
            {**DRIP, "dose_rate": "2 mcg/min", "high": "10 mcg/min"},
            "mL_per_h",
            ("0.12", None, "0.6", None),
        ),
    ],
)
def test_both_ends_of_a_range_are_told(
    problem: dict[str, Any], name: str, figures: tuple[str, ...]
) -> None:
    """Exact and as set; a figure that is no range has no high end."""
    told = told_solution(read_problem(problem).solve())["results"][name]
    names = ("exact", "rounded", "exact_high", "rounded_high")

    assert tuple(told[each] for each in names) == figures
    single = told_solution(read_problem({**problem, "high": None}).solve())["results"][name]
    assert single.keys() == {"exact", "rounded", "unit"}


@pytest.mark.parametrize(
    ("limits", "limit", "limit_high"),
    [
        ({}, None, None),
        ({"max": "3 mg"}, "max", "max"),
        ({"min": "3 mg"}, "min", None),
        ({"min": "2.5 mg", "max": "3 mg"}, "min", "max"),
        # Both ends at one limit: no range is left.
        ({"max": "1 mg"}, "max", None),
        ({"min": "9 mg"}, "min", None),
        ({"high": None, "max": "1 mg"}, "max", None),
    ],
)
def test_the_end_of_a_range_that_met_a_limit_is_told(
    limits: dict[str, str], limit: str | None, limit_high: str | None
) -> None:
    """2 to 4 mg: `limit_high` is of the high end, `limit` without it of the low one."""
    ranged = {"kind": "dose", "weight": "20 kg", "per_weight": "0.1 mg/kg", "high": "0.2 mg/kg"}
    told = told_solution(read_problem(ranged | limits).solve())

    assert (told["limit"], told["limit_high"]) == (limit, limit_high)


@pytest.mark.parametrize(
    ("problem", "asked", "given", "verdict"),
    [
        (SHOCK, "energy", "120 J", "right"),
        (SHOCK, "energy", "180 J", "right"),
        (SHOCK, "energy", "240 J", "right"),
        (SHOCK, "energy", "250 J", "out of tolerance"),
        (SHOCK, "energy", "288 J", "unsafe"),
        (SHOCK, "energy", "100 J", "out of tolerance"),
        ({**SHOCK, "max": "200 J"}, "energy", "201 J", "unsafe"),
        ({**BURN, "error_limit": "5 %"}, "total", "5,040 mL", "unsafe"),
        ({**BURN, "error_limit": "20 %"}, "total", "5,040 mL", "out of tolerance"),
        ({**BURN, "graduation": "50 mL/h"}, "first_half_rate", "310 mL/h", "right"),
        ({**BURN, "graduation": "500 mL"}, "first_half_rate", "310 mL/h", "out of tolerance"),
        ({**BURN, "graduation": "500 mL"}, "total", "4,900 mL", "right"),
        ({**OXYGEN, "pressure": "200 psi", "flow": "1 L/min"}, "minutes", "0 min", "right"),
        ({**OXYGEN, "pressure": "200 psi", "flow": "1 L/min"}, "minutes", "1 min", "unsafe"),
        # No mark comes near 0.025 mL: as told alone it is right to three figures.
        (
            {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"},
            "volume",
            "0.02504 mL",
            "right",
        ),
        (
            {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"},
            "volume",
            "0.0251 mL",
            "out of tolerance",
        ),
        (
            {"kind": "dose", "fixed": "2 mg", "concentration": "10 mg/mL"},
            "dose",
            "0.2 mL",
            "unreadable",
        ),
    ],
)
def test_an_answer_is_judged_by_its_own_range_and_limit(
    problem: dict[str, Any], asked: str, given: str, verdict: str
) -> None:
    """Anywhere inside a range is right; a graduation counts for figures of its own kind alone."""
    assert judge(read_problem(problem), asked, given).verdict == verdict


@pytest.mark.parametrize(
    ("problem", "asked", "given", "slips"),
    [
        ({**SHOCK, "high": None, "max": "100 J"}, "energy", "120 J", ["no-maximum"]),
        ({**SHOCK, "high": None}, "energy", "54.5 J", ["kg-as-pounds"]),
        (BURN, "first_half_rate", "5 mL/h", ["minute-for-hour"]),
        (BURN, "total", "80 mL", []),
        ({"kind": "dose", "fixed": "2 mg", "doses": 2}, "total", "2 mg", ["each-for-total"]),
        ({"kind": "dose", "fixed": "2 mg", "doses": 2}, "dose", "4 mg", ["total-for-each"]),
        (
            {"kind": "dose", "weight": "44 lb", "per_weight": "0.1 mg/kg", "max": "3 mg"},
            "dose",
            "3 mg",
            [],
        ),
        (
            {**DRIP, "dose_rate": "10 mcg/kg/min", "max": "0.5 mg/min"},
            "mL_per_h",
            "42 mL/h",
            ["no-maximum"],
        ),
    ],
)
def test_a_slip_is_of_the_figure_that_was_asked(
    problem: dict[str, Any], asked: str, given: str, slips: list[str]
) -> None:
    """A total runs in no minute; what is the maximum is made by it, whatever the weight was."""
    assert [each.key for each in judge(read_problem(problem), asked, given).slips] == slips


@pytest.mark.parametrize(
    ("problem", "error"),
    [
        ({"kind": "dose", "fixed": "2 mg", "high": "1 mg"}, "fixed: 2 mg is more than the high"),
        ({"kind": "dose", "fixed": "0 mg"}, "fixed: 0 mg came in; it is more than nothing"),
        ({**BURN, "error_limit": "20.1 %"}, "error_limit: 20.1% came in; up to 20 %"),
        ({**BURN, "error_limit": "0 %"}, "error_limit: 0% came in"),
        ({**BURN, "weight": 44}, "weight: 44 came in"),
        ({**BURN, "weight": 10**90}, "weight: a long number came in"),
        ({**BURN, "weight": "650.1 kg"}, "weight: 650.1 kg came in; 0.2 kg to 650"),
        ({"kind": "dose", "fixed": "2 mg", "doses": 101}, "doses: 101 came in; 1 to 100"),
        ({"kind": "potion"}, "kind: 'potion' is none of weight, dose"),
        ({**DRIP, "rate": "5 mL/h", "high": "5 mcg/min"}, "high: it goes with a dose_rate"),
    ],
)
def test_a_refused_field_says_what_came_in(problem: dict[str, Any], error: str) -> None:
    """And what would be taken."""
    with pytest.raises(ProblemError) as refused:
        read_problem(problem)
    assert str(refused.value).startswith(error)


@pytest.mark.parametrize("weight", ["650 kg", "1,430 lb"])
def test_the_greatest_weight_is_taken(weight: str) -> None:
    """650 kg; a thousandth more is a slip in the problem."""
    assert read_problem({**BURN, "weight": weight}).solve().results["total"].exact.amount == 39_000


def test_pounds_are_divided_where_nothing_else_is_said() -> None:
    """By 2.2, in a problem that is made without the plain data too."""
    pounds = read_quantity("22 lb")
    burn = BurnProblem(
        weight=pounds, area=read_quantity("10 %"), per=read_quantity("2 mL/kg/%")
    ).solve()
    drip = DripProblem(
        dose_rate=read_quantity("6 mcg/kg/min"), weight=pounds, strength=read_quantity("1 mcg/mL")
    ).solve()

    assert burn.results["total"].exact == read_quantity("200 mL")
    assert drip.results["mL_per_min"].exact == read_quantity("60 mL/min")


def test_a_dose_that_rounds_to_its_maximum_is_told_as_it() -> None:
    """99.96 mg of at most 100 mg is told as 100 mg; of at most 99.97 mg it is not."""
    for most, told in (("100 mg", "100"), ("99.97 mg", "99.96")):
        capped = read_problem({"kind": "dose", "fixed": "99.96 mg", "max": most}).solve()
        rounded = capped.results["dose"].rounded
        assert rounded is not None
        assert rounded.amount == Fraction(told)
