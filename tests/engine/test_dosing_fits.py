"""When an answer is what a slip gives: to its own precision, and at most two in a hundred off."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.explaining import ROUNDED_WITHIN, Given
from drills.engine.dosing.reading import read_problem

DOSE = {
    "kind": "dose",
    "weight": "44 lb",
    "per_weight": "0.1 mg/kg",
    "concentration": "10 mg/mL",
}
EMPTY = {
    "kind": "oxygen",
    "factor": "0.28 L/psi",
    "pressure": "200 psi",
    "residual": "200 psi",
    "flow": "2 L/min",
}
# At most 2.96 mL, of a syringe marked in tenths: 2.9 mL.
CAPPED = {"kind": "dose", "fixed": "0.5 mg", "max": "0.296 mg", "concentration": "0.1 mg/mL"}
RAISED = {
    "kind": "dose",
    "weight": "3 kg",
    "per_weight": "0.02 mg/kg",
    "min": "0.1 mg",
    "concentration": "1 mg/mL",
}
TOO_SMALL = {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"}


def given(amount: str, size: str, **fields: bool) -> Given:
    return Given(Fraction(amount), Fraction(size), Fraction(size), **fields)


@pytest.mark.parametrize(
    ("answer", "value", "fits"),
    [
        (given("1.5", "0.1"), "1.5", True),
        # Half of the last figure, either way, and not a hair more.
        (given("100", "1"), "100.5", True),
        (given("100", "1"), "99.5", True),
        (given("100", "1"), "100.51", False),
        # However few figures there are, two in a hundred of the value.
        (given("98", "100"), "100", True),
        (given("97.99", "100"), "100", False),
        (given("102", "100"), "100", True),
        (given("102.01", "100"), "100", False),
        # What is rounded down may be anything up to the next figure.
        (given("122", "1", is_down=True), "122.9", True),
        (given("122", "1", is_down=True), "122", True),
        (given("122", "1", is_down=True), "123", False),
        (given("122", "1", is_down=True), "121.5", True),
        (given("122", "1", is_down=True), "121.4", False),
        (given("122", "1"), "122.9", False),
    ],
)
def test_an_answer_is_a_value_as_far_as_it_is_written_out(
    answer: Given, value: str, fits: bool
) -> None:
    """Half of its last figure, and never more than a fiftieth of the value."""
    assert answer.fits(Fraction(value)) is fits


@pytest.mark.parametrize(("amount", "fits"), [("95", True), ("94.99", False), ("105", True)])
def test_rounding_alone_explains_up_to_a_twentieth(amount: str, fits: bool) -> None:
    """Two figures miss no more."""
    assert given(amount, "100").fits(Fraction(100), ROUNDED_WITHIN) is fits


@pytest.mark.parametrize(
    ("entered", "slips"),
    [
        ("4.4 mg", ["pounds-as-kg"]),
        ("4,400 mcg", ["pounds-as-kg"]),
        # 1 in a hundred off, and told to ten mcg: that is another figure.
        ("4,350 mcg", []),
        ("0.0044 g", ["pounds-as-kg"]),
        ("0.00435 g", []),
    ],
)
def test_an_answer_is_as_precise_in_any_unit(entered: str, slips: list[str]) -> None:
    """The precision is turned into the unit of what was asked with the amount."""
    assert [each.key for each in judge(read_problem(DOSE), "dose", entered).slips] == slips


def test_the_right_figure_written_shorter_is_no_slip() -> None:
    """9.6 mg told as 10 mg is past the maximum; that it was forgotten nobody knows."""
    problem = {"kind": "dose", "weight": "100 kg", "per_weight": "0.1 mg/kg", "max": "9.6 mg"}

    judged = judge(read_problem(problem), "dose", "10 mg")

    assert (judged.verdict, judged.slips) == ("unsafe", ())


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "verdict", "ratio"),
    [
        (EMPTY, "minutes", "0 min", "right", 1),
        (EMPTY, "minutes", "3 min", "unsafe", 2),
        (CAPPED, "volume", "2.9 mL", "right", None),
        (CAPPED, "volume", "2.97 mL", "unsafe", None),
        (RAISED, "volume", "0.1 mL", "right", 1),
        (RAISED, "volume", "0.09 mL", "out of tolerance", None),
        (TOO_SMALL, "volume", "0.02505 mL", "right", None),
        (TOO_SMALL, "volume", "0.02506 mL", "out of tolerance", None),
        (DOSE, "volume", "0 mg", "unsafe", 0),
    ],
)
def test_an_answer_on_the_edge_is_judged_as_the_edge(
    problem: dict[str, Any], asked: str, entered: str, verdict: str, ratio: int | None
) -> None:
    """A maximum, a minimum, a mark that a maximum moved down, nothing left, and nothing told."""
    judged = judge(read_problem(problem), asked, entered)

    assert judged.verdict == verdict
    assert ratio is None or judged.ratio == ratio
