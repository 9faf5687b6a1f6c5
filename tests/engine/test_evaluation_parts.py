"""What is measured of calls, of intervals and of choosing, on services of a few people."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drills.engine.generation import plan_drill
from drills.engine.simulated import Scenario
from drills.engine.simulated.scenario import LAWS
from tests.bench import calls_found, choosing, intervals
from tests.bench.at_a_day import AtADay, at_a_day
from tests.bench.calls_found import PLAIN, RIGHTED, TRUE
from tests.bench.choosing import AT_RANDOM, BY_GAIN, CHOOSERS, OF_MUSTS, Missed, eight_weeks
from tests.bench.competency import blank, joined, with_part
from tests.bench.competency_parts import parts_for
from tests.bench.drilled import Drilled

FEW = Scenario(people=14, items=24, days=130, hired=0.0)
FEWER = Scenario(people=5, items=40, hired=0.0, hands_on=0.0)


@cache
def day() -> AtADay:
    return at_a_day(FEW, seed=1, day=120)


def test_what_is_said_of_calls_stands_beside_what_came() -> None:
    """Only of people whom what sets it right never saw, and the truth is told of the same calls."""
    said = calls_found.said_of(day(), seed=1)
    told = calls_found.summed("A", [said, said])

    assert 0 < len(said.came) <= 7 * calls_found.TYPES
    assert len(said.plain) == len(said.righted) == len(said.true) == len(said.came)
    assert set(told["said"]) == {PLAIN, RIGHTED, TRUE}
    assert told["said"][TRUE]["thought"]["mean"] == pytest.approx(said.true.mean())
    assert len(list(calls_found.lines("A", told))) == 4


def test_a_gap_beyond_its_bound_is_named() -> None:
    """Whoever says of every call that it is found, where none is, is off by all of it."""
    none, all_found = np.zeros(300), np.full(300, 0.98)
    said = calls_found.Said(all_found, all_found, none + 0.01, none, 1.0)

    assert "held to 0.03" in calls_found.summed("A", [said])["missed"][0]


def test_intervals_are_told_by_first_answers_and_hold_the_truth_or_not() -> None:
    """Everything of everybody is in one group, and what is held, beneath and above is all of it."""
    held = intervals.held_by(day())
    groups = intervals.summed([held])["groups"]

    assert held.chance.shape == held.true.shape == (len(day().people), 24)
    assert (held.low <= held.chance).all()
    assert (held.chance <= held.high).all()
    assert sum(each["things"] for each in groups.values()) == held.chance.size
    for each in groups.values():
        parts = sum(each[key]["mean"] for key in ("held", "below", "above"))
        assert parts == pytest.approx(1)


def test_an_interval_that_holds_everything_is_told_so() -> None:
    held = intervals.held_by(day())
    wide = replace(held, low=np.zeros_like(held.low), high=np.ones_like(held.high))

    groups = intervals.summed([wide])["groups"]

    assert {each["held"]["mean"] for each in groups.values()} == {1.0}
    assert {each["shown"]["mean"] for each in groups.values()} == {0.0}


@pytest.mark.parametrize("way", CHOOSERS)
def test_each_way_of_choosing_asks_everybody_for_as_much(way: str) -> None:
    told = eight_weeks(FEWER, 1, way, weeks=2)

    assert told.bound["drills"] == 5 * 2 * choosing.A_WEEK
    assert 0 < told.by_probes < 1
    assert told.by_probes == pytest.approx(told.truth, abs=0.2)


def test_the_same_seed_misses_the_same() -> None:
    assert eight_weeks(FEWER, 2, BY_GAIN, weeks=2) == eight_weeks(FEWER, 2, BY_GAIN, weeks=2)


def test_what_is_chosen_is_judged_beside_what_is_drawn_at_random() -> None:
    ways = dict.fromkeys(CHOOSERS, 0.4) | {BY_GAIN: 0.32}
    bound = {"drills": 9, "too hard": 2, "": 4}
    ran = [Missed(way, share, share, 0.5, bound) for way, share in ways.items()]

    told = choosing.summed("A", ran)

    assert told["ways"][AT_RANDOM]["fewer"]["mean"] == 0
    assert told["ways"][BY_GAIN]["fewer"]["mean"] == pytest.approx(0.2)
    assert "held to 0.25" in told["missed"][0]
    assert told["bound"] == {"too hard": 2, "too easy": 0, "within": 4, "drills": 9}
    assert "and 3 came before the first fit" in list(choosing.lines("A", told))[-1]


@pytest.mark.parametrize("law", LAWS)
def test_what_is_chosen_misses_less_than_at_random_and_leaves_less_of_the_rest_undone(
    law: str,
) -> None:
    """Few people and things, of which must-haves are soon known: then the rest has its turn."""
    scenario = replace(FEWER, law=law, people=12)
    ways = (AT_RANDOM, OF_MUSTS, BY_GAIN)
    random, musts, gain = (eight_weeks(scenario, 1, way, weeks=5) for way in ways)

    assert gain.truth < (1 - choosing.LESS_HELD) * random.truth
    assert gain.rest < 0.75 * musts.rest
    assert random.bound == musts.bound == {"drills": 12 * 5 * choosing.A_WEEK}


def test_answers_move_their_own_person_alone_between_two_fits() -> None:
    service = Drilled(FEWER, 1)
    layout, (recipe, _) = service.rig.layout, CHOOSERS[AT_RANDOM]
    service.world.go_to(0.4)
    drills = [plan_drill(layout, recipe, seed=who).prompts for who in range(5)]
    service.drill(0.4, drills)
    service.refit()
    assert service.model is not None
    before = service.model.offsets["person"]
    service.world.go_to(4.0)
    service.drill(4.0, drills)
    after = service.model.offsets["person"]

    assert (after.spreads < before.spreads).all()
    assert (after.means != before.means).all()


def test_parts_that_were_written_apart_come_together_in_their_order() -> None:
    one, other, *_ = parts_for(None)
    apart = [with_part(blank(), each, {"is": each.name, "missed": []}) for each in (other, one)]

    assert list(joined(apart)["cases"]) == [one.name, other.name]
    with pytest.raises(ValueError, match="other coefficients"):
        joined([{**apart[0], "coefficients": []}])


def test_what_was_not_measured_anew_is_kept_and_marked() -> None:
    one, other, *_ = parts_for(None)
    old = {**blank(), "coefficients": []}
    for each in (one, other):
        old = with_part(old, each, {"is": "old", "missed": []})

    cases = joined([with_part(blank(), other, {"is": "new", "missed": []})], old)["cases"]

    assert cases[other.name] == {"is": "new", "missed": []}
    assert cases[one.name] == {"is": "old", "missed": [], "is_earlier": True}


def test_each_part_has_a_name_of_its_own_and_jobs_for_each_seed() -> None:
    parts = parts_for(10)

    assert len({each.name for each in parts}) == len(parts)
    assert all(len(each.jobs((1, 2))) >= 1 for each in parts)
