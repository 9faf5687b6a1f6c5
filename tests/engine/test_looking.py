"""What the model thinks of a person, with where each fact is on the rig."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drills.engine.facts import Fact, facts_of, steps
from drills.engine.memory import Observation
from drills.engine.scoring import RIGHT, WRONG
from drills.engine.worth import asking_by_worth
from drills.engine.worth.looking import NOT_NEEDED, outlook_on
from tests.engine.known_people import known
from tests.layouts import practice_rig

RIG = practice_rig()
FACTS = facts_of(RIG)
# The way to each fact, itself included.
STEPS = {
    way[at]: way[: at + 1]
    for key, thing in RIG.things.items()
    for way in (steps(RIG, key, code) for code in thing.places)
    for at in range(len(way))
}
AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NOW = known(dict.fromkeys(FACTS, 0.7))
LATER = known(dict.fromkeys(FACTS, 0.55))


def fact_of(thing: str, place: str = "") -> Fact:
    return next(f for f in FACTS if f.thing == thing and place in (f.place, ""))


def looked(seen=None, moved=None, needed=()):
    return outlook_on(RIG, NOW, LATER, seen or {}, at=AT, needed=needed, moved_days=moved)


def test_chance_later_and_seconds_are_those_of_the_model() -> None:
    outlook = looked()

    assert outlook.facts == FACTS
    assert list(outlook.chance) == pytest.approx([0.7] * len(FACTS))
    assert list(outlook.later) == pytest.approx([0.55] * len(FACTS))
    assert outlook.seconds[0] == pytest.approx(5.0 * np.exp(0.08))


def test_what_is_critical_or_a_must_have_counts_and_the_rest_little() -> None:
    plain = dict(zip(FACTS, looked().matters, strict=True))
    asked = dict(zip(FACTS, looked(needed={"traffic cone"}).matters, strict=True))

    assert plain[fact_of("tourniquet", "I1A")] == asked[fact_of("tourniquet", "I1A")] == 1.0
    assert plain[fact_of("traffic cone")] == NOT_NEEDED
    assert asked[fact_of("traffic cone")] == 1.0
    assert not looked(needed={"traffic cone"}).critical[FACTS.index(fact_of("traffic cone"))]


def test_a_thing_is_inside_the_bag_that_holds_it_and_a_bag_on_a_shelf_in_none() -> None:
    inside = looked().inside
    held = [at for at, fact in enumerate(FACTS) if len(STEPS[fact]) > 1]

    assert held
    assert all(FACTS[inside[at]] == STEPS[FACTS[at]][-2] for at in held)
    assert all(inside[at] == -1 for at in range(len(FACTS)) if at not in held)


def test_what_was_right_within_the_week_rests() -> None:
    splint, cone, gauze = fact_of("splint"), fact_of("traffic cone"), fact_of("gauze roll")
    told = {splint: [(RIGHT, 3)], cone: [(RIGHT, 8)], gauze: [(RIGHT, 6), (WRONG, 3)]}
    seen = {
        fact: [Observation(how, AT - timedelta(days=days), first=True) for how, days in given]
        for fact, given in told.items()
    }
    assert {fact for fact, rests in zip(FACTS, looked(seen).rests, strict=True) if rests} == {
        splint
    }


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
