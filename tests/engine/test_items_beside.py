"""How easy things are, fitted a second time by a library that is not ours."""

import math

import numpy as np
import pytest
from girth import onepl_mml

from drills.engine.items import fit_one_slope
from tests.reference import table

ANSWERS = table("lsat6.csv")
RIGHT = np.array([[int(each) for each in row["pattern"]] for row in ANSWERS])
PEOPLE = np.array([int(row["people"]) for row in ANSWERS])


def test_a_published_table_is_fitted_alike_by_another_library() -> None:
    theirs = onepl_mml(np.repeat(RIGHT, PEOPLE, axis=0).T)

    ours = fit_one_slope(RIGHT.astype(float), PEOPLE.astype(float))

    assert ours.slope == pytest.approx(theirs["Discrimination"], abs=1e-3)
    assert [-each / ours.slope for each in ours.intercept] == pytest.approx(
        theirs["Difficulty"], abs=2e-3
    )


@pytest.mark.parametrize("seed", range(3))
def test_so_are_answers_of_sixty_people_on_eight_things(seed: int) -> None:
    """No published table: few people, things from easy to hard, drawn with a fixed seed."""
    random = np.random.default_rng(seed)
    ability = random.normal(size=(60, 1))
    right = (random.random((60, 8)) < 1 / (1 + np.exp(-(ability + np.linspace(-1, 2, 8))))) * 1
    theirs = onepl_mml(right.T)

    ours = fit_one_slope(right.astype(float), np.ones(60))

    assert math.isfinite(ours.log_likelihood)
    assert ours.slope == pytest.approx(theirs["Discrimination"], abs=0.01)
    assert list(ours.intercept) == pytest.approx(
        list(-theirs["Discrimination"] * theirs["Difficulty"]), abs=0.02
    )
