"""How far off an answer is, in words; and what is told where a problem has less or more in it."""

from typing import Any

import pytest

from drills.engine.door import shown
from drills.engine.dosing import ProblemError, judge, why_unread
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.saying import off
from drills.engine.lines import span
from drills.engine.quantities import read_quantity

DOSE = {"kind": "dose", "weight": "20 kg", "per_weight": "0.1 mg/kg", "concentration": "4 mg/mL"}
BURNED = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "front of the trunk",
}
FLUID = {"weight": "80 kg", "per": "2 mL/kg/%"}
CYLINDERS = {
    "kind": "cylinders",
    "factor": "0.16 L/psi",
    "pressures": ["1,200 psi", "2,200 psi"],
    "flow": "10 L/min",
    "residual": "200 psi",
}


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("4 mg", "2 times as much as is right"),
        ("3.9 mg", "95% too much"),
        ("6.2 mg", "3.1 times as much as is right"),
        ("2.09 mg", "4.5% too much"),
        ("2.19 mg", "9.5% too much"),
        ("2.21 mg", "10.5% too much"),
        ("1.7 mg", "15% too little"),
        ("1.605 mg", "19.8% too little"),
        ("2.1999 mg", "9.995% too much"),
        ("1.60002 mg", "19.999% too little"),
        ("1.91 mg", "4.5% too little"),
    ],
)
def test_how_far_off_is_told_as_people_say_it(entered: str, said: str) -> None:
    """From double on in times; below ten percent with a tenth, from there on in whole ones, and
    finer where a whole one would be told that is not reached: 20 % is unsafe, 19.8 is not."""
    sentence = judge(read_problem(DOSE), "dose", entered).sentence

    assert sentence.split(". Right")[0].partition(", ")[2] == said


def test_less_than_can_be_told_says_its_side() -> None:
    """0.04 % of 30 mL, past what the syringe can measure."""
    problem = {
        "kind": "dose",
        "fixed": "3 mg",
        "concentration": "1 mg/mL",
        "graduation": "0.001 mL",
    }

    judged = judge(read_problem(problem), "volume", "3.001 mL")

    assert judged.sentence.startswith("Out of tolerance, less than 0.1% too much. ")


def test_an_amount_in_place_of_its_volume_is_told_by_its_unit_and_never_as_a_mark() -> None:
    """1 mg is the right dose of 1 mg/mL; the volume was asked for."""
    problem = read_problem({"kind": "dose", "fixed": "1 mg", "concentration": "1 mg/mL"})

    whole, half = (judge(problem, "volume", each) for each in ("1 mg", "0.5 mg"))

    assert off(whole) == "in mg, and mL was asked for"
    assert off(half) == "in mg, and mL was asked for; 50% too little"
    assert off(judge(problem, "volume", "1 mL")) == ""
    assert off(judge(problem, "volume", "0.5 mL")) == "50% too little"


def test_the_most_of_a_range_is_told_as_the_judge_takes_it() -> None:
    """0.667 mL is right of 0.666667 mL, so no less than that is called the most."""
    problem = read_problem(
        {
            "kind": "dose",
            "weight": "10 kg",
            "per_weight": "0.1 mg/kg",
            "high": "0.2 mg/kg",
            "concentration": "3 mg/mL",
            "graduation": "0.01 mL",
        }
    )

    past = judge(problem, "volume", "0.668 mL")

    assert judge(problem, "volume", "0.667 mL").verdict == "right"
    assert past.verdict == "out of tolerance"
    assert "right is no more than 0.667 mL" in past.sentence


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("1 1/2 tablets", "'1 1/2' is no number; write 1.5."),
        ("1/2 tablet", "'1/2' is no number; write 0.5."),
        ("1½ tablets", "'1½' is no number; write 1.5."),
        ("1/3 mL", "'1/3' is no number; write 0.333."),
        ("1/0 mL", "'/0' is no unit that is read."),
    ],
)
def test_a_fraction_is_told_in_decimals(written: str, said: str) -> None:
    """Who writes halves is told how they are written here."""
    assert why_unread(written).because == said


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("x" * 80, repr("x" * 80)),
        ("x" * 81, repr("x" * 80 + "...")),
        ([1, 2], "a list"),
        ({"a": 1}, "an object"),
        (10**80, "a long number"),
        (-(10**80), "a long number"),
        (10**80 - 1, str(10**80 - 1)),
        (True, "true"),
        (None, "null"),
        ([], "an empty list"),
        ({}, "an empty object"),
        (1.5, "1.5"),
    ],
)
def test_what_came_in_is_shown_up_to_its_length(value: Any, told: str) -> None:
    """Nothing nested is printed, and nothing endless."""
    assert shown(value) == told


