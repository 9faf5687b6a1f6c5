"""Whose figure counts, and what is late."""

import math
from datetime import UTC, datetime, timedelta

import pytest

from drills.engine.timing import (
    CUT_OFF,
    IN_TIME,
    LATE,
    UNTIMED,
    UNVERIFIED,
    VERIFIED,
    Claim,
    judge_time,
    lawful_cut_off,
    limit_on_screen,
    spent,
    taken,
    tapping_baseline,
)
from tests.reference import table


@pytest.mark.parametrize("row", table("time_claims.csv"), ids=lambda row: row["why"])
def test_a_claim_counts_only_if_it_is_possible(row: dict[str, str]) -> None:
    """The browser's seconds count when the server's interval allows them, else the interval."""
    server = float(row["server"])
    claim = Claim(float(row["elapsed"]), float(row["gap"]), float(row["hidden"]))

    found = taken(server, claim)

    assert found.state == row["state"]
    assert found.seconds == (claim.elapsed if row["state"] == VERIFIED else server)


def test_without_a_claim_the_servers_interval_is_kept_unverified() -> None:
    """A page without scripts is timed by the server, and says so."""
    found = taken(12.5, None)

    assert (found.seconds, found.state) == (12.5, UNVERIFIED)


def test_a_clock_set_back_never_gives_negative_seconds() -> None:
    """An interval below nothing counts as nothing."""
    assert taken(-3.0, None).seconds == 0.0


@pytest.mark.parametrize(
    ("seconds", "verdict"),
    [(0.0, IN_TIME), (15.0, IN_TIME), (15.5, IN_TIME), (15.5001, LATE), (600.0, LATE)],
)
def test_late_is_more_than_half_a_second_over(seconds: float, verdict: str) -> None:
    """Nothing is decided on half a second."""
    assert judge_time(seconds, server=seconds, limit=15.0, cut_off=None) == verdict


def test_without_a_limit_nothing_is_late() -> None:
    """Untimed practice is neither in time nor late."""
    assert judge_time(1e9, server=1e9, limit=None, cut_off=None) == UNTIMED


@pytest.mark.parametrize(
    ("server", "verdict"), [(30.0, IN_TIME), (30.5, IN_TIME), (30.5001, CUT_OFF)]
)
def test_the_cut_off_is_the_servers(server: float, verdict: str) -> None:
    """A prompt closes by the server's interval, whatever the browser claims."""
    assert judge_time(1.0, server=server, limit=15.0, cut_off=30.0) == verdict


@pytest.mark.parametrize(
    ("asked", "limit", "lawful"),
    [
        (None, 15.0, None),
        (20.0, None, None),
        (None, None, None),
        (20.0, 15.0, 30.0),
        (30.0, 15.0, 30.0),
        (45.0, 15.0, 45.0),
        (0.0, 15.0, 30.0),
    ],
)
def test_a_cut_off_is_never_under_twice_the_limit(
    asked: float | None, limit: float | None, lawful: float | None
) -> None:
    """A recipe may close prompts later than twice the limit, never sooner, and not without one."""
    assert lawful_cut_off(asked, limit) == lawful


def test_limit_is_the_persons_own_tapping_and_ten_seconds() -> None:
    """On screen each thing to find has ten seconds over the baseline; ours, no source."""
    assert limit_on_screen(2.5) == 12.5
    assert limit_on_screen(2.5, things=4) == 42.5
    assert limit_on_screen(2.5, things=0) == 12.5


def test_allowance_lengthens_the_whole_limit() -> None:
    """Half as much time again is half as much of tapping and looking."""
    assert limit_on_screen(2.0, allowance=1.5) == 18.0


def test_baseline_is_the_middle_of_the_warm_up() -> None:
    """One slow tap does not lengthen the limits of a run."""
    assert tapping_baseline([1.5, 9.0, 2.0]) == 2.0


def test_what_lay_alone_is_not_time_spent() -> None:
    """Three minutes and ten at work; a night between, and a clock that was set back, are none."""
    began = datetime(2026, 11, 24, 7, 0, tzinfo=UTC)
    after = [0, 3, 13, 700, 699]
    moments = [began + timedelta(minutes=minute) for minute in after]

    assert spent(moments, pause=timedelta(minutes=10)) == timedelta(minutes=13)
    assert spent([], pause=timedelta(minutes=10)) == timedelta()


def test_bounds_have_no_gap_between_them() -> None:
    """The next figure after the last one in time is late."""
    last = 15.5

    assert judge_time(math.nextafter(last, 16), server=20, limit=15, cut_off=None) == LATE
