"""A nebulised dose of whole containers is counted; nobody draws it up."""

from typing import Any

import pytest

from drills.engine.dosing import RIGHT, judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.working import steps_to
from drills.engine.exercises.dose import of_weight
from drills.engine.exercises.exercise import Exercise
from drills.engine.medicines import MedicineRule
from tests.engine.treating import aboard, rule

NEBULES: dict[str, Any] = {
    "packed": "2.5 mg / 3 mL",
    "route": "nebulised",
    "maximum": "5 mg",
    "need": "nebule",
    "medicine_key": "testamine",
}


def written(grade: int, medicine: MedicineRule, weight: str = "") -> Exercise:
    """One of a grade, made as drills make it."""
    made = of_weight(grade, aboard(medicine, 3, 10), medicine, weight)
    assert made
    return made


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
    asked = written(1, rule(dose, **NEBULES))

    assert asked.question == "How many of what is in your hand do you open for one dose?"
    assert judge(asked.problem, asked.asked, count).verdict == RIGHT
    assert judge(asked.problem, asked.asked, "5 vials").verdict == "unsafe"
    steps = steps_to(asked.problem.solve(), asked.asked)
    assert working in steps
    assert not any("marks" in step for step in steps)
    assert "Syringes aboard" not in [each.label for each in asked.facts]


def test_a_container_between_marks_counts_as_the_one_it_is() -> None:
    """2.25 mL is no mark, and yet is one container."""
    asked = written(1, rule("2 mg", **NEBULES | {"packed": "2 mg / 2.25 mL", "route": "Nebulised"}))

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
    ("grade", "weight", "given"),
    [
        (1, "", {"dose": "5 mg", "route": "IM"}),
        (1, "", {"dose": "3 mg"}),
        (2, "10 kg", {"dose": "0.25 mg/kg"}),
        (3, "", {"dose": "2.5 mg", "high": "5 mg"}),
        (1, "", {"dose": "5 mg", "packed": "50 mg / 20 mL"}),
    ],
)
def test_what_is_drawn_up_is_asked_as_a_volume(
    grade: int, weight: str, given: dict[str, str]
) -> None:
    """Of another route, of a part of a container, by weight, and of a range."""
    asked = written(grade, rule(**NEBULES | given), weight)

    assert asked.asked == "volume"
