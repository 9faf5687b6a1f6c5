"""How good chances were, beside closed forms and scipy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import expit, log_expit, logit
from scipy.stats import mannwhitneyu

from drills.engine.measures import (
    BINS,
    auc,
    brier,
    calibration_gap,
    calibration_line,
    log_loss,
    measure,
    reliability,
    share_of_gain,
)
from drills.engine.memory import wilson

ANSWERS = st.lists(
    st.tuples(st.integers(0, 1), st.floats(0.001, 0.999)), min_size=1, max_size=60
).map(lambda rows: tuple(np.array(column) for column in zip(*rows, strict=True)))


def drawn(count: int, *, seed: int, off: float = 0.0, steep: float = 1.0):
    """Answers drawn with chances whose log-odds are a line of what is thought."""
    rng = np.random.default_rng(seed)
    chance = expit(rng.normal(0.5, 1.2, count))
    true = expit(off + steep * logit(chance))
    return (rng.random(count) < true).astype(float), chance


def test_log_loss_is_that_worked_by_hand() -> None:
    """Three answers by hand; an even chance costs the logarithm of two."""
    assert log_loss([1, 0, 1], [0.8, 0.3, 0.5]) == pytest.approx(
        -(math.log(0.8) + math.log(0.7) + math.log(0.5)) / 3
    )
    assert log_loss([0, 1], [0.5, 0.5]) == pytest.approx(math.log(2))


def test_a_sure_chance_that_failed_costs_much_and_not_all() -> None:
    """Never and always are judged as one in a million."""
    assert log_loss([0], [1.0]) == pytest.approx(math.log(1e6))


def test_parts_of_the_brier_score_add_up() -> None:
    """Of ten chances, each of the same count, Murphy's parts give the score and nothing is left."""
    chances = np.repeat(np.arange(0.05, 1.0, 0.1), 40)
    right = (np.random.default_rng(2).random(400) < chances).astype(float)
    found = brier(right, chances)

    assert found.score == pytest.approx(np.mean((right - chances) ** 2))
    shares = right.reshape(10, 40).mean(axis=1)
    assert found.reliability == pytest.approx(np.mean((shares - chances[::40]) ** 2))
    assert found.resolution == pytest.approx(np.var(shares))
    assert found.uncertainty == pytest.approx(np.var(right))
    assert found.within == pytest.approx(0.0, abs=1e-12)


def test_line_of_two_chances_goes_through_both_shares() -> None:
    """With two chances the line is known: it goes through the log-odds of both shares."""
    chance = np.repeat([0.3, 0.8], [50, 80])
    right = np.concatenate([np.repeat([1, 0], [20, 30]), np.repeat([1, 0], [60, 20])])
    slope = (logit(0.75) - logit(0.4)) / (logit(0.8) - logit(0.3))

    found = calibration_line(right, chance)
    assert found == pytest.approx((slope, logit(0.75) - slope * logit(0.8)))


def test_line_is_where_the_likelihood_is_greatest() -> None:
    """It equals what a general optimiser finds, and about what the answers were drawn with."""
    right, chance = drawn(4000, seed=3, off=0.4, steep=0.7)

    def loss(line):
        at = line[0] * logit(chance) + line[1]
        return -(right * log_expit(at) + (1 - right) * log_expit(-at)).sum()

    best = minimize(loss, [1.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9})
    found = calibration_line(right, chance)
    assert found == pytest.approx(best.x, abs=1e-5)
    assert found == pytest.approx((0.7, 0.4), abs=0.1)


@pytest.mark.parametrize(
    ("right", "chance"),
    [([1, 1, 1], [0.2, 0.5, 0.7]), ([0, 0, 1, 1], [0.2, 0.3, 0.7, 0.8]), ([1, 0], [0.4, 0.4])],
)
def test_line_that_nothing_finite_fits_is_no_number(right: list[int], chance: list[float]) -> None:
    """All right, split at one chance, or one chance alone."""
    assert all(math.isnan(each) for each in calibration_line(right, chance))


