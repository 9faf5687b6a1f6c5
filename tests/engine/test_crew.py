"""Whether two find everything together, what neither finds, and the shortest drill for it."""

from collections.abc import Sequence
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.engine.facts import Fact
from drills.engine.readying import (
    Asks,
    DrawnKit,
    Limit,
    Must,
    call_readiness,
    crew_readiness,
    shortest,
)
from drills.engine.readying.call import NOT_ENOUGH, SCREEN_ONLY, UNCHECKED
from drills.engine.readying.hurrying import in_time
from tests.engine.known_people import alone, bag, item, known

AMPLE = Limit(1e6)
CHANCE = st.floats(min_value=0.02, max_value=0.98)
RED = bag("red")
MUSTS = [
    Must("mask", ((RED, item("mask", "red")),)),
    Must("tube", ((RED, item("tube", "red")), (item("tube", "B2"),))),
    Must("splint", ((item("splint", "B4"),),)),
]
FACTS = tuple(dict.fromkeys(fact for must in MUSTS for way in must.ways for fact in way))


def one_call(musts: Sequence[Must], limit: Limit) -> list[DrawnKit]:
    """A call type of which every call asks for the same."""
    return [DrawnKit(tuple(musts), limit)]


def either_by_every_outcome(one: list[float], other: list[float]) -> float:
    """The chance that each thing is found by one of two, over all facts known and unknown."""
    whole = 0.0
    for outcome in product((False, True), repeat=2 * len(FACTS)):
        chances = [*one, *other]
        likely = np.prod([c if o else 1 - c for c, o in zip(chances, outcome, strict=True)])
        knows = [dict(zip(FACTS, part, strict=True)) for part in np.split(np.array(outcome), 2)]
        found = (
            any(all(own[fact] for fact in way) for own in knows for way in must.ways)
            for must in MUSTS
        )
        whole += float(likely) * all(found)
    return whole


@settings(max_examples=20)
@given(one=st.lists(CHANCE, min_size=5, max_size=5), other=st.lists(CHANCE, min_size=5, max_size=5))
def test_either_may_find_each_thing(one: list[float], other: list[float]) -> None:
    """Without doubt about the two, it is what every outcome of both adds up to."""
    two = known(dict(zip(FACTS, one, strict=True))), known(dict(zip(FACTS, other, strict=True)))

    said = crew_readiness(two, one_call(MUSTS, AMPLE))

    assert said.chance == pytest.approx(either_by_every_outcome(one, other), abs=1e-9)


def test_the_chance_is_the_mean_of_what_may_be_true_of_both() -> None:
    """Against 40,000 draws of both, within four standard errors; the interval within .02."""
    (one, musts), (other, _) = (
        alone([0.7, 0.8, 0.9, 0.6], shared=0.5, doubt=0.4),
        alone([0.8, 0.6, 0.7, 0.9], shared=0.7, doubt=0.2),
    )
    random = np.random.default_rng(4)
    first, second = (
        each.drawn(random.normal(size=40_000), random.normal(size=(40_000, 4)))
        for each in (one, other)
    )
    truth = (1 - (1 - first) * (1 - second)).prod(axis=1)

    said = crew_readiness((one, other), one_call(musts, AMPLE))

    assert said.chance == pytest.approx(truth.mean(), abs=4 * truth.std() / 200)
    assert [said.low, said.high] == pytest.approx(np.quantile(truth, [0.1, 0.9]), abs=0.02)
    assert said.missing == pytest.approx(((1 - first) * (1 - second)).sum(axis=1).mean(), abs=0.005)


def test_two_are_no_worse_than_either_and_the_same_in_either_order() -> None:
    (one, musts), (other, _) = alone([0.7, 0.9, 0.8]), alone([0.6, 0.8, 0.9])
    said = crew_readiness((one, other), one_call(musts, AMPLE)).chance
    singly = [call_readiness(each, musts, AMPLE).chance for each in (one, other)]

    assert said is not None
    assert said > max(each or 0.0 for each in singly)
    assert said == pytest.approx(crew_readiness((other, one), one_call(musts, AMPLE)).chance)


