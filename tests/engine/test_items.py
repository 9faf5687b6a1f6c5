"""How easy things are, against published fits and against the likelihood added up plainly."""

import json
import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.door import NotUnderstoodError
from drills.engine.items import fit_one_slope, told_fit
from tests.reference import table

ANSWERS = table("lsat6.csv")
PATTERNS = {row["pattern"]: int(row["people"]) for row in ANSWERS}
PUBLISHED = table("lsat6_one_slope.csv")
FEW = st.integers(min_value=1, max_value=40)
THREE = ["".join(each) for each in product("01", repeat=3)]


def fitted(patterns: dict[str, int]) -> dict[str, float]:
    """Every figure by the name the published table has for it."""
    told = told_fit({"patterns": patterns, "model": "one_slope"})
    slope, intercept = told["slope"], told["intercept"]
    return (
        {"log_likelihood": told["log_likelihood"], "slope": slope}
        | {f"intercept {number}": each for number, each in enumerate(intercept, 1)}
        | {f"location {number}": -each / slope for number, each in enumerate(intercept, 1)}
    )


def likelihood(patterns: dict[str, int], slope: float, intercept: list[float]) -> float:
    """Added up on a fine, even grid of abilities, with no quadrature rule and no library."""
    grid = [-8.0 + 0.02 * step for step in range(801)]
    density = [0.02 * math.exp(-(ability**2) / 2) / math.sqrt(2 * math.pi) for ability in grid]
    total = 0.0
    for pattern, people in patterns.items():
        chance = 0.0
        for ability, weight in zip(grid, density, strict=True):
            for answer, each in zip(pattern, intercept, strict=True):
                right = 1 / (1 + math.exp(-(slope * ability + each)))
                weight *= right if answer == "1" else 1 - right
            chance += weight
        total += people * math.log(chance)
    return total


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["figure"])
def test_a_published_table_is_fitted_as_published(row: dict[str, str]) -> None:
    found = fitted(PATTERNS)[row["figure"]]
    assert found == pytest.approx(float(row["value"]), abs=float(row["within"]))


def test_the_log_likelihood_is_that_of_the_figures_told() -> None:
    told = told_fit({"patterns": PATTERNS, "model": "one_slope"})

    plainly = likelihood(PATTERNS, told["slope"], told["intercept"])

    assert told["log_likelihood"] == pytest.approx(plainly, abs=1e-6)


@given(people=st.lists(FEW, min_size=8, max_size=8), step=st.sampled_from([-0.02, 0.02]))
def test_no_figures_near_by_fit_better(people: list[int], step: float) -> None:
    patterns = dict(zip(THREE, people, strict=True))
    told = told_fit({"patterns": patterns, "model": "one_slope"})
    best, slope, intercept = told["log_likelihood"], told["slope"], told["intercept"]

    assert likelihood(patterns, abs(slope + step), intercept) <= best + 1e-6
    for number in range(3):
        other = [each + step * (place == number) for place, each in enumerate(intercept)]
        assert likelihood(patterns, slope, other) <= best + 1e-6


def test_things_in_another_order_have_the_same_figures_in_that_order() -> None:
    turned = {pattern[::-1]: people for pattern, people in PATTERNS.items()}
    one, other = (told_fit({"patterns": each, "model": "one_slope"}) for each in (PATTERNS, turned))

    assert other["intercept"][::-1] == pytest.approx(one["intercept"], abs=1e-4)
    assert other["slope"] == pytest.approx(one["slope"], abs=1e-4)


def test_answers_that_have_nothing_to_do_with_each_other_have_no_slope() -> None:
    found = fit_one_slope(
        np.array([[0, 0], [0, 1], [1, 0], [1, 1]], dtype=float), np.array([4.0, 6.0, 6.0, 9.0])
    )

    assert found.slope == pytest.approx(0.0, abs=0.01)
    assert found.intercept == pytest.approx([math.log(1.5)] * 2, abs=1e-3)


@pytest.mark.parametrize(
    ("given_in", "said"),
    [
        ([], "standard input: an empty list came in"),
        ({"patterns": {"01": 1, "10": 1}}, "model: null came in; it is one_slope."),
        ({"patterns": {"01": 1}, "model": "two"}, "model: 'two' came in"),
        ({"model": "one_slope"}, "patterns: null came in"),
        ({"patterns": {}, "model": "one_slope"}, "patterns: an empty object came in"),
        ({"patterns": {"1": 1}, "model": "one_slope"}, "patterns: 1 things came in; 2 to 200"),
        ({"patterns": {"01": 1, "011": 1}, "model": "one_slope"}, "patterns: 011 came in; 2 times"),
        ({"patterns": {"0x": 1}, "model": "one_slope"}, "patterns: 0x came in; 2 times 0 or 1"),
        ({"patterns": {"01": -1}, "model": "one_slope"}, "patterns: -1 people came in for 01"),
        ({"patterns": {"01": 1.5}, "model": "one_slope"}, "patterns: 1.5 people came in for 01"),
        ({"patterns": {"01": True}, "model": "one_slope"}, "patterns: true people came in for 01"),
        ({"patterns": {"01": 0}, "model": "one_slope"}, "patterns: nobody is in them"),
        ({"patterns": {"01": 4, "11": 2}, "model": "one_slope"}, "patterns: Item 2: everybody"),
        ({"patterns": {"01": 4, "00": 2}, "model": "one_slope"}, "patterns: Item 1: nobody"),
        ({"patterns": {"00": 4, "11": 2}, "model": "one_slope"}, "patterns: Answers agree"),
        ({"pattern": {"00": 4}, "model": "one_slope"}, "pattern: there is no such field."),
    ],
)
def test_what_cannot_be_fitted_is_refused_by_name(given_in: object, said: str) -> None:
    with pytest.raises(NotUnderstoodError) as refused:
        told_fit(json.loads(json.dumps(given_in)))
    assert str(refused.value).startswith(said)
