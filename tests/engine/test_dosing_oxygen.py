"""Oxygen told as one cylinder, and as several of which there is one."""

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.oxygen import MINUTES
from drills.engine.dosing.reading import read_problem


@pytest.mark.parametrize("psi", [500, 1337, 2000])
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