def test_area_is_that_of_the_rank_test() -> None:
    """It is the statistic of Mann and Whitney over the number of pairs, ties half."""
    right, chance = drawn(300, seed=4)
    chance = np.round(chance, 1)
    hits, misses = chance[right > 0], chance[right == 0]
    wanted = mannwhitneyu(hits, misses).statistic / (len(hits) * len(misses))

    assert auc(right, chance) == pytest.approx(wanted)
    assert math.isnan(auc([1, 1], [0.2, 0.4]))


def test_bins_are_of_equal_count_with_their_intervals() -> None:
    """Ten bins of 25 answers from the least chance to the greatest, each with the 80 % interval."""
    right, chance = drawn(250, seed=5)
    bins = reliability(right, chance)
    ordered = np.sort(chance)

    assert [each.count for each in bins] == [25] * BINS
    assert bins[0].chance == pytest.approx(ordered[:25].mean())
    assert bins[-1].chance == pytest.approx(ordered[-25:].mean())
    for each in bins:
        assert (each.low, each.high) == wilson(each.share * 25, 25)


def test_gap_is_that_worked_by_hand() -> None:
    """Two bins' worth of answers, ten each, three and one tenths off."""
    chance = np.repeat([0.2, 0.7], 50)
    right = np.tile(np.repeat([1, 0], [5, 5]), 10)
    right[50:] = np.tile(np.repeat([1, 0], [8, 2]), 5)

    assert calibration_gap(right, chance) == pytest.approx((0.3 + 0.1) / 2)


def test_true_chances_are_told_from_untrue_ones() -> None:
    """Of true chances slope and intercept are near 1 and 0 and the gap is small; of chances that
    are too bold the slope is below, and of those too low the intercept above."""
    true = measure(*drawn(20_000, seed=6))
    bold = measure(*drawn(20_000, seed=6, steep=0.6))
    low = measure(*drawn(20_000, seed=6, off=0.5))

    assert true.slope == pytest.approx(1, abs=0.05)
    assert true.intercept == pytest.approx(0, abs=0.05)
    assert true.gap < 0.015 < 0.05 < min(bold.gap, low.gap)
    assert bold.slope < 0.7
    assert low.intercept > 0.4
    assert true.count == 20_000


@given(ANSWERS)
def test_figures_agree_with_each_other(answers: tuple[np.ndarray, np.ndarray]) -> None:
    """Whatever came: parts add up to the score, bins to all answers, and turning right and wrong
    about changes neither loss nor gap."""
    right, chance = answers
    found, turned = measure(right, chance), measure(1 - right, 1 - chance)

    assert sum(each.count for each in found.bins) == found.count == len(right)
    assert 0 <= found.gap <= 1
    parts = found.brier
    assert parts.score == pytest.approx(
        parts.reliability - parts.resolution + parts.uncertainty + parts.within
    )
    assert turned.log_loss == pytest.approx(found.log_loss)
    assert turned.brier.score == pytest.approx(parts.score)
    if not math.isnan(found.auc):
        assert turned.auc == pytest.approx(found.auc)


def test_share_of_gain_goes_from_the_worst_to_the_best() -> None:
    """Nothing at the worst, all at the best, less than nothing beyond the worst."""
    assert [share_of_gain(loss, worst=0.6, best=0.3) for loss in (0.6, 0.36, 0.3, 0.9)] == (
        pytest.approx([0.0, 0.8, 1.0, -1.0])
    )


@pytest.mark.parametrize(("right", "chance"), [([], []), ([1], [0.5, 0.5]), ([[1]], [[0.5]])])
def test_columns_that_do_not_match_are_refused(right: list[float], chance: list[float]) -> None:
    """No answers, or not as many chances as answers."""
    with pytest.raises(ValueError, match="as many of both"):
        measure(right, chance)
