"""Whether one person finds everything for a call: by hand, by adding up, and by drawing."""

from dataclasses import replace
from itertools import product
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit

from drills.engine.facts import Fact
from drills.engine.readying import Limit, Must, Recalibration, call_readiness, mean_of
from drills.engine.readying.call import (
    NOT_ENOUGH,
    OBSERVED_ENOUGH,
    SCREEN_ONLY,
    UNCHECKED,
    Readiness,
)
from drills.engine.readying.counting import how_many
from drills.engine.readying.hurrying import in_time
from drills.engine.readying.known import Kit
from tests.engine.known_people import alone, bag, item, known
from tests.reference import table

COUNTS = table("poisson_binomial.csv")
SUMS = table("sums_of_times.csv")
SHIFTS = table("shared_shift.csv")
AMPLE = Limit(1e6)
CHANCE = st.floats(min_value=0.02, max_value=0.98)


@pytest.mark.parametrize("row", COUNTS, ids=lambda row: f"{row['figure']} of {row['chances']}")
def test_how_many_come_off_is_as_worked_out_elsewhere(row: dict[str, str]) -> None:
    counts = how_many(np.array([float(each) for each in row["chances"].split()]))

    words, _, number = row["figure"].rpartition(" ")
    by_words = {
        "exactly": counts[int(number)] if words == "exactly" else 0.0,
        "at least": counts[int(number) :].sum() if words == "at least" else 0.0,
        "": counts @ np.arange(len(counts)),
    }
    assert by_words[words] == pytest.approx(float(row["value"]), abs=float(row["within"]))


@given(chances=st.lists(CHANCE, min_size=1, max_size=7))
def test_how_many_come_off_adds_up_over_every_outcome(chances: list[float]) -> None:
    plainly = np.zeros(len(chances) + 1)
    for outcome in product((0, 1), repeat=len(chances)):
        each = [c if o else 1 - c for c, o in zip(chances, outcome, strict=True)]
        plainly[sum(outcome)] += np.prod(each)

    assert how_many(np.array(chances)) == pytest.approx(plainly, abs=1e-12)


# Two bags, a thing in two places of one bag, one in a bag and in none, one by itself.
RED, BLUE = bag("red"), bag("blue")
MUSTS = [
    Must("mask", ((RED, item("mask", "red top")),)),
    Must("tube", ((RED, item("tube", "red side")), (RED, item("tube", "red top")))),
    Must("line", ((BLUE, item("line", "blue")), (item("line", "B2"),))),
    Must("splint", ((item("splint", "B4"),),)),
]
FACTS = Kit(MUSTS).facts


def by_every_outcome(chances: dict[Fact, float]) -> tuple[list[float], np.ndarray]:
    """The chance of each thing and of how many, over every fact known and unknown."""
    each, counts = [0.0] * len(MUSTS), np.zeros(len(MUSTS) + 1)
    for outcome in product((False, True), repeat=len(FACTS)):
        knows = dict(zip(FACTS, outcome, strict=True))
        likely = float(np.prod([chances[f] if knows[f] else 1 - chances[f] for f in FACTS]))
        found = [any(all(knows[f] for f in way) for way in must.ways) for must in MUSTS]
        each = [was + likely * is_found for was, is_found in zip(each, found, strict=True)]
        counts[sum(found)] += likely
    return each, counts


def all_found(kit: Kit, chances: np.ndarray) -> np.ndarray:
    """The chance that everything is found."""
    return kit.counts(chances)[..., -1]


@given(chances=st.lists(CHANCE, min_size=len(FACTS), max_size=len(FACTS)))
def test_a_bag_is_found_once_for_all_it_holds(chances: list[float]) -> None:
    """Things that share a bag, and places that share one, are as every outcome adds up."""
    kit = Kit(MUSTS)
    each, counts = by_every_outcome(dict(zip(FACTS, chances, strict=True)))

    assert kit.each(np.array(chances)) == pytest.approx(each, abs=1e-12)
    assert kit.counts(np.array(chances)) == pytest.approx(counts, abs=1e-12)
    assert all_found(kit, np.array(chances)) == pytest.approx(counts[-1], abs=1e-12)


