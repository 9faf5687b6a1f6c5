"""The evaluation as the manual prints it."""

import pytest

from drills.engine.evaluated.page import (
    EARLIER,
    MODEL,
    NONE,
    PRINTED,
    UNNUMBERED,
    calls,
    figures,
    intervals,
    is_earlier,
    shares,
)
from drills.engine.knowing import CHANCES, DOUBT
from drills.engine.knowing.carrying import COEFFICIENTS


@pytest.mark.parametrize("name", PRINTED)
def test_each_table_has_a_row_of_as_many_cells_as_heads(name: str) -> None:
    """Every table that the manual may ask for is whole, and its rows are as wide as its head."""
    head, _, *rows = PRINTED[name]().strip().splitlines()

    assert all(row.count("|") == head.count("|") for row in rows)


def test_shares_are_the_figures_that_were_measured() -> None:
    """A row for each service that was run, each with the mean of the seeds to two places."""
    told = figures()
    printed = shares(told)

    assert told["is"] == "simulated"
    for case in told["cases"].values():
        row = next(line for line in printed.splitlines() if case["name"] in line)
        assert f"{case['forecasts'][MODEL]['share']['mean']:.2f} (" in row


def test_what_has_no_figure_is_a_dash() -> None:
    """A service that is held to nothing says so."""
    told = figures()
    free = {**next(iter(told["cases"].values())), "least_share": None}

    assert f"| {NONE} |" in shares({**told, "cases": {"free": free}})


def test_what_was_measured_of_an_earlier_model_says_so() -> None:
    told = next(iter(figures()["cases"].values()))

    assert EARLIER not in shares({"cases": {"new": {**told, "is_earlier": False}}})
    assert EARLIER in shares({"cases": {"old": {**told, "is_earlier": True}}})


def test_figures_of_other_chances_or_another_doubt_are_marked() -> None:
    """Doubt matters to what goes by it alone; what has no number is of the first."""
    chances = {"model": [CHANCES + 1, DOUBT]}
    doubt = {"model": [CHANCES, DOUBT + 1]}

    assert [is_earlier(each) for each in (chances, doubt)] == [True, False]
    assert [is_earlier(each, by_doubt=True) for each in (chances, doubt)] == [True, True]
    assert not is_earlier({"model": [CHANCES, DOUBT]}, by_doubt=True)
    assert is_earlier({}) == (UNNUMBERED[0] != CHANCES)
    day = {**figures()["days"]["A"], **doubt}
    assert EARLIER in intervals({"days": {"A": day}})
    assert EARLIER in calls({"days": {"A": day}})


def test_what_is_printed_was_measured_of_these_coefficients() -> None:
    """With other coefficients the model is another one, and is to be measured anew."""
    assert tuple(figures()["coefficients"]) == COEFFICIENTS
