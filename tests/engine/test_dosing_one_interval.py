"""What is right is one stretch: nothing nearer to the exact figure is judged worse."""

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.measured import STEPPED, THINGS
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import Result
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT
from drills.engine.quantities import exact_text, plain, read_number
from tests.engine.dosing_problems import any_problem

CAPPED = {"kind": "dose", "fixed": "10 mg", "max": "2 mg", "concentration": "3 mg/mL"}
BY_DRIP = {"kind": "drip", "dose_rate": "10 mg/h", "max": "6 mg/h", "concentration": "0.07 mg/mL"}
LEAST = {"kind": "dose", "fixed": "0.05 mg", "min": "0.1 mg", "concentration": "0.3 mg/mL"}
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "pressure": "1,800 psi",
    "residual": "0 psi",
    "flow": ["15 L/min"],
}
RANGE_OF_A_CHILD = {
    "kind": "dose",
    "weight": "7 kg",
    "per_weight": "0.05 mg/kg",
    "high": "0.1 mg/kg",
    "concentration": "4 mg/mL",
    "syringes": [1],
    "rounding": "never up",
}
OF_13_KG = {
    "kind": "dose",
    "weight": "13 kg",
    "per_weight": "0.15 mg/kg",
    "concentration": "2 mg/mL",
    "graduation": "0.1 mL",
    "rounding": "never up",
}
OF_20_MG = {
    "kind": "dose",
    "fixed": "30 mg",
    "max": "20 mg",
    "concentration": "6 mg/mL",
    "syringes": [5],
}
ATROPINE = {
    "kind": "dose",
    "weight": "3 kg",
    "per_weight": "0.02 mg/kg",
    "min": "0.1 mg",
    "concentration": "0.1 mg/mL",
}


def _told(result: Result) -> Iterator[Fraction]:
    """Every form in which a figure is told: to be read again, in steps, and as it is set."""
    for end in result.ends:
        yield Fraction(exact_text(end.amount))
        yield read_number(plain(end.amount))
    for each in (result.rounded, result.rounded_high):
        if each is not None:
            yield each.amount


def _grid(result: Result, told: list[Fraction]) -> list[Fraction]:
    """From a seventh below what is right to a seventh above, fine, with all that is told."""
    low, high = result.low_amount * Fraction(6, 7), result.high_amount * Fraction(8, 7)
    fine = (low + (high - low) * part / 24 for part in range(25))
    return sorted({*told, *(Fraction(exact_text(each)) for each in fine)})


def _all(many: int) -> Iterator[dict[str, Any]]:
    random = Random(7)  # noqa: S311 - problems, no secrets
    for _ in range(many):
        problem = any_problem(random)
        is_of_a_child = (
            problem["kind"] in ("dose", "drip", "burn", "energy") and random.random() < 0.4
        )
        yield problem | ({"rounding": "never up"} if is_of_a_child else {})


@pytest.mark.parametrize(
    "given", [CAPPED, BY_DRIP, LEAST, OXYGEN, RANGE_OF_A_CHILD, OF_13_KG, OF_20_MG, *_all(40)]
)
def test_what_is_right_is_one_stretch_with_every_form_that_is_told(given: dict[str, Any]) -> None:
    """Of what is measured; of things and steps what lies between is no setting."""
    problem = read_problem(given)
    for name, result in problem.solve().results.items():
        unit = result.exact.unit
        if not result.high_amount:
            continue
        told = list(_told(result))
        for each in told:
            entered = f"{exact_text(each)} {unit}"
            assert judge(problem, name, entered).verdict == RIGHT, (name, entered)
        if unit in (*STEPPED, *THINGS):
            continue
        verdicts = [
            judge(problem, name, f"{exact_text(each)} {unit}").verdict == RIGHT
            for each in _grid(result, told)
        ]
        first, last = verdicts.index(True), len(verdicts) - verdicts[::-1].index(True)
        assert all(verdicts[first:last]), name


@pytest.mark.parametrize(
    ("given", "asked", "entered"),
    [
        (CAPPED | {"syringes": [1]}, "volume", "0.666667 mL"),
        (BY_DRIP, "mL_per_h", "85.7143 mL/h"),
        (LEAST, "volume", "0.333333 mL"),
        (OXYGEN | {"pressure": "1,600 psi"}, "minutes", "17.0667 min"),
    ],
)
def test_a_figure_as_the_steps_print_it_is_right(
    given: dict[str, Any], asked: str, entered: str
) -> None:
    """Six figures, at a limit too; one more in the last of them is not."""
    problem = read_problem(given)
    assert any(f" {entered}" in each for each in problem.solve().steps), problem.solve().steps
    assert judge(problem, asked, entered).verdict == RIGHT


@pytest.mark.parametrize(
    ("given", "asked", "entered"),
    [
        (CAPPED | {"syringes": [1]}, "volume", "0.666668 mL"),
        (BY_DRIP, "mL_per_h", "85.7144 mL/h"),
        (LEAST, "volume", "0.333332 mL"),
        (OXYGEN | {"pressure": "1,600 psi"}, "minutes", "17.0668 min"),
    ],
)
def test_one_more_of_the_last_printed_figure_is_not_right(
    given: dict[str, Any], asked: str, entered: str
) -> None:
    """A limit is no wider than it is printed."""
    assert judge(read_problem(given), asked, entered).verdict != RIGHT


@pytest.mark.parametrize(
    ("given", "right", "wrong"),
    [
        (OF_13_KG, ("0.9", "0.91", "0.92", "0.975"), ("0.89", "0.976")),
        (OF_20_MG, ("3.2", "3.21", "3.22", "3.33"), ("3.19", "3.34")),
        (RANGE_OF_A_CHILD, ("0.0875", "0.09", "0.175"), ("0.087", "0.176")),
    ],
)
def test_it_begins_at_the_lowest_setting_that_is_right(
    given: dict[str, Any], right: tuple[str, ...], wrong: tuple[str, ...]
) -> None:
    """And at the low end of a range."""
    problem = read_problem(given)
    for each in right:
        assert judge(problem, "volume", f"{each} mL").verdict == RIGHT, each
    for each in wrong:
        assert judge(problem, "volume", f"{each} mL").verdict != RIGHT, each


@pytest.mark.parametrize(
    ("given", "entered", "said"),
    [
        (RANGE_OF_A_CHILD, "0.08 mL", "right is from 0.0875 mL to 0.175 mL, never above."),
        (RANGE_OF_A_CHILD, "0.18 mL", "right is from 0.0875 mL to 0.175 mL, never above."),
        (OF_13_KG, "0.89 mL", "right is from 0.9 mL to 0.975 mL, never above."),
        (OF_20_MG, "3.19 mL", "right is from 3.2 mL to 3.33333 mL."),
    ],
)
def test_how_near_is_near_enough_is_told_as_it_is_judged(
    given: dict[str, Any], entered: str, said: str
) -> None:
    """From the least that is right to the most."""
    judged = judge(read_problem(given), "volume", entered)
    assert judged.verdict == OUT_OF_TOLERANCE
    assert judged.sentence.endswith(said)


def test_what_is_under_the_minimum_is_said_to_be() -> None:
    """Half a mark does not decide there."""
    judged = judge(read_problem(ATROPINE), "volume", "0.99 mL")
    assert judged.verdict == OUT_OF_TOLERANCE
    assert judged.sentence.startswith("Out of tolerance, under the minimum of 1 mL. Right: ")
    assert "decides" not in judged.sentence
