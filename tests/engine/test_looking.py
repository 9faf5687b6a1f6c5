"""What the model thinks of a person, with where each fact is on the rig."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drills.engine.facts import BAG, Fact, facts_of
from drills.engine.memory import Observation
from drills.engine.scoring import RIGHT
from drills.engine.worth import asking_by_worth
from drills.engine.worth.looking import BESIDE_SEARCH, LOOKS_AHEAD, NOT_CRITICAL, outlook_on
from tests.engine.known_people import known
from tests.layouts import practice_rig

RIG = practice_rig()
FACTS = facts_of(RIG)
AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NOW = known(dict.fromkeys(FACTS, 0.7))
LATER = replace(NOW, logit=NOW.logit - 0.35)


def fact_of(thing: str, place: str = "") -> Fact:
    return next(f for f in FACTS if f.thing == thing and place in (f.place, ""))


def looked(seen=None, moved=None):
    return outlook_on(RIG, NOW, LATER, seen or {}, at=AT, moved_days=moved)


def test_chance_fading_and_seconds_are_those_of_the_model() -> None:
    outlook = looked()

    assert outlook.facts == FACTS
    assert list(outlook.chance) == pytest.approx([0.7] * len(FACTS))
    assert list(outlook.fading) == pytest.approx([0.35 / LOOKS_AHEAD] * len(FACTS))
    assert outlook.seconds[0] == pytest.approx(5.0 * np.exp(0.08) + BESIDE_SEARCH)


def test_a_bag_is_as_critical_as_what_it_holds() -> None:
    matters = dict(zip(FACTS, looked().matters, strict=True))

    assert matters[next(f for f in FACTS if f.kind == BAG)] == 1.0
    assert matters[fact_of("tourniquet", "I1A")] == 1.0
    assert matters[fact_of("traffic cone")] == NOT_CRITICAL


def test_zones_are_doors_and_what_lies_in_one_place_lies_beside() -> None:
    outlook = looked()
    at = {fact: index for index, fact in enumerate(FACTS)}
    cone, splint = at[fact_of("traffic cone")], at[fact_of("splint")]
    gauze, collar = at[fact_of("gauze roll")], at[fact_of("neck collar")]

    assert outlook.zone[cone] == outlook.zone[splint] != outlook.zone[gauze]
    assert outlook.beside[splint] == outlook.beside[collar] != outlook.beside[cone]


def test_days_are_counted_from_the_newest_answer_and_from_the_move() -> None:
    splint, cone = fact_of("splint"), fact_of("traffic cone")
    seen = {splint: [Observation(RIGHT, AT - timedelta(days=days), first=True) for days in (30, 3)]}
    outlook = looked(seen, {cone: 7.0})
    days = dict(zip(FACTS, outlook.days_since, strict=True))
    moved = dict(zip(FACTS, outlook.moved_days, strict=True))

    assert days[splint] == pytest.approx(3.0)
    assert np.isnan(days[cone])
    assert moved[cone] == 7.0
    assert np.isnan(moved[splint])


def test_what_moved_a_week_ago_and_was_not_asked_since_is_asked_first() -> None:
    cone = fact_of("traffic cone")
    weights = asking_by_worth(looked({}, {cone: 7.0})).weights
    assert max(weights, key=lambda each: weights[each]) == str(cone)
