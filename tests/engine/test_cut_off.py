"""Seconds of which some were cut off, against a published trial and against drawn times."""

import numpy as np
import pytest

from drills.engine.cut_off import Times, differ, fit_seconds
from tests.reference import table

ROWS = table("remission.csv")
FIGURES = table("remission_figures.csv")
CUT = {row["figure"]: row for row in table("cut_off_times.csv")}
LIMIT = 15.0


def arm(name: str) -> Times:
    weeks = [(float(row["weeks"]), row["ended"] == "yes") for row in ROWS if row["arm"] == name]
    return Times(
        tuple(w for w, ended in weeks if ended), tuple(w for w, ended in weeks if not ended)
    )


@pytest.mark.parametrize("row", FIGURES, ids=lambda row: row["figure"])
def test_a_published_trial_is_told_as_published(row: dict[str, str]) -> None:
    treated, placebo = arm("treated"), arm("placebo")
    z, chance = differ(treated, placebo)
    words, _, at = row["figure"].partition(" at ")
    told = {"log-rank z": z, "log-rank p": chance, "kept": treated.longer_than(float(at or 0))}

    assert told[words] == pytest.approx(float(row["value"]), abs=float(row["within"]))


def test_the_order_of_two_turns_the_sign_alone() -> None:
    one, other = arm("treated"), arm("placebo")
    assert differ(other, one)[0] == pytest.approx(-differ(one, other)[0], abs=1e-9)
    assert differ(other, one)[1] == pytest.approx(differ(one, other)[1])


def test_the_median_is_where_half_are_done_and_none_where_they_are_not() -> None:
    assert Times((4.0, 6.0, 8.0), (15.0,)).median == 6.0
    assert Times((4.0, 6.0), (15.0, 15.0, 15.0)).median is None
    assert Times((4.0,)).median == 4.0


def near(figure: str, told: float) -> bool:
    row = CUT[figure]
    return abs(told - float(row["value"])) <= float(row["within"])


def test_leaving_out_what_was_cut_off_flatters_and_counting_it_does_not() -> None:
    """400 samples of 40 drawn searches, the median 12 s, cut off at 15 s."""
    random = np.random.default_rng(1)
    drawn = 12.0 * np.exp(0.6 * random.normal(size=(400, 40)))
    fits = [
        fit_seconds(Times(tuple(row[row <= LIMIT]), (LIMIT,) * int((row > LIMIT).sum())))
        for row in drawn
    ]
    in_time = [np.median(row[row <= LIMIT]) for row in drawn]
    at_limit = [np.exp(np.log(np.minimum(row, LIMIT)).mean()) for row in drawn]

    assert near("share cut off", float((drawn > LIMIT).mean()))
    assert near("median of those in time", float(np.mean(in_time)))
    assert near("geometric mean where cut off counts as the cut-off", float(np.mean(at_limit)))
    assert near("censored median", float(np.mean([each.median for each in fits])))
    assert near("censored spread", float(np.mean([each.spread for each in fits])))


def test_of_two_in_time_no_spread_is_said() -> None:
    with pytest.raises(ValueError, match="2 answers in time; at least 3"):
        fit_seconds(Times((4.0, 5.0), (15.0,) * 30))


def test_with_nothing_cut_off_it_is_the_plain_mean_of_logarithms() -> None:
    seconds = (3.0, 5.0, 8.0, 13.0, 4.0)
    found = fit_seconds(Times(seconds))

    assert found.median == pytest.approx(np.exp(np.mean(np.log(seconds))), rel=1e-4)
    assert found.spread == pytest.approx(np.std(np.log(seconds)), rel=1e-3)
