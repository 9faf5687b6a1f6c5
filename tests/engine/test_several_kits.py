"""The kits of several calls at once: against each by itself, by hand, and by drawing."""

from collections.abc import Sequence
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.engine.facts import Fact
from drills.engine.readying import (
    DrawnKit,
    Kits,
    Limit,
    Must,
    Recalibration,
    calls_readiness,
    chances_of,
    lapses_of,
)
from drills.engine.readying.call import NOT_ENOUGH, SCREEN_ONLY, UNCHECKED
from tests.engine.known_people import alone, bag, item, known

AMPLE = Limit(1e6)
BAGS = [bag("red"), bag("blue")]
LOOSE = [item(f"thing {number}") for number in range(5)]
EVERY = (*BAGS, *LOOSE)


def by_every_outcome(musts: Sequence[Must], chances: dict[Fact, float]) -> float:
    """The chance that everything is found, over every fact known and unknown."""
    whole = 0.0
    for outcome in product((False, True), repeat=len(EVERY)):
        knows = dict(zip(EVERY, outcome, strict=True))
        likely = float(np.prod([chances[f] if knows[f] else 1 - chances[f] for f in EVERY]))
        whole += likely * all(any(all(knows[f] for f in way) for way in m.ways) for m in musts)
    return whole


WAY = st.lists(st.sampled_from(EVERY), min_size=1, max_size=3, unique=True).map(tuple)
MUST = st.lists(WAY, min_size=1, max_size=3, unique=True).map(lambda ways: Must("x", tuple(ways)))
CHANCES = st.lists(st.floats(0.02, 0.98), min_size=len(EVERY), max_size=len(EVERY))


@settings(max_examples=60)
@given(kits=st.lists(st.lists(MUST, min_size=1, max_size=4), min_size=1, max_size=3), at=CHANCES)
def test_all_of_each_kit_is_found_as_every_outcome_adds_up(
    kits: list[list[Must]], at: list[float]
) -> None:
    """Whatever is shared: bags, places, things asked for twice, ways that are others and more."""
    chances = dict(zip(EVERY, at, strict=True))
    every = Kits([[DrawnKit(tuple(musts), AMPLE) for musts in kits]])

    told = every.all_found(np.array([chances[fact] for fact in every.facts]))

    assert told == pytest.approx([by_every_outcome(m, chances) for m in kits], abs=1e-9)


def of_types(*types: Sequence[tuple[Sequence[Must], int]], limit: Limit = AMPLE) -> Kits:
    return Kits([[DrawnKit(tuple(musts), limit, calls) for musts, calls in each] for each in types])


def test_a_call_type_is_the_mean_over_its_drawn_calls() -> None:
    person, (one, two, three) = alone([0.9, 0.8, 0.5])
    kits = of_types([([one, two], 3), ([one, three], 1)], [([three], 7)])

    said = calls_readiness(person, kits)

    assert said[0].chance == pytest.approx(0.75 * 0.72 + 0.25 * 0.45)
    assert said[0].missing == pytest.approx(0.75 * 0.3 + 0.25 * 0.6)
    assert said[0].short == pytest.approx(
        [0.75 * 0.72 + 0.25 * 0.45, 0.75 * 0.26 + 0.25 * 0.5, 0.75 * 0.02 + 0.25 * 0.05]
    )
    assert said[1].chance == pytest.approx(0.5)
    assert [(each.things, each.first_answers) for each in said] == [(2.0, 12), (1.0, 4)]


def test_each_call_has_its_own_limit() -> None:
    person, (one, two) = alone([0.9, 0.8])
    kits = Kits([[DrawnKit((one,), AMPLE), DrawnKit((two,), Limit(0.0))]])

    assert calls_readiness(person, kits)[0].chance == pytest.approx(0.45)


def test_what_is_drilled_first_is_what_raises_the_mean_most() -> None:
    """The worst known thing of a call that seldom comes is not the first to drill."""
    person, (often, seldom, known_well) = alone([0.6, 0.2, 0.9])
    kits = of_types([([often, known_well], 9), ([seldom, known_well], 1)])

    (said,) = calls_readiness(person, kits)

    assert said.chance == pytest.approx(0.9 * 0.54 + 0.1 * 0.18)
    assert [each.name for each in said.first] == ["thing 0", "thing 1", "thing 2"]
    assert [each.gain for each in said.first] == [
        pytest.approx(0.9 * 0.36),
        pytest.approx(0.1 * 0.72),
        pytest.approx(0.9 * 0.06 + 0.1 * 0.02),
    ]


