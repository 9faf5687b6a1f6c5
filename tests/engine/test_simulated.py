"""Simulated cohorts: what is kept of them, and that the truth beside it is the truth."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.stats import chisquare

from drills.engine.simulated import (
    SCENARIOS,
    Move,
    Scenario,
    ScenarioError,
    Simulated,
    scenario_of,
    simulate_crews,
)
from drills.engine.simulated.cohort import PROBES
from drills.engine.simulated.laws import GUESS
from drills.engine.simulated.log import PROBE, TIMED_OUT
from drills.engine.simulated.scenario import LAWS

SMALL = Scenario(people=40, items=60, days=150)


@cache
def lived(scenario: Scenario, seed: int = 3) -> Simulated:
    return simulate_crews(scenario, seed=seed)


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_outcomes_come_as_often_as_their_true_chances(name: str, law: str) -> None:
    """In every scenario the right answers of sure, of even and of poor chances are as many as the
    chances say, within four standard deviations."""
    found = lived(scenario_of(name, law=law, people=40, items=60, days=130))
    for low, high in ((0.0, 0.35), (0.35, 0.75), (0.75, 1.0)):
        some = (found.chance >= low) & (found.chance <= high)
        chance, right = found.chance[some], found.log.is_right[some]
        spread = np.sqrt((chance * (1 - chance)).sum())
        assert abs(right.sum() - chance.sum()) <= 4 * spread


def test_a_seed_tells_one_story() -> None:
    """The same seed gives the same rows, another one others."""
    one, again, other = lived(SMALL), simulate_crews(SMALL, seed=3), lived(SMALL, 4)

    assert np.array_equal(one.log.seconds, again.log.seconds)
    assert np.array_equal(one.chance, again.chance)
    assert len(one.log) != len(other.log) or not np.array_equal(one.log.item, other.log.item)


def test_rows_are_in_order_of_time_and_within_the_days() -> None:
    """No row comes before one that was earlier, and all lie in the days lived through."""
    time = lived(SMALL).log.time

    assert (np.diff(time) >= 0).all()
    assert time[0] >= 0
    assert time[-1] < SMALL.days + 0.1


def test_a_thing_in_a_bag_is_asked_for_inside_once_the_bag_is_found() -> None:
    """Each answer on a thing in a bag has the right answer on its bag just before, and each right
    answer on a bag the thing after it."""
    found = lived(SMALL)
    log, moments = found.log, dict[tuple[int, float], list[int]]()
    for at in range(len(log)):
        moments.setdefault((log.person[at], log.time[at]), []).append(at)
    pairs = [rows for rows in moments.values() if len(rows) == 2]
    alone = [rows[0] for rows in moments.values() if len(rows) == 1]

    assert pairs
    assert all(len(rows) <= 2 for rows in moments.values())
    for outer, inner in pairs:
        assert found.bag[log.item[inner]] == log.item[outer]
        assert log.is_right[outer]
    for row in alone:
        is_bag = log.item[row] >= log.things
        assert not log.is_right[row] if is_bag else found.bag[log.item[row]] < 0


def test_nothing_is_asked_twice_in_a_drill_and_one_in_five_is_a_probe() -> None:
    """A drill asks for so many different things; its probes come evenly from all of them."""
    log = lived(replace(SMALL, in_bags=0.0, people=150)).log
    day = np.floor(log.time).astype(int)
    asked = np.stack([log.person, day, log.item], axis=1)

    assert len(np.unique(asked, axis=0)) == len(log)
    probes = log.item[log.chosen == PROBE]
    assert len(probes) / len(log) == pytest.approx(PROBES, abs=0.015)
    assert chisquare(np.bincount(probes, minlength=log.things)).pvalue > 1e-4


def test_new_hires_answer_from_the_day_they_come() -> None:
    """Some people have their first row in the last third of the days, and they know less than
    the others do by then."""
    found = lived(Scenario(people=150, items=60))
    log, first = found.log, np.full(150, np.inf)
    np.minimum.at(first, log.person, log.time)
    late = np.isin(log.person, np.flatnonzero(first >= 240))
    last = log.time >= 240

    assert 0.08 <= (first >= 240).mean() <= 0.24
    assert found.chance[late].mean() < found.chance[last & ~late].mean() - 0.05


def test_what_comes_up_on_shift_is_learnt_without_a_row() -> None:
    """Without shifts people know less after half a year, from the same drills."""
    without = lived(replace(SMALL, uses=0.0))
    late = lived(SMALL).chance[-2000:].mean()

    assert without.chance[-2000:].mean() < late - 0.05


def test_a_lazy_person_taps_at_random_and_fast() -> None:
    """A person who taps at random is right as often as guessing is, in a second."""
    found = lived(replace(SMALL, lazy=0.3, hands_on=0.0))
    lazy = found.chance == GUESS
    whose = np.unique(found.log.person[lazy & (found.log.seconds < 1)])

    assert 4 <= len(whose) <= 20
    of_lazy = np.isin(found.log.person, whose)
    assert (found.chance[of_lazy] == GUESS).all()
    assert np.median(found.log.seconds[of_lazy]) < 0.5 * np.median(found.log.seconds[~of_lazy])


def test_two_people_under_one_name_fill_one_log() -> None:
    """Who signs in as somebody else has no rows of their own; the other has twice as many."""
    shared = lived(replace(SMALL, shared=0.3)).log
    rows = np.bincount(shared.person, minlength=SMALL.people)

    assert 5 <= (rows == 0).sum() <= 20
    assert np.sort(rows)[-5:].mean() > 1.5 * np.median(rows[rows > 0])


def test_who_is_too_late_is_timed_out_at_the_cut_off() -> None:
    """No seconds are beyond the cut-off; exactly those at it are timed out, and never right."""
    log = lived(replace(SMALL, cut_off=8.0)).log
    is_out = log.outcome == TIMED_OUT

    assert 0.01 < is_out.mean() < 0.5
    assert (log.seconds[is_out] == 8.0).all()
    assert (log.seconds[~is_out] < 8.0).all()
    assert not log.is_right[is_out].any()


def test_a_quiet_season_has_a_third_of_the_drills() -> None:
    """Between the quiet days there are about a third as many rows a day as before."""
    log = lived(replace(SMALL, people=150, hired=0.0, quiet=(60, 140))).log
    before = ((log.time >= 20) & (log.time < 60)).sum() / 40
    within = ((log.time >= 80) & (log.time < 140)).sum() / 60

    assert within / before == pytest.approx(1 / 3, abs=0.08)


@pytest.mark.parametrize("law", LAWS)
def test_what_moved_is_missed_until_it_is_learnt_anew(law: str) -> None:
    """Of what moved fewer are right in the days after than in those before, and more weeks later;
    its rows have another place from the day on."""
    scenario = replace(SMALL, law=law, people=120, moves=(Move(day=90, bags=1, loose=3),))
    found = lived(scenario)
    ((day, things),) = found.moved
    log, is_moved = found.log, np.isin(found.log.item, things)
    weeks_before = is_moved & (log.time < day)
    days_after = is_moved & (log.time >= day) & (log.time < day + 5)
    weeks_after = is_moved & (log.time >= day + 22)

    right = [log.is_right[rows].mean() for rows in (weeks_before, days_after, weeks_after)]
    assert right[1] < right[0] - 0.15
    assert right[1] + 0.05 < right[2]
    places = [set(log.place[is_moved & rows]) for rows in (log.time < day, log.time >= day)]
    assert not places[0] & places[1]
    unmoved = [set(log.place[~is_moved & rows]) for rows in (log.time < day, log.time >= day)]
    assert unmoved[0] == unmoved[1]


@pytest.mark.parametrize("change", [{"law": "B"}, {"people": 0}, {"items": 5}, {"days": 0}])
def test_a_scenario_that_cannot_be_is_refused(change: dict[str, Any]) -> None:
    """The setting that cannot be is named."""
    with pytest.raises(ScenarioError, match=next(iter(change))):
        replace(SCENARIOS["steady"], **change)


def test_an_unknown_scenario_is_refused() -> None:
    """The names that would do are told."""
    with pytest.raises(ScenarioError, match="steady"):
        scenario_of("nowhere")
