"""A draw that takes more than one fill of the largest syringe says how many."""

import pytest

from drills.engine.devices import BAG, SYRINGES
from drills.engine.dosing.reading import read_problem


@pytest.mark.parametrize(
    ("dose", "syringes", "told"),
    [
        ("61.6 mg", [1, 3, 10], "of the 10 mL syringe 0.2 mL apart, filled 7 times: 61.6 mL"),
        ("150 mg", [3], "of the 3 mL syringe 0.1 mL apart, filled 50 times: 150 mL"),
        ("60 mg", [60], "of the 60 mL syringe 1 mL apart: 60 mL"),
        ("10.2 mg", [10], "of the 10 mL syringe 0.2 mL apart, filled 2 times: 10.2 mL"),
    ],
)
def test_a_draw_says_how_often_the_largest_syringe_is_filled(
    dose: str, syringes: list[int], told: str
) -> None:
    """One fill is not counted."""
    problem = {"kind": "dose", "fixed": dose, "concentration": "1 mg/mL", "syringes": syringes}
    assert read_problem(problem).solve().steps[-1].endswith(told)


def test_a_bag_is_filled_by_nobody() -> None:
    """It runs on, whatever it holds."""
    assert BAG.fills(BAG.holds * 3) == 1
    assert SYRINGES[3].fills(SYRINGES[3].holds) == 1