def test_a_type_names_only_what_its_own_calls_ask_for() -> None:
    person, (one, two) = alone([0.5, 0.5])
    said = calls_readiness(person, of_types([([one], 1)], [([two], 1)]))
    assert [[raised.name for raised in each.first] for each in said] == [["thing 0"], ["thing 1"]]


def test_more_of_a_thing_is_one_name() -> None:
    places = item("mask", "B2"), item("mask", "B4")
    person = known(dict.fromkeys(places, 0.5))
    kits = of_types([([Must("mask", ((places[0],),))], 1), ([Must("mask", (places,))], 1)])

    (said,) = calls_readiness(person, kits)

    assert [each.name for each in said.first] == ["mask"]
    assert said.first[0].facts == places


def test_the_interval_is_of_the_mean_over_one_person() -> None:
    """Against 40,000 draws of what may be true of the person: no narrower for more calls."""
    chances = dict(zip(EVERY, np.linspace(0.6, 0.95, len(EVERY)), strict=True))
    person = known(chances, shared=0.5, doubt=0.4)
    musts = [Must(each.thing, ((BAGS[at % 2], each),)) for at, each in enumerate(LOOSE)]
    kits = of_types([([a, b], 1) for a in musts for b in musts if a != b])
    random = np.random.default_rng(3)
    own = person.only(kits.facts)
    truth = kits.all_found(
        own.drawn(random.normal(size=40_000), random.normal(size=(40_000, len(kits.facts))))
    ).mean(axis=1)

    told = chances_of(person, kits)

    assert told.chance[0] == pytest.approx(truth.mean(), abs=4 * truth.std() / 200)
    assert [told.low[0], told.high[0]] == pytest.approx(np.quantile(truth, [0.1, 0.9]), abs=0.02)


def test_what_is_said_of_many_people_is_what_is_said_of_one() -> None:
    person, musts = alone([0.8] * 4, shared=0.3, doubt=0.2)
    kits = of_types([(musts[:2], 2), (musts[1:3], 1)], [(musts, 1)])
    righted = Recalibration(0.3, 0.9)

    told = chances_of(person, kits, righted)
    said = calls_readiness(person, kits, recalibration=righted)

    assert told.is_enough.all()
    for number, each in enumerate(said):
        row = (told.chance[number], told.low[number], told.high[number])
        assert (each.chance, each.low, each.high) == row


def test_past_calls_set_right_each_kit_and_not_their_mean() -> None:
    person, (one, two) = alone([0.9, 0.2])
    righted = Recalibration(-0.5, 1.0)

    (said,) = calls_readiness(person, of_types([([one], 1), ([two], 1)]), recalibration=righted)

    assert said.chance == pytest.approx(float(righted.of(np.array([0.9, 0.2])).mean()))
    assert said.chance != pytest.approx(float(righted.of(0.55)), abs=0.005)


def test_a_type_lapses_on_the_first_day_its_chance_is_below_even() -> None:
    """Known .9 and .8 now: together .72; after a month .56, after two .48."""
    person, (one, two) = alone([0.9, 0.8])
    facts = [one.ways[0][0], two.ways[0][0]]
    ahead = {
        60: known(dict(zip(facts, (0.8, 0.6), strict=True))),
        30: known(dict(zip(facts, (0.8, 0.7), strict=True))),
    }
    kits = of_types([([one, two], 1)], [([one], 1)])

    assert lapses_of(person, ahead, kits) == (60, None)
    assert lapses_of(person, ahead, kits, Recalibration(-0.5, 1.0)) == (30, None)
    assert lapses_of(person, ahead, kits, Recalibration(-3.0, 1.0)) == (None, None)


def test_evidence_is_counted_for_each_type_by_itself() -> None:
    person, (one, two, three) = alone([0.8] * 3, firsts=1, hands_on=0)
    few, enough = calls_readiness(person, of_types([([one, two], 1)], [([one, two, three], 1)]))

    assert few.words == (NOT_ENOUGH, SCREEN_ONLY, UNCHECKED)
    assert (few.chance, few.short) == (None, ())
    assert [each.gain for each in few.first] == [None, None]
    assert enough.is_enough
