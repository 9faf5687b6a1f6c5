"""Chances of whole calls, set right by past ones: by no more than luck alone leaves over."""

import math

import numpy as np
import pytest
from scipy.special import expit, logit

from drills.engine.readying import AS_IT_IS, Recalibration, recalibrated
from drills.engine.readying.recalibrating import FEWEST_CALLS, FEWEST_PEOPLE


def past(
    calls: int, people: int, *, shift: float, stretch: float, seed: int = 3
) -> tuple[list[float], list[bool], list[int]]:
    """Drawn calls whose true log-odds are `shift + stretch x` those that were said."""
    random = np.random.default_rng(seed)
    said = random.uniform(0.05, 0.95, calls)
    came_off = random.random(calls) < expit(shift + stretch * logit(said))
    return list(said), list(map(bool, came_off)), list(random.integers(people, size=calls))


@pytest.mark.parametrize(("shift", "stretch"), [(0.3, 1.0), (-0.4, 0.8), (0.2, 1.3)])
def test_what_errs_alike_everywhere_is_put_right(shift: float, stretch: float) -> None:
    """Of 6,000 calls both figures are found within .1, and other people are foretold better."""
    found = recalibrated(*past(6_000, 60, shift=shift, stretch=stretch))

    assert [found.shift, found.stretch] == pytest.approx([shift, stretch], abs=0.1)
    assert found.loss_after < found.loss_before
    assert found.calls == 6_000


def test_what_is_right_already_is_hardly_changed_over_many_seeds() -> None:
    """Luck alone moves a chance of one half by no more than three in 100 in any of 20 seeds."""
    for seed in range(20):
        found = recalibrated(*past(3_000, 40, shift=0.0, stretch=1.0, seed=seed))
        assert float(found.of(0.5)) == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize(
    ("calls", "people"), [(FEWEST_CALLS - 1, 40), (4_000, FEWEST_PEOPLE - 1), (0, 1)]
)
def test_with_few_calls_or_few_people_nothing_is_changed(calls: int, people: int) -> None:
    found = recalibrated(*past(calls, people, shift=1.0, stretch=1.0))

    assert found.is_as_it_is
    assert found.calls == calls


def test_what_helps_only_those_it_was_fitted_on_is_not_kept() -> None:
    """Every second person is better than said and every other one worse: nothing is kept."""
    random = np.random.default_rng(2)
    people = [number % 20 for number in range(4_000)]
    came_off = [random.random() < (0.8 if who % 2 == 0 else 0.2) for who in people]

    found = recalibrated([0.5] * len(people), came_off, people)

    assert found.is_as_it_is
    assert found.loss_after > found.loss_before


def test_a_shift_is_drawn_to_none_by_what_luck_makes_of_it() -> None:
    """Worked out by hand: 400 people of even chances, 240 of whom find all. The shift is log(1.5),
    its variance 1 / (400 x .6 x .4), and the inverse of its square over that is taken off."""
    came_off = [number % 5 < 3 for number in range(400)]

    found = recalibrated([0.5] * 400, came_off, range(400))

    assert found.shift == pytest.approx(
        math.log(1.5) * (1 - 1 / (math.log(1.5) ** 2 * 96)), abs=4e-3
    )
    assert found.stretch == 1.0


def test_luck_alone_changes_nothing_as_often_as_its_distribution_says() -> None:
    """Of true chances what would be changed is no surer than luck in 1 - 1/e of all cases: the
    chance that a sum of two squared standard normal draws is less than two."""
    nothing = [
        recalibrated(*past(400, 400, shift=0.0, stretch=1.0, seed=seed)).is_as_it_is
        for seed in range(100)
    ]

    assert sum(nothing) / len(nothing) == pytest.approx(1 - 1 / math.e, abs=0.15)


def test_many_calls_of_one_person_say_no_more_than_that_person_does() -> None:
    """Ten times the same call of each person change as much as one; of ten people each, more."""
    said, came_off, _ = past(300, 300, shift=0.25, stretch=1.0, seed=5)
    alike = [who for who in range(300) for _ in range(10)]
    ten_said, ten_came = np.repeat(said, 10).tolist(), np.repeat(came_off, 10).tolist()

    once = recalibrated(said, came_off, range(300))
    ten_times = recalibrated(ten_said, ten_came, alike)
    of_ten_people = recalibrated(ten_said, ten_came, range(3_000))

    assert 0.05 < once.shift < of_ten_people.shift - 0.05
    assert ten_times.shift == pytest.approx(once.shift, abs=0.02)


def test_a_chance_stays_a_chance_and_keeps_its_order() -> None:
    chances = np.linspace(0.0, 1.0, 11)
    found = Recalibration(0.5, 0.7).of(chances)

    assert list(found) == sorted(found)
    assert (found[0], found[-1]) == (0.0, 1.0)
    assert list(AS_IT_IS.of(chances)) == list(chances)


def test_calls_that_came_off_against_all_that_was_said_never_turn_the_order_round() -> None:
    said, came_off, people = past(2_000, 30, shift=0.0, stretch=-1.0)
    assert recalibrated(said, came_off, people).stretch > 0