@given(chances=st.lists(CHANCE, min_size=len(FACTS), max_size=len(FACTS)))
def test_a_thing_by_itself_is_exact_however_little_is_told_apart(chances: list[float]) -> None:
    """Two places in one bag are both out of reach while the bag is not found."""
    each, _ = by_every_outcome(dict(zip(FACTS, chances, strict=True)))
    kit, at = Kit(MUSTS, most_shared=0), np.array(chances)

    assert kit.each(at) == pytest.approx(each, abs=1e-12)
    assert kit.each(np.stack([at, at])) == pytest.approx(np.stack([each, each]), abs=1e-12)


def test_more_bags_than_are_told_apart_say_too_little_never_too_much() -> None:
    bags = [bag(f"bag {number}") for number in range(Kit.MOST_SHARED + 2)]
    musts = [
        Must(f"{kind} {each.thing}", ((each, item(kind, each.thing)),))
        for each in bags
        for kind in ("mask", "tube")
    ]
    kit = Kit(musts)
    at = np.array([0.8 if fact.kind == "bag" else 0.9 for fact in kit.facts])

    assert 0 < all_found(kit, at) < np.prod(at)


@pytest.mark.parametrize("row", SHIFTS, ids=lambda row: f"{row['things']} things")
def test_one_ability_moves_all_things_together(row: dict[str, str]) -> None:
    person, musts = alone([0.9] * int(row["things"]), shared=0.6)
    said, apart = whole(person, musts).chance, whole(person, musts[:1]).chance

    assert said == pytest.approx(float(row["integrated"]), abs=float(row["within"]))
    assert apart is not None
    assert apart ** int(row["things"]) == pytest.approx(
        float(row["product"]), abs=float(row["within"])
    )


@pytest.mark.parametrize(("shared", "doubt"), [(0.0, 0.6), (0.7, 0.0), (0.5, 0.5), (1.2, 1.2)])
def test_the_chance_is_the_mean_of_what_may_be_true(shared: float, doubt: float) -> None:
    """Against 40,000 draws of the truth, within four of their standard errors, and the interval
    against their quantiles within two in 100."""
    chances = dict(zip(FACTS, np.linspace(0.6, 0.97, len(FACTS)), strict=True))
    person = known(chances, shared=shared, doubt=doubt)
    random = np.random.default_rng(5)
    truth = all_found(
        Kit(MUSTS),
        person.drawn(random.normal(size=40_000), random.normal(size=(40_000, len(FACTS)))),
    )
    said = whole(person, MUSTS)

    assert said.chance == pytest.approx(truth.mean(), abs=4 * truth.std() / 200)
    assert [said.low, said.high] == pytest.approx(np.quantile(truth, [0.1, 0.9]), abs=0.02)


