"""Two strengths aboard are a trap only where the wrong one gives a wrong volume."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.exercises.dose import are_told_apart

# 2 to 4 mg: 2 to 4 mL of 1 mg/mL.
RANGE = {
    "kind": "dose",
    "weight": "20 kg",
    "per_weight": "0.1 mg/kg",
    "high": "0.2 mg/kg",
    "concentration": "1 mg/mL",
}


@pytest.mark.parametrize(
    ("others", "high", "apart"),
    [
        (["1.5 mg/mL"], "0.2 mg/kg", False),
        (["0.8 mg/mL"], "0.2 mg/kg", False),
        (["2 mg/mL"], "0.2 mg/kg", False),  # 1 to 2 mL: they touch
        (["0.5 mg/mL"], "0.2 mg/kg", False),  # 4 to 8 mL
        (["2.1 mg/mL"], "0.2 mg/kg", True),
        (["0.4 mg/mL"], "0.2 mg/kg", True),
        (["4 mg/mL", "1.5 mg/mL"], "0.2 mg/kg", False),
        (["1.5 mg/mL"], None, True),
        ([], "0.2 mg/kg", True),
    ],
)
def test_ranges_of_two_strengths_that_overlap_are_not_told_apart(
    others: list[str], high: str | None, apart: bool
) -> None:
    """Nor where they only touch."""
    given = {**RANGE, "others": others, "high": high}

    assert are_told_apart(read_problem(given)) is apart


def test_what_is_asked_of_one_strength_is_judged_by_it_alone() -> None:
    """Right of the other strength is no reason: 2 to 4 mL are right, and nothing else."""
    both: dict[str, Any] = {**RANGE, "others": ["1.5 mg/mL"]}
    problem = read_problem(both)

    found = {each: judge(problem, "volume", each) for each in ("1.5 mL", "2.5 mL", "1.33 mL")}
    assert [each.verdict for each in found.values()] == ["unsafe", "right", "unsafe"]
    assert [each.key for each in found["1.33 mL"].slips] == ["other-presentation"]


def test_other_kinds_of_problem_have_no_strengths_to_tell_apart() -> None:
    """How many containers are opened is another question."""
    opened = read_problem({"kind": "containers", "fixed": "5 mg", "concentration": "1 mg / 1 mL"})

    assert not are_told_apart(opened)
