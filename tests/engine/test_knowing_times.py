"""How long finding takes: time-outs count as longer than they show."""

from dataclasses import replace

import numpy as np
import pytest

from drills.engine.knowing.columns import HANDS_ON, SCREEN, Answers
from drills.engine.knowing.times import PSEUDO, fit_times
from tests.engine.knowing_answers import ability

# Own draws in the manner of a published warning: true median 12 s, spread 0.6, limit 15 s.
MEDIAN, SPREAD, LIMIT = 12.0, 0.6, 15.0


def timed(seed: int, *, cut: bool) -> Answers:
    answers, _ = ability(seed, people=1, things=1, each=4000)
    took = np.exp(np.random.default_rng(seed).normal(np.log(MEDIAN), SPREAD, len(answers)))
    ran_out = (took > LIMIT) & cut
    return replace(
        answers,
        seconds=np.where(ran_out, LIMIT, took),
        ran_out=ran_out,
        right=np.where(ran_out, 0.0, 1.0),
    )


@pytest.mark.parametrize("cut", [False, True])
def test_the_median_is_found_whether_or_not_a_limit_cuts_it(cut: bool) -> None:
    """With a third cut off, the median and the spread are those put in; dropping what ran out would
    tell a quarter less."""
    answers = timed(4, cut=cut)
    found = fit_times(answers)
    at = found.log_seconds(np.array([0]), np.array([0]), np.array([0]))

    assert np.exp(at[0]) == pytest.approx(MEDIAN, rel=0.04)
    assert found.spread == pytest.approx(SPREAD, rel=0.05)
    if cut:
        assert np.median(answers.seconds[~answers.ran_out]) < 0.8 * MEDIAN


def test_people_and_things_are_told_apart() -> None:
    """Who is slow and what takes long each has its own share, drawn a little to the usual."""
    answers, _ = ability(5, people=20, things=20, each=200)
    slow = np.where(answers.person < 10, 0.4, -0.4) + np.where(answers.fact < 5, 0.6, -0.2)
    took = np.exp(2.0 + slow + np.random.default_rng(5).normal(0, 0.3, len(answers)))
    found = fit_times(replace(answers, seconds=took, right=np.ones(len(answers))))

    assert found.people[:10].mean() - found.people[10:].mean() == pytest.approx(0.8, abs=0.06)
    assert found.facts[:5].mean() - found.facts[5:].mean() == pytest.approx(0.8, abs=0.06)
    assert found.spread == pytest.approx(0.3, rel=0.05)


def test_what_is_usual_and_all_offsets_are_the_least_squares_together() -> None:
    """Ten slow people are seen at the rig nine times in ten, ten quick ones on the screen: the rig
    is told apart from them, as the normal equations solved whole tell it."""
    answers, _ = ability(6, people=20, things=8, each=60)
    draw = np.random.default_rng(6)
    by_hand = draw.random(len(answers)) < np.where(answers.person < 10, 0.9, 0.1)
    slow = np.where(answers.person < 10, 0.5, -0.5) + 0.3 * by_hand
    took = 2.0 + slow + draw.normal(0, 0.2, len(answers))
    found = fit_times(
        replace(
            answers,
            seconds=np.exp(took),
            right=np.ones(len(answers)),
            modality=np.where(by_hand, HANDS_ON, SCREEN),
        )
    )
    usual = np.stack([~by_hand, by_hand], axis=1) * 1.0
    columns = np.hstack([usual, np.eye(20)[answers.person], np.eye(8)[answers.fact]])
    drawn_in = np.diag([0.0] * 2 + [PSEUDO] * 28)
    whole = np.linalg.solve(columns.T @ columns + drawn_in, columns.T @ took)

    assert found.usual[[SCREEN, HANDS_ON]] == pytest.approx(whole[:2], abs=5e-3)
    assert found.people == pytest.approx(whole[2:22], abs=5e-3)
    assert found.facts == pytest.approx(whole[22:], abs=5e-3)
    # Of the nine tenths that the plain means are apart most is who was seen there.
    assert took[by_hand].mean() - took[~by_hand].mean() > 0.9
    assert found.usual[HANDS_ON] - found.usual[SCREEN] < 0.45


def test_who_never_answered_takes_the_usual_time() -> None:
    """A person and a thing that are new take what is usual in that manner of asking."""
    answers = timed(6, cut=False)
    found = fit_times(answers)

    assert found.log_seconds(np.array([9]), np.array([9]), np.array([0]))[0] == found.usual[0]


def test_wrong_answers_and_none_say_nothing() -> None:
    """Without one right answer no time is known but the published one, and nothing fails."""
    answers = timed(7, cut=False)
    found = fit_times(replace(answers, right=np.zeros(len(answers))))

    assert np.exp(found.usual) == pytest.approx(5.19 / np.sqrt(1 + (3.34 / 5.19) ** 2))


def test_in_a_manner_nobody_was_asked_in_it_is_as_published() -> None:
    """All on the screen and slow: at the rig a search takes as long as in the published study."""
    found = fit_times(timed(9, cut=False))

    assert np.exp(found.usual[0]) == pytest.approx(MEDIAN, rel=0.04)
    assert np.exp(found.usual[HANDS_ON]) == pytest.approx(4.36, abs=0.01)


def test_times_that_are_all_alike_are_told_as_they_are() -> None:
    """Where everything takes as long, that is expected, and nothing is divided by nothing."""
    answers = replace(timed(8, cut=False), seconds=np.full(4000, 7.0))
    found = fit_times(answers)

    at = found.log_seconds(np.array([0]), np.array([0]), np.array([0]))
    assert np.exp(at[0]) == pytest.approx(7.0)
