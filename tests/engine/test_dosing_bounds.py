"""What no patient, cylinder or syringe has is no problem; whatever there may be is one."""

import csv
import json
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from drills.engine.dosing import reading
from drills.engine.dosing.bounds import BOUNDS, Bound, within_bounds
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import ProblemError
from drills.engine.quantities import Quantity, read_quantity
from tests.engine.dosing_wide import wide_problem
from tests.engine.published import DATA

PUBLISHED = [
    json.loads(row["problem"])
    for name in ("dosing_problems.csv", "dosing_misprints.csv")
    for row in csv.DictReader((DATA / name).read_text("utf-8").splitlines())
]
TOLD_IN = (
    *(*reading._RATES, *reading._FLUID_RATES, *reading._DOSES, *reading._PER_WEIGHT),
    *(*reading._DOSE_RATES, "kg", "lb", "psi", "L/psi", "L/min", "gtt/mL", "h", "J", "J/kg"),
    *("mL/kg/%", "mg/mL", "units/mL", "mEq/mL", "mmol/mL", "mg/tablet"),
)
OXYGEN: dict[str, Any] = {
    "kind": "oxygen",
    "cylinder": "E",
    "residual": "200 psi",
    "flow": "5 L/min",
}


@pytest.mark.parametrize("bound", BOUNDS, ids=lambda each: str(each.most))
def test_both_ends_are_accepted_and_a_millionth_beyond_them_is_not(bound: Bound) -> None:
    """And what is refused is told with both."""
    for end in (bound.least, bound.most):
        assert within_bounds("field", end) == end
    for beyond in (bound.least.times(Fraction("0.999999")), bound.most.times(Fraction("1.000001"))):
        with pytest.raises(ProblemError) as refused:
            within_bounds("field", beyond)
        said = f"field: {beyond} came in; {bound.least} to {bound.most} is accepted."
        assert str(refused.value) == said


@pytest.mark.parametrize("unit", TOLD_IN)
def test_whatever_a_field_is_told_in_has_bounds(unit: str) -> None:
    with pytest.raises(ProblemError, match=r"field: 1,000,000,000,000 .* is accepted"):
        within_bounds("field", Quantity(Fraction(10**12), unit))


def test_nothing_is_left_to_the_field() -> None:
    """It says whether there may be nothing, as of a gauge."""
    assert within_bounds("field", read_quantity("0 psi")) == read_quantity("0 psi")


def test_no_published_problem_and_none_that_is_printed_with_a_slip_is_refused() -> None:
    assert len(PUBLISHED) > 150
    for problem in PUBLISHED:
        assert read_problem(problem).solve().results


def test_no_made_problem_is_refused() -> None:
    """Two thousand of every kind."""
    random = Random(6)  # noqa: S311 - no secrets
    for _ in range(2000):
        assert read_problem(wide_problem(random)).solve().results


@pytest.mark.parametrize(
    ("problem", "said"),
    [
        (
            {"kind": "dose", "fixed": "100,000 g"},
            "fixed: 100,000 g came in; 0.000001 mcg to 1,000 g is accepted.",
        ),
        (
            OXYGEN | {"pressure": "9,000,000 psi"},
            "pressure: 9,000,000 psi came in; 0.01 psi to 10,000 psi is accepted.",
        ),
        (
            OXYGEN | {"pressure": "900 psi", "flow": ["2 L/min", "500 L/min"]},
            "flow[1]: 500 L/min came in; 0.000001 mL/min to 100 L/min is accepted.",
        ),
        (
            {"kind": "weight", "from": "0.4 lb"},
            "from: 0.4 lb came in; 0.2 kg to 650 kg is accepted.",
        ),
        (
            {"kind": "drip", "rate": "200 L/h"},
            "rate: 200 L/h came in; 0.000001 mL/h to 100 L/h is accepted.",
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "concentration": "5 kg/mL"},
            "concentration: '5 kg/mL' came in; a strength is such as",
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "concentration": "50 g/mL"},
            "concentration: 50 g/mL came in; 0.000001 mcg/mL to 10 g/mL is accepted.",
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "others": ["2,000 g / 2,000 mL"]},
            "others[0]: 2,000 g came in; 0.000001 mcg to 1,000 g is accepted.",
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "concentration": "1 mg / 200 L"},
            "concentration: 200 L came in; 0.000001 mL to 100 L is accepted.",
        ),
    ],
)
def test_a_size_that_nothing_has_is_refused_by_its_field(
    problem: dict[str, Any], said: str
) -> None:
    with pytest.raises(ProblemError) as refused:
        read_problem(problem)
    assert str(refused.value).startswith(said)
