"""What the model is measured beside looks at earlier rows alone."""

from functools import cache

import numpy as np
import pytest

from drills.engine.simulated import Scenario, Simulated, simulate_crews
from tests.bench.forecasts import BASELINES, before

FIRST_DAY = 80.0


@cache
def lived() -> Simulated:
    return simulate_crews(Scenario(people=15, items=20, days=120), seed=6)


def test_earlier_rows_of_a_key_are_summed() -> None:
    """It equals a sum over each row's own past."""
    rng = np.random.default_rng(1)
    key, values = rng.integers(0, 5, 60), rng.normal(size=60)
    wanted = [values[:at][key[:at] == key[at]].sum() for at in range(60)]

    assert before(key, values) == pytest.approx(wanted)


@pytest.mark.parametrize("name", BASELINES)
def test_what_comes_later_changes_no_chance(name: str) -> None:
    """Without the last rows of the period the chances of those before are what they were, and each
    lies between 0 and 1."""
    log = lived().log
    until = np.arange(int(len(log) * 0.9))
    whole, cut = BASELINES[name](log, FIRST_DAY), BASELINES[name](log.rows(until), FIRST_DAY)

    measured = log.time[until] >= FIRST_DAY
    assert measured.sum() > 100
    assert whole[until][measured] == pytest.approx(cut[measured])
    assert ((whole[log.time >= FIRST_DAY] >= 0) & (whole[log.time >= FIRST_DAY] <= 1)).all()