def whole(person, musts, limit=AMPLE, **settings) -> Readiness:
    """What is said of somebody with figures, however wide the interval is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("drills.engine.readying.call.WIDEST_SHOWN", 1.0)
        said = call_readiness(person, musts, limit, **settings)
    assert said.is_enough
    return said


@pytest.mark.parametrize("row", SUMS, ids=lambda row: row["true_chance"])
def test_ten_searches_are_in_time_nearly_as_often_as_drawn(row: dict[str, str]) -> None:
    """Against 400,000 draws of searches with alike medians: off by as much as the table says."""
    true, said = drawn_and_said(np.full(10, np.log(5.0)), float(row["true_chance"]))

    assert said == pytest.approx(float(row["approximated"]), abs=float(row["within"]))
    assert said == pytest.approx(true, abs=0.012)


@pytest.mark.parametrize("true", [0.1, 0.5, 0.9, 0.99])
@pytest.mark.parametrize("ends", [(2.0, 6.0), (6.0, 2.0), (1.0, 20.0)])
def test_so_are_searches_with_unlike_medians(ends: tuple[float, float], true: float) -> None:
    """The longest three are the least or the most certain; off by three in 100 at worst."""
    assert drawn_and_said(np.log(np.linspace(*ends, 10)), true)[1] == pytest.approx(true, abs=0.03)


def drawn_and_said(middle: np.ndarray, chance: float) -> tuple[float, float]:
    """A chance, and what is said of the limit that so many of 400,000 drawn sums keep."""
    random = np.random.default_rng(7)
    spread = np.linspace(0.3, 0.7, 10)
    sums = np.exp(middle + spread * random.normal(size=(400_000, 10))).sum(axis=1)
    return chance, in_time(middle, spread, float(np.quantile(sums, chance)))


def test_no_time_no_search_and_a_sure_search() -> None:
    assert in_time(np.array([1.0]), np.array([0.5]), 0.0) == 0.0
    assert in_time(np.array([]), np.array([]), 1.0) == 1.0
    sure = np.log([2.0, 3.0]), np.zeros(2)
    assert [in_time(*sure, 4.9), in_time(*sure, 5.1)] == [0.0, 1.0]


def test_one_search_is_in_time_as_its_own_distribution_says() -> None:
    assert in_time(np.array([np.log(8.0)]), np.array([0.5]), 8.0) == pytest.approx(0.5)


def test_a_bag_is_searched_for_once_and_walking_takes_its_part() -> None:
    chances = {RED: 0.9, item("mask", "red"): 0.9, item("tube", "red"): 0.9}
    musts = [Must(each.thing, ((RED, each),)) for each in list(chances)[1:]]
    person = known(chances, seconds=6.0)

    of_three = in_time(person.log_seconds, person.log_spread, 20.0)
    said = call_readiness(person, musts, Limit(50.0, moving=30.0))

    assert said.chance == pytest.approx(0.9**3 * of_three)


def test_what_is_expected_missing_and_how_many_are_short() -> None:
    person, musts = alone([0.9, 0.8, 0.7])
    said = call_readiness(person, musts, Limit(14.0))

    assert said.missing == pytest.approx(0.6)
    assert said.short == pytest.approx([0.504, 0.398, 0.092, 0.006])
    assert said.chance is not None
    assert said.chance < said.short[0]


def test_the_three_whose_drilling_raises_it_most_come_first_by_how_much() -> None:
    person, musts = alone([0.99, 0.5, 0.9, 0.7, 0.95])
    said = call_readiness(person, musts, AMPLE)
    assert said.chance is not None

    assert [each.name for each in said.first] == ["thing 1", "thing 3", "thing 2"]
    assert said.first[0].gain == pytest.approx(said.chance / 0.5 - said.chance)
    assert said.first[0].facts == (item("thing 1"),)


def test_what_is_known_for_sure_is_named_nowhere() -> None:
    person, musts = alone([0.9, 1 - 1e-17])
    assert [each.name for each in call_readiness(person, musts, AMPLE).first] == ["thing 0"]


def test_of_two_places_the_one_known_better_is_drilled() -> None:
    musts = [Must("line", ((item("line", "B2"),), (item("line", "B4"),)))]
    said = call_readiness(known({item("line", "B2"): 0.3, item("line", "B4"): 0.6}), musts, AMPLE)

    assert said.chance == pytest.approx(1 - 0.7 * 0.4)
    assert said.first[0].facts == (item("line", "B4"),)


@pytest.mark.parametrize(
    "settings", [{"shared": 2.0}, {"doubt": 2.5}, {"firsts": 0}, {"firsts": 1, "things": 2}]
)
def test_without_evidence_enough_no_chance_is_said(settings: dict[str, float]) -> None:
    things = int(settings.pop("things", 4))
    person, musts = alone([0.8] * things, **settings)
    said = call_readiness(person, musts, AMPLE, observed=OBSERVED_ENOUGH)

    assert not said.is_enough
    assert said.words == (NOT_ENOUGH,)
    assert (said.chance, said.low, said.high, said.missing, said.short) == (None,) * 4 + ((),)
    assert said.first
    assert all(each.gain is None for each in said.first)


def test_three_first_answers_are_enough_where_the_interval_is_narrow() -> None:
    person, musts = alone([0.8] * 3, firsts=1)
    assert call_readiness(person, musts, AMPLE).is_enough


def test_words_stand_beside_it_until_crews_were_observed() -> None:
    person, musts = alone([0.8] * 3)
    on_screen, _ = alone([0.8] * 3, hands_on=0)

    assert call_readiness(person, musts, AMPLE).words == (UNCHECKED,)
    assert call_readiness(person, musts, AMPLE, observed=OBSERVED_ENOUGH - 1).words == (UNCHECKED,)
    assert call_readiness(person, musts, AMPLE, observed=OBSERVED_ENOUGH).words == ()
    assert call_readiness(on_screen, musts, AMPLE).words == (SCREEN_ONLY, UNCHECKED)


def test_chance_and_interval_are_set_right_alike() -> None:
    person, musts = alone([0.85] * 4, shared=0.3)
    plain, lifted = (
        call_readiness(person, musts, AMPLE, recalibration=each)
        for each in (Recalibration(), Recalibration(shift=0.4, stretch=1.1))
    )
    ends = [(each.low, each.chance, each.high) for each in (plain, lifted)]

    assert list(ends[1]) == pytest.approx(
        list(Recalibration(0.4, 1.1).of(np.array(ends[0]))), abs=1e-4
    )


def test_a_lucky_hit_counts_and_more_is_never_less() -> None:
    """A floor lifts every chance; another thing never raises the whole; knowing more does."""
    person, musts = alone([0.7] * 3)
    lucky, _ = alone([0.7] * 3, floor=0.1)
    better = replace(person, logit=person.logit + 0.2)
    said = whole(person, musts).chance

    assert whole(lucky, musts).chance == pytest.approx(0.73**3)
    assert said is not None
    assert whole(person, musts[:2]).chance == pytest.approx(said / 0.7)
    assert (whole(better, musts).chance or 0.0) > said


def test_the_same_is_said_every_time() -> None:
    person, musts = alone([0.9, 0.8, 0.7], shared=0.4, doubt=0.3)
    assert call_readiness(person, musts, AMPLE) == call_readiness(person, musts, AMPLE)


@pytest.mark.parametrize("musts", [[], [Must("mask", ())], [Must("mask", ((),))]])
def test_a_call_for_nothing_or_by_no_way_is_refused(musts: list[Must]) -> None:
    with pytest.raises(ValueError, match="at least one thing"):
        Kit(musts)


def test_a_fact_that_nothing_is_thought_of_is_named() -> None:
    person, _ = alone([0.9])
    with pytest.raises(ValueError, match="item:tube@A1: nothing is thought of it"):
        call_readiness(person, [Must("tube", ((item("tube"),),))], AMPLE)


@pytest.mark.parametrize(("middle", "doubt"), [(0.0, 0.5), (3.0, 2.0), (-2.0, 1.0), (5.0, 3.0)])
def test_the_interval_of_one_fact_is_that_of_its_doubt(middle: float, doubt: float) -> None:
    """A chance grows with its log-odds, so that eight of ten lie where eight of ten of these do."""
    told = known({item("mask"): float(expit(middle))}, doubt=doubt)
    half = NormalDist().inv_cdf(0.9) * doubt

    chance, low, high = mean_of(told)
    assert (low, high) == pytest.approx(tuple(expit([middle - half, middle + half])), abs=0.02)
    assert chance == pytest.approx(float(told.chance[0]))


def test_the_interval_of_several_is_that_of_their_mean() -> None:
    facts = [item(f"mask {at}", "red top") for at in range(5)]
    told = known(dict.fromkeys(facts, 0.7), shared=0.8, doubt=0.6)
    draw = np.random.default_rng(5)
    shift, own = draw.normal(size=20_000), draw.normal(size=(20_000, 5))
    odds = told.logit + told.shared * shift[:, None] + np.sqrt(told.variance) * own
    drawn = expit(odds).mean(axis=1)

    chance, low, high = mean_of(told)
    assert chance == pytest.approx(drawn.mean(), abs=0.01)
    assert (low, high) == pytest.approx(tuple(np.quantile(drawn, [0.1, 0.9])), abs=0.02)
