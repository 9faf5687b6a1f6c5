"""What is thought of a person from counts alone: never surer than so few answers allow."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drills.engine.facts import Fact
from drills.engine.memory import Observation
from drills.engine.readying import Limit, Must, call_readiness
from drills.engine.readying.counted import FOUND_UNASKED, known_by_counts
from drills.engine.scoring import RIGHT, WRONG
from drills.engine.searching import MEAN_SECONDS, SD_SECONDS
from tests.engine.known_people import item

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MASK, TUBE, LINE = item("mask"), item("tube"), item("line")


def answers(right: int, wrong: int = 0, *, days: float = 1.0) -> list[Observation]:
    at = NOW - timedelta(days=days)
    return [Observation(each, at, first=True) for each in [RIGHT] * right + [WRONG] * wrong]


def chances(seen: dict[Fact, list[Observation]]) -> list[float]:
    person = known_by_counts((MASK, TUBE, LINE), seen, now=NOW, hands_on={})
    return list(person.chances(np.zeros(1))[0])


def test_of_somebody_never_asked_little_is_thought_and_nothing_said() -> None:
    person = known_by_counts((MASK, TUBE), {}, now=NOW, hands_on={})
    said = call_readiness(person, [Must("mask", ((MASK,),))], Limit(60.0))

    assert list(person.chances(np.zeros(1))[0]) == pytest.approx([FOUND_UNASKED] * 2, abs=0.04)
    assert not said.is_enough
    assert list(person.firsts) == [0, 0]


def test_what_was_found_is_thought_likelier_and_lifts_the_rest_a_little() -> None:
    mask, tube, line = chances({MASK: answers(6), TUBE: answers(0, 3)})
    unasked = chances({})[2]

    assert mask > 0.75 > line > unasked > 0.5 > tube


def test_older_answers_count_less() -> None:
    new, old = (chances({MASK: answers(3, days=days)})[0] for days in (1.0, 300.0))
    assert new > old > FOUND_UNASKED - 0.05


def test_more_answers_leave_less_doubt_and_make_a_chance_that_is_said() -> None:
    few, many = (
        known_by_counts((MASK,), {MASK: answers(9 * count, count)}, now=NOW, hands_on={MASK: 1})
        for count in (1, 6)
    )
    assert many.variance[0] < few.variance[0]
    assert many.shared[0] < few.shared[0]
    said = call_readiness(many, [Must("mask", ((MASK,),))], Limit(60.0))
    assert said.chance == pytest.approx(0.88, abs=0.04)
    assert list(many.hands_on) == [1]


def test_a_retry_is_no_first_answer() -> None:
    retry = [Observation(RIGHT, NOW, first=False)] * 5
    assert chances({MASK: retry}) == chances({})


def test_a_search_takes_the_seconds_that_were_measured_of_a_trolley() -> None:
    person = known_by_counts((MASK,), {}, now=NOW, hands_on={})
    drawn = np.exp(np.random.default_rng(1).normal(person.log_seconds, person.log_spread, 200_000))
    assert drawn.mean() == pytest.approx(MEAN_SECONDS, abs=0.05)
    assert drawn.std() == pytest.approx(SD_SECONDS, abs=0.15)