@pytest.mark.parametrize(
    ("low", "high", "told"), [("2 mg", "2 mg", "2 mg"), ("2 mg", "4 mg", "2 to 4 mg")]
)
def test_a_span_is_told_by_both_ends(low: str, high: str, told: str) -> None:
    """One figure where there is no span."""
    assert span(read_quantity(low), read_quantity(high)) == told
    assert span(read_quantity(low), None) == low


@pytest.mark.parametrize(
    ("fields", "steps"),
    [
        ({}, ("front of the trunk: 18%",)),
        (
            {"regions": "front of the trunk; left arm"},
            ("front of the trunk: 18%", "left arm: 9%", "18 + 9 = 27%"),
        ),
        (
            FLUID,
            (
                "front of the trunk: 18%",
                "2 mL/kg/% x 80 kg x 18% = 2,880 mL",
                "2,880 mL / 2 = 1,440 mL",
                "1,440 mL / 8 h = 180 mL/h",
            ),
        ),
        (
            {**FLUID, "since_injury": "2 h"},
            (
                "front of the trunk: 18%",
                "2 mL/kg/% x 80 kg x 18% = 2,880 mL",
                "2,880 mL / 2 = 1,440 mL",
                "8 h - 2 h = 6 h",
                "1,440 mL / 6 h = 240 mL/h",
            ),
        ),
    ],
)
def test_a_burned_area_leads_to_its_fluid_where_it_is_asked(
    fields: dict[str, str], steps: tuple[str, ...]
) -> None:
    """With a weight and a formula both; without them the area alone."""
    assert read_problem({**BURNED, **fields}).solve().steps == steps


@pytest.mark.parametrize(
    ("flow", "line"),
    [("10 L/min", ()), (["6 L/min", "4 L/min"], ("6 L/min + 4 L/min = 10 L/min",))],
)
def test_flows_are_added_up_where_there_are_several(flow: Any, line: tuple[str, ...]) -> None:
    """Not where there is one."""
    assert read_problem({**CYLINDERS, "flow": flow}).solve().steps == (
        "1,200 psi - 200 psi = 1,000 psi",
        "2,200 psi - 200 psi = 2,000 psi",
        "1,000 psi + 2,000 psi = 3,000 psi",
        "3,000 psi x 0.16 L/psi = 480 L",
        *line,
        "480 L / 10 L/min = 48 min",
    )


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("pressures", [], "pressures: none came in"),
        ("flow", [], "flow: none came in"),
        ("pressures", ["1,000 psi", "-1 psi"], r"pressures\[1\]: '-1' is below zero"),
    ],
)
def test_cylinders_without_something_are_refused(name: str, value: Any, said: str) -> None:
    """At least one of each, and no gauge below nothing."""
    with pytest.raises(ProblemError, match=said):
        read_problem({**CYLINDERS, name: value})


def test_a_cylinder_at_its_residual_gives_nothing() -> None:
    """Which is no error: it is empty."""
    solution = read_problem({**CYLINDERS, "pressures": ["200 psi"]}).solve()

    assert str(solution.results["minutes"].exact) == "0 min"


@pytest.mark.parametrize(
    ("age", "figures"),
    [
        ("4 years", {"exact": "5", "rounded": "5", "unit": "mm"}),
        (
            "5 years",
            {
                "exact": "5",
                "rounded": "5",
                "exact_high": "5.5",
                "rounded_high": "5.5",
                "unit": "mm",
            },
        ),
    ],
)
def test_a_tube_between_two_sizes_is_either(age: str, figures: dict[str, str]) -> None:
    """One that is a size of its own is that one alone."""
    told = told_solution(read_problem({"kind": "tube", "age": age}).solve())

    assert told["results"]["size"] == figures
