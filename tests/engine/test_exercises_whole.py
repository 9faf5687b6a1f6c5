"""A nebulised dose of whole containers is counted; nobody draws it up."""

from typing import Any

import pytest

from drills.engine.dosing import RIGHT, judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.working import steps_to
from drills.engine.exercises.dose import dose_exercise
from tests.engine.treating import rule

NEBULES: dict[str, Any] = {"packed": "2.5 mg / 3 mL", "route": "nebulised", "maximum": "5 mg"}


@pytest.mark.parametrize(
    ("dose", "count", "working"),
    [
        ("5 mg", "2 ampoules", "6 mL / 3 mL = 2 containers"),
        ("2.5 mg", "1 container", "3 mL / 3 mL = 1 container"),
        ("2,500 mcg", "1", "3 mL / 3 mL = 1 container"),
    ],
)
def test_whole_containers_are_asked_for_and_no_syringe_is_told(
    dose: str, count: str, working: str
) -> None:
    """The working opens what the dose is in and rounds nothing to marks."""
    asked = dose_exercise(rule(dose, **NEBULES), "", syringes=[3, 10])

    assert asked.question == "How many of what is in your hand do you open for one dose?"
    assert judge(asked.problem, asked.asked, count).verdict == RIGHT
    assert judge(asked.problem, asked.asked, "5 vials").verdict == "unsafe"
    steps = steps_to(asked.problem.solve(), asked.asked)
    assert working in steps
    assert not any("marks" in step for step in steps)
    assert "Syringes aboard" not in [each.label for each in asked.facts]


def test_a_container_between_marks_counts_as_the_one_it_is() -> None:
    """2.25 mL is no mark, and yet is one container."""
    asked = dose_exercise(
        rule("2 mg", packed="2 mg / 2.25 mL", route="Nebulised"), "", syringes=[3]
    )

    assert judge(asked.problem, asked.asked, "1 container").verdict == RIGHT


@pytest.mark.parametrize(
    ("packed", "limits", "count"),
    [
        ("2 mg / 2.25 mL", {}, 1),
        ("1 mg / 1.13 mL", {}, 2),
        ("4 mg / 4.5 mL", {}, 1),
        ("2 mg / 2.25 mL", {"min": "2 mg"}, 2),
        ("2 mg / 2.2 mL", {}, 1),
        ("2 mg / 2 mL", {}, 1),
    ],
)
def test_a_volume_that_is_rounded_up_opens_no_further_container(
    packed: str, limits: dict[str, str], count: int
) -> None:
    """2 mg are 2.25 mL, set as 2.3 mL by marks of 0.1 mL: one holds them. What a minimum puts on
    the mark above is drawn, and so opened."""
    problem = read_problem(
        {
            "kind": "containers",
            "fixed": "2 mg",
            "concentration": packed,
            "graduation": "0.1 mL",
            **limits,
        }
    )

    assert problem.solve().results["open"].exact.amount == count


@pytest.mark.parametrize(
    "given",
    [
        {"dose": "5 mg", "route": "IM"},
        {"dose": "3 mg"},
        {"dose": "0.25 mg/kg"},
        {"dose": "2.5 mg", "high": "5 mg"},
        {"dose": "5 mg", "packed": "50 mg / 20 mL"},
    ],
)
def test_what_is_drawn_up_is_asked_as_a_volume(given: dict[str, str]) -> None:
    """Of another route, of a part of a container, by weight, and of a range."""
    asked = dose_exercise(rule(**NEBULES | given), "10 kg", syringes=[3, 10])

    assert asked.asked == "volume"
