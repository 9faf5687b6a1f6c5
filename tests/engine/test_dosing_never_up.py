"""Where a service never rounds a child's dose up, nothing that is told passes the exact figure."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import Rounding
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT
from drills.engine.medicines import BURN, DRIP, ENERGY, FLUID
from drills.engine.quantities import exact_text, plain, read_quantity
from tests.engine.treating import CHILD, GROWN, ONE_ML_VIAL, carrying, rule

NEVER_UP = Settings(is_never_up_for_children=True, is_exact_pounds=True)
PROBLEMS: dict[str, dict[str, Any]] = {
    "dose": {"kind": "dose", "per_weight": "0.1 mg/kg", "concentration": "3 mg/mL"},
    "doses": {"kind": "dose", "per_weight": "0.1 mg/kg", "doses": 3},
    "fluid": {"kind": "dose", "per_weight": "20 mL/kg", "concentration": "10 %"},
    "drip": {
        "kind": "drip",
        "dose_rate": "0.3 mcg/kg/min",
        "concentration": "16 mcg/mL",
        "set": "60 gtt/mL",
        "over": "1 h",
    },
    "burn": {"kind": "burn", "per": "3 mL/kg/%", "area": "13 %", "since_injury": "1 h"},
    "energy": {"kind": "energy", "per_weight": "2 J/kg"},
}
RANGES: dict[str, dict[str, Any]] = {
    "dose": {
        "kind": "dose",
        "per_weight": "0.02 mg/kg",
        "high": "0.03 mg/kg",
        "concentration": "10 mg/mL",
        "graduation": "0.01 mL",
    },
    "drip": {
        "kind": "drip",
        "dose_rate": "0.1 mcg/kg/min",
        "high": "0.3 mcg/kg/min",
        "concentration": "4 mcg/mL",
        "set": "60 gtt/mL",
    },
}


@pytest.mark.parametrize("name", PROBLEMS)
def test_no_figure_passes_the_exact_one(name: str) -> None:
    """At any weight; and somewhere half up would have."""
    passed = set()
    for pounds in range(7, 90):
        asked = PROBLEMS[name] | {"weight": f"{pounds} lb"}
        for result in read_problem(asked | {"rounding": "never up"}).solve().results.values():
            told = read_quantity(result.answer)
            assert told.amount <= result.exact.amount, (pounds, result.name)
            assert result.rounding is Rounding.NEVER_UP
        for result in read_problem(asked).solve().results.values():
            if read_quantity(result.answer).amount > result.exact.amount:
                passed.add(result.name)
    assert passed == set(read_problem(asked).solve().results)


@pytest.mark.parametrize("name", RANGES)
def test_of_a_range_the_high_end_is_right_as_it_is_told_and_no_more_is(name: str) -> None:
    """At any weight, to every place that is told of either end; nothing is set past it."""
    for pounds in range(29, 45, 2):
        asked = RANGES[name] | {"weight": f"{pounds} lb", "rounding": "never up"}
        problem = read_problem(asked)
        for figure, result in problem.solve().results.items():
            unit, high = result.exact.unit, result.high_amount
            assert (result.rounded_high or result.exact).amount <= high
            for end in (result.low_amount, high):
                for told in (exact_text(end), plain(end)):
                    judged = judge(problem, figure, f"{told} {unit}")
                    assert judged.verdict == RIGHT, (pounds, figure, told)
            over = exact_text(high * Fraction(1001, 1000))
            assert judge(problem, figure, f"{over} {unit}").verdict != RIGHT


@pytest.mark.parametrize(
    ("dose", "fields", "figure"),
    [
        # 66 lb exactly are 29.937 kg.
        ("0.1 mg/kg", {"packed": ONE_ML_VIAL}, ("volume", "2.9 mL", "3 mL")),
        ("0.1 mg/kg", {"packed": ONE_ML_VIAL}, ("dose", "2.99 mg", "2.99 mg")),
        ("11 mL/kg", {"packed": "1,000 mL", "topic": FLUID}, ("dose", "329 mL", "329 mL")),
        ("2 J/kg", {"topic": ENERGY}, ("energy", "59 J", "60 J")),
    ],
)
def test_it_holds_for_a_child_and_for_no_grown_one(
    dose: str, fields: dict[str, Any], figure: tuple[str, str, str]
) -> None:
    """By the age of the patient."""
    name, never, half_up = figure
    for patient, answer in ((CHILD, never), (GROWN, half_up)):
        weighed = replace(patient, weight=read_quantity("66 lb"))
        worked = work_out(weighed, rule(dose, **fields), carrying("1,000 mL"), NEVER_UP)
        assert worked.results[name].answer == answer


def test_what_is_run_in_is_not_rounded_up_either() -> None:
    """330 mL over half an hour, a drip, and a burn: each below what is exact."""
    weighed = replace(CHILD, weight=read_quantity("66 lb"), area=read_quantity("13 %"))
    bag = carrying("1,000 mL", sets=("20 gtt/mL",))
    for given in (
        rule("11 mL/kg", packed="1,000 mL", topic=FLUID, over_min=30),
        rule("2 mL/kg/%", packed="1,000 mL", topic=BURN),
        rule("2 mL/kg/h", packed="1,000 mL", topic=DRIP),
    ):
        running = work_out(weighed, given, bag, NEVER_UP).running
        assert running is not None
        for rate in (running.pump, running.drops[0].rate):
            assert rate.rounded is not None
            assert rate.rounded.amount < rate.exact.amount


def test_why_the_mark_above_is_wrong_is_said() -> None:
    """2.994 mL: 3 mL is nearer, and the setting forbids it."""
    problem = read_problem(
        {
            "kind": "dose",
            "weight": "29.94 kg",
            "per_weight": "0.1 mg/kg",
            "concentration": "1 mg/mL",
            "syringes": [3],
            "rounding": "never up",
        }
    )

    assert problem.solve().steps[-1] == (
        "By marks of the 3 mL syringe 0.1 mL apart, never rounded up for a child: 2.9 mL"
    )
    judged = judge(problem, "volume", "3 mL")
    assert judged.verdict == "out of tolerance"
    assert "the service never rounds a child's dose up" in judged.sentence
    assert judge(problem, "volume", "2.9 mL").sentence == "Right."
    assert "never rounds" not in judge(problem, "volume", "3.3 mL").sentence


@pytest.mark.parametrize("name", RANGES)
def test_above_a_range_the_setting_is_no_reason(name: str) -> None:
    """Half up nothing is set above its high end either."""
    asked = RANGES[name] | {"weight": "20 kg"}
    for rounding in ({}, {"rounding": "never up"}):
        problem = read_problem(asked | rounding)
        for figure, result in problem.solve().results.items():
            above = result.high_amount + result.step * Fraction(9, 10)
            judged = judge(problem, figure, f"{exact_text(above)} {result.exact.unit}")
            assert judged.verdict != RIGHT, (figure, rounding)
            assert "never rounds" not in judged.sentence


def test_only_half_a_mark_is_explained_by_the_rounding() -> None:
    """What is refused is told downwards as well."""
    tiny = {"kind": "dose", "fixed": "0.0449999 mg", "concentration": "10 mg/mL"}
    volume = read_problem(tiny | {"rounding": "never up"}).solve().results["volume"]

    assert (volume.rounded, volume.answer) == (None, "0.00449 mL")
    assert volume.exact.amount == Fraction("0.00449999")


@pytest.mark.parametrize(
    ("rounding", "verdict"), [({}, RIGHT), ({"rounding": "never up"}, OUT_OF_TOLERANCE)]
)
def test_a_burn_by_the_marks_of_a_bag_is_not_rounded_up_either(
    rounding: dict[str, str], verdict: str
) -> None:
    """2,997 mL: the mark of a bag above is 3,000."""
    burn = {"kind": "burn", "weight": "33.3 kg", "area": "30 %", "per": "3 mL/kg/%"} | rounding
    assert judge(read_problem(burn), "total", "3,000 mL").verdict == verdict
