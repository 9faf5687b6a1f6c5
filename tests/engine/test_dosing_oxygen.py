"""Oxygen told as one cylinder, and as several of which there is one; and what is empty."""

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.oxygen import LITRES, MINUTES
from drills.engine.dosing.reading import read_problem


@pytest.mark.parametrize("psi", [0, 150, 200, 500, 1337, 2000])
@pytest.mark.parametrize("flow", [["7 L/min"], ["4 L/min", "6 L/min"]])
def test_one_cylinder_lasts_as_long_in_either_form(psi: int, flow: list[str]) -> None:
    """Minutes are worked out, rounded and judged in one way."""
    both = {"factor": "0.16 L/psi", "residual": "200 psi", "flow": flow}
    one = read_problem({"kind": "oxygen", "pressure": f"{psi} psi", **both})
    several = read_problem({"kind": "cylinders", "pressures": [f"{psi} psi"], **both})

    found = one.solve().results[MINUTES]
    assert several.solve().results[MINUTES] == found
    assert several.solve().steps == one.solve().steps
    assert found.rounded
    for minutes in (0, 1, 2):
        entered = f"{found.rounded.amount + minutes} min"
        assert judge(one, MINUTES, entered) == judge(several, MINUTES, entered)


EMPTY = {"kind": "oxygen", "factor": "0.16 L/psi", "residual": "200 psi", "flow": "7 L/min"}


@pytest.mark.parametrize("psi", [0, 150, 199, 200])
def test_at_or_below_the_residual_there_is_nothing_to_give(psi: int) -> None:
    """No litre and no minute, which is said, and that it is changed."""
    solution = read_problem(EMPTY | {"pressure": f"{psi} psi"}).solve()

    assert solution.steps == (
        f"The gauge, {psi} psi, is at or below the residual, 200 psi: nothing to give; change it",
        "0 psi x 0.16 L/psi = 0 L",
        "0 L / 7 L/min = 0 min",
    )
    for name in (LITRES, MINUTES):
        found = solution.results[name]
        assert found.rounded == found.exact
        assert not found.exact.amount
    assert not solution.refusal


def test_the_least_above_the_residual_is_given() -> None:
    solution = read_problem(EMPTY | {"pressure": "201 psi"}).solve()

    assert solution.results[LITRES].exact.amount > 0
    assert not [each for each in solution.steps if "nothing to give" in each]


def test_nothing_is_right_of_an_empty_cylinder_and_all_else_unsafe() -> None:
    """Whoever forgot the residual is shown the line that says so."""
    empty = read_problem(EMPTY | {"pressure": "150 psi"})

    assert judge(empty, MINUTES, "0 min").verdict == "right"
    told = judge(empty, MINUTES, "1 min")
    assert told.sentence == "Unsafe, nothing is left of it. Right: 0 L / 7 L/min = 0 min."
    assert told.reasons == ("There is nothing left to give.",)
    forgotten = judge(empty, MINUTES, "3.4 min")
    assert [each.key for each in forgotten.slips] == ["no-residual"]
    assert "The gauge, 150 psi, is at or below the residual, 200 psi" in forgotten.sentence


def test_of_several_cylinders_the_empty_ones_give_nothing() -> None:
    both = {"kind": "cylinders", "factor": "0.16 L/psi", "residual": "200 psi", "flow": "6 L/min"}
    solution = read_problem(both | {"pressures": ["150 psi", "950 psi"]}).solve()

    assert solution.results[MINUTES].exact.amount == 20
    assert solution.steps[0].startswith("The gauge, 150 psi, is at or below the residual, 200 psi")
    assert "0 psi + 750 psi = 750 psi" in solution.steps
