"""Who a rule is for, and how its dose is said."""

from dataclasses import replace
from fractions import Fraction

import pytest

from drills.engine.concentrations import read_presentation
from drills.engine.dosing import read_dose_rule
from drills.engine.medicines import MedicineRule, ProblemOf, fits, printed_dose

CHILD_FROM_13_KG = MedicineRule(
    code="T001",
    medicine="Training medicine",
    indication="seizure",
    route="IM",
    level="paramedic",
    need="training-vial",
    problems=(ProblemOf("seizure", (2, 3)), ProblemOf("fever")),
    ages=(Fraction(1), Fraction(14)),
    weights=(Fraction(13), Fraction(40)),
    rule=read_dose_rule("5 mg"),
    presentation=read_presentation("10 mg / 2 mL"),
    printed="5 mg",
    source="a document",
    version="1",
    status="confirmed",
    notice="",
)


@pytest.mark.parametrize(
    ("age_y", "weight_kg", "is_meant"),
    [
        (Fraction(1), Fraction(13), True),
        (Fraction(11, 12), Fraction(13), False),
        (Fraction(1), Fraction(1299, 100), False),
        (Fraction(1399, 100), Fraction(3999, 100), True),
        (Fraction(14), Fraction(39), False),
        (Fraction(13), Fraction(40), False),
        (5, 20.5, True),
    ],
)
def test_a_rule_begins_at_its_first_figure_and_ends_below_its_last(
    age_y: Fraction, weight_kg: Fraction, is_meant: bool
) -> None:
    """From is within, below is without, for years and for kilograms alike."""
    assert fits(CHILD_FROM_13_KG, "seizure", 2, age_y, weight_kg) == is_meant


@pytest.mark.parametrize(
    ("problem", "severity", "is_meant"),
    [
        ("seizure", 1, False),
        ("seizure", 2, True),
        ("seizure", 3, True),
        ("fever", 1, True),
        ("fever", 3, True),
        ("stroke", 2, False),
    ],
)
def test_a_rule_fits_the_problems_and_severities_it_names(
    problem: str, severity: int, is_meant: bool
) -> None:
    """A problem without severities is meant at each of them."""
    assert fits(CHILD_FROM_13_KG, problem, severity, 5, 20) == is_meant


def test_a_rule_that_names_no_problem_fits_nobody() -> None:
    """It is shown, and no patient is drawn to it."""
    assert not fits(replace(CHILD_FROM_13_KG, problems=()), "seizure", 2, 5, 20)


@pytest.mark.parametrize("age_y", [0, 0.1, 14, 99])
def test_no_bound_is_everybody(age_y: float) -> None:
    """A rule without ages and weights is for each age and weight."""
    anybody = replace(CHILD_FROM_13_KG, ages=(None, None), weights=(None, None))

    assert fits(anybody, "fever", 1, age_y, 200)


@pytest.mark.parametrize(
    ("dose", "limits", "said"),
    [
        ("0.2 mg/kg", {"maximum": "10 mg"}, "0.2 mg/kg, at most 10 mg"),
        (
            "0.02 mg/kg",
            {"minimum": "0.1 mg", "maximum": "0.5 mg"},
            "0.02 mg/kg, at least 0.1 mg, at most 0.5 mg",
        ),
        ("0.3 mg", {"maximum": "0.3 mg"}, "0.3 mg"),
        ("25 mg", {"high": "50 mg", "maximum": "50 mg"}, "25 mg to 50 mg"),
        ("0.4 mg", {"high": "2 mg", "maximum": "10 mg"}, "0.4 mg to 2 mg, at most 10 mg"),
    ],
)
def test_a_dose_is_said_with_the_limits_that_say_more(
    dose: str, limits: dict[str, str], said: str
) -> None:
    """A limit that is the dose itself is not said twice."""
    assert said == printed_dose(dose, **limits)