def test_each_thing_is_fetched_by_who_is_likelier_and_both_must_be_in_time() -> None:
    facts = [item("mask"), item("tube"), item("splint")]
    one = known(dict(zip(facts, [0.95, 0.95, 0.6], strict=True)), seconds=8.0)
    other = known(dict(zip(facts, [0.6, 0.6, 0.95], strict=True)), seconds=5.0)
    musts = [Must(fact.thing, ((fact,),)) for fact in facts]

    said = crew_readiness((one, other), one_call(musts, Limit(18.0, moving=2.0))).chance

    both = in_time(np.log([8.0, 8.0]), np.full(2, 0.4), 16.0)
    last = in_time(np.log([5.0]), np.full(1, 0.4), 16.0)
    assert said == pytest.approx((1 - 0.05 * 0.4) ** 3 * both * last)


def test_of_two_alike_each_fetches_half() -> None:
    (one, musts), (other, _) = alone([0.9] * 4), alone([0.9] * 4)
    two = in_time(np.log([5.0, 5.0]), np.full(2, 0.4), 12.0)

    said = crew_readiness((one, other), one_call(musts, Limit(12.0))).chance

    assert said == pytest.approx(0.99**4 * two**2)


@pytest.mark.parametrize("given_in", [{"firsts": 0}, {"shared": 3.0, "doubt": 3.0}])
def test_of_one_who_is_not_known_nothing_is_said_of_two(given_in: dict[str, float]) -> None:
    (one, musts), (other, _) = alone([0.5] * 4), alone([0.5] * 4, **given_in)
    said = crew_readiness((one, other), one_call(musts, AMPLE))

    assert not said.is_enough
    assert (said.chance, said.low, said.high, said.missing) == (None,) * 4
    assert said.words == (NOT_ENOUGH, UNCHECKED)


def test_screen_only_is_said_where_either_was_never_seen_at_the_rig() -> None:
    (one, musts), (other, _) = alone([0.9] * 3), alone([0.9] * 3, hands_on=0)
    assert crew_readiness((one, other), one_call(musts, AMPLE)).words == (SCREEN_ONLY, UNCHECKED)


def test_what_neither_is_likely_to_find_comes_by_how_much_it_matters() -> None:
    chances = {"mask": (0.4, 0.3), "tube": (0.45, 0.49), "line": (0.9, 0.1), "splint": (0.2, 0.2)}
    facts = {name: item(name) for name in chances}
    two = tuple(known({facts[n]: c[who] for n, c in chances.items()}) for who in (0, 1))
    musts = [Must(name, ((facts[name],),), weight=3.0 if name == "tube" else 1.0) for name in facts]

    said = crew_readiness((two[0], two[1]), one_call(musts, AMPLE))

    assert [each.name for each in said.unseen] == ["tube", "splint", "mask"]
    assert said.unseen[0].rank == pytest.approx(3 * 0.55 * 0.51)
    assert said.to_drill == {facts["tube"], facts["splint"], facts["mask"]}


def test_what_may_be_known_is_no_blind_spot_but_what_surely_is_not_well_known_is() -> None:
    """Both near six in ten: with much doubt the upper end is above seven, with little below."""
    (sure, musts), (unsure, _) = alone([0.6] * 3), alone([0.6] * 3, doubt=1.0)

    assert len(crew_readiness((sure, sure), one_call(musts, AMPLE)).unseen) == 3
    assert not crew_readiness((unsure, sure), one_call(musts, AMPLE)).unseen


def test_only_the_step_that_is_weak_is_drilled_by_the_nearer_of_two() -> None:
    tube = item("tube", "red")
    musts = [Must("tube", ((RED, tube),))]
    one, other = known({RED: 0.95, tube: 0.4}), known({RED: 0.3, tube: 0.3})

    for two in ((one, other), (other, one)):
        assert crew_readiness(two, one_call(musts, AMPLE)).to_drill == {tube}


