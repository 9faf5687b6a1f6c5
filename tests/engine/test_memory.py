"""What is known: counts, recency, one interval."""

from datetime import UTC, datetime, timedelta

import pytest

from drills.engine.facts import ITEM, Fact
from drills.engine.memory import (
    HALF_LIFE_DAYS,
    Observation,
    asking_weights,
    estimate,
    wilson,
)
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from tests.reference import table

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def seen(outcome: str, *, days: float = 0.0, first: bool = True) -> Observation:
    return Observation(outcome, NOW - timedelta(days=days), first)


@pytest.mark.parametrize(
    "row", table("wilson.csv"), ids=lambda row: f"{row['successes']}-of-{row['tries']}"
)
def test_interval_agrees_with_figures_from_elsewhere(row: dict[str, str]) -> None:
    """The score interval equals the published and the recomputed bounds to four places."""
    found = wilson(
        float(row["successes"]), float(row["tries"]), confidence=float(row["confidence"])
    )

    assert [f"{bound:.4f}" for bound in found] == [row["low"], row["high"]]


def test_no_tries_say_nothing() -> None:
    """Without evidence everything from never to always is possible."""
    assert wilson(0, 0) == (0.0, 1.0)


def test_interval_stays_between_never_and_always() -> None:
    """Faded counts of any size keep the bounds in order and between 0 and 1."""
    bounds = [wilson(share * tries, tries) for share in (0, 0.5, 1) for tries in (1e-9, 0.3, 1e6)]

    assert all(0 <= low <= high <= 1 for low, high in bounds)


def test_nothing_seen_is_an_even_chance_that_may_not_be_shown() -> None:
    """A fact nobody was asked about is not enough evidence, and weighs fully in a drill."""
    found = estimate([], now=NOW)

    assert (found.chance, found.low, found.high) == (0.5, 0.0, 1.0)
    assert (found.answers, found.last_at) == (0, None)
    assert not found.is_enough
    assert found.weight == 1.0


def test_an_answer_counts_half_after_the_half_life() -> None:
    """One answer of today and two of a half-life ago weigh the same."""
    found = estimate(
        [seen(RIGHT), seen(WRONG, days=HALF_LIFE_DAYS), seen(WRONG, days=HALF_LIFE_DAYS)], now=NOW
    )

    assert found.chance == pytest.approx(0.5)


def test_old_evidence_widens_the_interval() -> None:
    """The same answers say less the older they are, and the chance itself stays."""
    fresh = estimate([seen(RIGHT)] * 5, now=NOW)
    old = estimate([seen(RIGHT, days=HALF_LIFE_DAYS)] * 5, now=NOW)
    older = estimate([seen(RIGHT, days=4 * HALF_LIFE_DAYS)] * 5, now=NOW)

    assert fresh.low > old.low > older.low
    assert fresh.chance == old.chance == older.chance == 1.0
    assert fresh.is_enough
    assert not older.is_enough


def test_fading_equals_fewer_fresh_answers() -> None:
    """Four right answers of a half-life ago have the interval of two of today."""
    old = estimate([seen(RIGHT, days=HALF_LIFE_DAYS)] * 4, now=NOW)
    fresh = estimate([seen(RIGHT)] * 2, now=NOW)

    assert (old.low, old.high) == pytest.approx((fresh.low, fresh.high))


def test_an_answer_from_a_clock_ahead_counts_once() -> None:
    """An answer dated after now weighs as one of now, never more."""
    ahead = estimate([seen(RIGHT, days=-30)], now=NOW)

    assert ahead.low == estimate([seen(RIGHT)], now=NOW).low


def test_a_retry_is_counted_and_never_credited() -> None:
    """A right retry after feedback leaves the chance to the first answer."""
    found = estimate([seen(WRONG), seen(RIGHT, first=False)], now=NOW)

    assert (found.answers, found.first_answers, found.right) == (2, 1, 0)
    assert found.chance == 0.0


def test_partly_right_is_half() -> None:
    """An answer right but not so deep counts half and is no right answer."""
    found = estimate([seen(PARTLY), seen(PARTLY)], now=NOW)

    assert found.chance == 0.5
    assert found.right == 0


def test_three_right_answers_are_just_not_enough() -> None:
    """Three right answers leave an interval of .3538, wider than .35; four are enough."""
    three, four = (estimate([seen(RIGHT)] * count, now=NOW) for count in (3, 4))

    assert three.high - three.low == pytest.approx(0.3538, abs=5e-5)
    assert not three.is_enough
    assert four.is_enough


def test_two_first_answers_are_never_enough() -> None:
    """Under three first answers no chance is shown, however many retries there are."""
    found = estimate([seen(RIGHT)] * 2 + [seen(RIGHT, first=False)] * 50, now=NOW)

    assert not found.is_enough


def test_mixed_answers_need_more_to_be_shown() -> None:
    """At seven of ten the interval is .3488 wide and may be shown; at five of eight it may not."""
    ten = estimate([seen(RIGHT)] * 7 + [seen(WRONG)] * 3, now=NOW)
    eight = estimate([seen(RIGHT)] * 5 + [seen(WRONG)] * 3, now=NOW)

    assert ten.is_enough
    assert not eight.is_enough


def test_weight_falls_with_every_right_answer() -> None:
    """What was found often is asked for less, and never not at all."""
    weights = [estimate([seen(RIGHT)] * count, now=NOW).weight for count in range(8)]

    assert weights == sorted(weights, reverse=True)
    assert len(set(weights)) == len(weights)
    assert weights[-1] > 0


def asked_for(outcome: str, days_ago: float, *, begun_days_ago: float = 0) -> float:
    """How much one fact is asked for, of somebody who began with another one."""
    now = datetime(2026, 11, 28, tzinfo=UTC)
    first, fact = Fact(ITEM, "first", "S1"), Fact(ITEM, "splint", "S1")
    begun = Observation(RIGHT, now - timedelta(days=max(begun_days_ago, days_ago)), first=True)
    seen = Observation(outcome, now - timedelta(days=days_ago), first=True)
    return asking_weights({first: [begun], fact: [seen]}, now=now)[str(fact)]


def test_what_was_right_is_asked_for_the_more_the_longer_ago() -> None:
    """From nothing just after it to half of its weight in a quarter."""
    by_day = [asked_for(RIGHT, days, begun_days_ago=90) for days in (0, 10, 30, 60, 90)]

    assert by_day == sorted(by_day)
    assert by_day[0] == 0 < by_day[1]


def test_a_miss_is_asked_for_before_anything_that_was_right() -> None:
    """However long ago that was."""
    assert asked_for(WRONG, 1, begun_days_ago=90) > asked_for(RIGHT, 89, begun_days_ago=90)


def test_what_was_never_met_gains_the_longer_somebody_drills() -> None:
    """It counts as 1: a miss counts as much on the first day, and less on each after it."""
    by_day = [asked_for(WRONG, 0, begun_days_ago=days) for days in (0, 7, 30, 90)]

    assert by_day == sorted(by_day, reverse=True)
    assert by_day[0] > 0.9
    assert by_day[-1] < 0.05
