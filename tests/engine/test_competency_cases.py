"""What is measured of a simulated service, and how it is told."""

from functools import cache

import numpy as np
import pytest

from drills.engine.simulated import Log, Move, Scenario
from tests.bench.competency_cases import GLOBAL_MEAN, ORACLE, READINESS, Case, Ran, run
from tests.bench.competency_told import case_told
from tests.bench.forecasts import windows
from tests.bench.reliability_picture import drawn

MOVES = (Move(day=100, bags=1, loose=2),)
CASE = Case("few people", Scenario(people=16, items=24, days=150, moves=MOVES), 0.99)


def reversed_chances(log: Log, first_day: float) -> np.ndarray:
    """A forecast that is wrong about everything."""
    return 1 - windows(log, first_day)


@cache
def ran(seed: int) -> Ran:
    return run(CASE, seed, {READINESS: windows, "reversed": reversed_chances}, people=None)


def test_shares_go_from_the_common_share_to_the_truth() -> None:
    """The truth has all of the gain, one chance for everything none, and what is worse less."""
    shares = ran(1).shares

    assert shares[ORACLE] == 1
    assert shares[GLOBAL_MEAN] == 0
    assert 0 < shares[READINESS] < 1
    assert shares["reversed"] < 0


def test_only_the_first_answer_of_a_day_is_measured() -> None:
    """Bags are answered several times in a drill; the figures count the last third and each
    person, thing and day once."""
    figures = ran(1).figures

    assert len({each.count for each in figures.values()}) == 1
    assert 200 < figures[ORACLE].count < 16 * 50 / 9 * 24


def test_what_moved_is_looked_at_by_itself() -> None:
    """After a move fewer are right on what moved, of people who knew it, than on all else."""
    thought = ran(1).thought

    assert thought["move 1"][ORACLE].right.mean() < thought["not moved 1"][ORACLE].right.mean()
    assert set(thought["move 1"]) == {ORACLE, "item mean", READINESS, "reversed"}


def test_what_is_told_names_the_bounds_that_were_missed() -> None:
    """A share below the least one is missed, in words; the picture has a diagram of each case."""
    told = case_told(CASE, [ran(1), ran(2)])

    assert any("share of the gain" in words and "0.99" in words for words in told["missed"])
    share = told["forecasts"][READINESS]["share"]
    assert share["mean"] == pytest.approx((ran(1).shares[READINESS] + ran(2).shares[READINESS]) / 2)
    assert share["least"] <= share["mean"] <= share["most"]
    assert drawn([told, told]).count("few people") == 2