def test_of_several_calls_it_is_the_mean_and_what_seldom_is_asked_for_counts_less() -> None:
    (one, musts), (other, _) = alone([0.7, 0.4, 0.2]), alone([0.6, 0.3, 0.1])
    kits = [
        DrawnKit((musts[0], musts[1]), AMPLE, calls=3),
        DrawnKit((musts[0], musts[2]), Limit(0.0)),
    ]
    often, seldom = (crew_readiness((one, other), [kit]) for kit in kits)

    said = crew_readiness((one, other), kits)

    assert often.chance == pytest.approx((1 - 0.3 * 0.4) * (1 - 0.6 * 0.7))
    assert seldom.chance == 0.0
    assert said.chance == pytest.approx(0.75 * (often.chance or 0.0))
    assert said.missing == pytest.approx(
        0.75 * (often.missing or 0.0) + 0.25 * (seldom.missing or 0.0)
    )
    assert said.things == 2
    assert [each.name for each in said.unseen] == ["thing 1", "thing 2"]
    assert [each.rank for each in said.unseen] == pytest.approx([0.75 * 0.42, 0.25 * 0.72])


def test_more_of_a_thing_is_one_name_with_all_its_places() -> None:
    facts = item("mask", "B2"), item("mask", "B4")
    person = known(dict.fromkeys(facts, 0.3))
    kits = [DrawnKit((Must("mask", (way,)),), AMPLE) for way in ((facts[0],), facts)]

    (unseen,) = crew_readiness((person, person), kits).unseen

    assert set(unseen.facts) == set(facts)
    assert unseen.rank == pytest.approx(0.5 * 0.7**2 + 0.5 * (1 - 0.09) ** 2)


THINGS = [item(f"thing {number}") for number in range(8)]


def best_of_all(prompts: dict[str, Asks], wanted: frozenset[Fact]) -> float:
    """The fewest seconds of any set of prompts that asks for everything wanted."""
    return min(
        sum(prompts[name].seconds for name in names)
        for count in range(len(prompts) + 1)
        for names in combinations(prompts, count)
        if wanted <= frozenset().union(*(prompts[name].facts for name in names))
    )


def drawn_prompts(random: np.random.Generator) -> dict[str, Asks]:
    """A dear prompt for each thing, and five for what places hold, which overlap."""
    prompts = {fact.thing: Asks(frozenset({fact}), 30.0) for fact in THINGS}
    for place in range(5):
        held = [each for each in THINGS if random.random() < 0.4]
        prompts[f"place {place}"] = Asks(frozenset(held), float(random.uniform(10, 40)))
    return prompts


def test_the_drill_is_nearly_as_short_as_the_shortest_of_all() -> None:
    """Of 80 small drills: never more than the known bound for the rule, none of it in four of five,
    and by the mean at most three in 100 longer than the best of all."""
    random = np.random.default_rng(8)
    longer = []
    for _ in range(80):
        prompts = drawn_prompts(random)
        wanted = frozenset(each for each in THINGS if random.random() < 0.6)
        chosen = shortest(prompts, wanted)
        taken = sum(prompts[name].seconds for name in chosen)
        best = best_of_all(prompts, wanted)
        assert wanted <= frozenset().union(*(prompts[name].facts for name in chosen))
        assert taken <= best * sum(1 / n for n in range(1, len(wanted) + 1)) + 1e-9
        longer.append(taken / best - 1 if best else 0.0)
    assert longer.count(0.0) >= 64
    assert np.mean(longer) <= 0.03


def test_what_no_prompt_asks_for_is_left_out() -> None:
    prompts = {"mask": Asks(frozenset({item("mask")}), 8.0)}
    assert shortest(prompts, {item("mask"), item("tube")}) == ("mask",)
    assert shortest(prompts, {item("tube")}) == ()
    assert shortest({}, {item("tube")}) == ()


def test_a_prompt_that_others_made_needless_is_given_up() -> None:
    a, b, c, d = THINGS[:4]
    prompts = {
        "both": Asks(frozenset({a, b}), 10.0),
        "first": Asks(frozenset({a, c}), 11.0),
        "second": Asks(frozenset({b, d}), 11.0),
    }
    assert shortest(prompts, {a, b, c, d}) == ("first", "second")
