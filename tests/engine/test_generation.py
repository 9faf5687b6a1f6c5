"""The generator: what it asks can be answered, is asked once, and comes out the same again."""

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drills.engine.asking import contents_prompts, is_held, locate_prompts
from drills.engine.facts import ITEM, Fact, facts_of
from drills.engine.generation import (
    FOCUS,
    IN_ORDER,
    PROBE,
    SPARES_PER_KIND,
    plan_drill,
)
from drills.engine.lately import NOTHING, Lately, mark_of
from drills.engine.layout import Layout
from drills.engine.pools import name_of
from drills.engine.prompts import bag_subject
from drills.engine.recipes import CONTENTS, LOCATE, MOVED, CannotApplyError, RecipeSpec, only
from drills.engine.scoring import RIGHT, mark_contents, mark_locate
from drills.engine.study import STUDY_ORDER, study_walk
from tests.layouts import practice_rig
from tests.strategies import everything, layouts, looks_at, planned, specs

TEN = RecipeSpec("ten", ((LOCATE, 8), (CONTENTS, 2)), probes_share=0.2)
SEEDS = st.integers()


@given(layouts(), specs(), SEEDS)
def test_every_prompt_is_answerable_from_the_revision(
    rig: Layout, spec: RecipeSpec, seed: int
) -> None:
    """Marked by the rules, the answer frozen with a prompt is right."""
    for prompt in everything(planned(rig, spec, seed)):
        if prompt.kind == LOCATE:
            for code in prompt.answer:
                mark = mark_locate(rig, thing=prompt.subject, depth=prompt.depth, answer=code)

                assert mark.outcome == RIGHT
        else:
            mark = mark_contents(
                rig, place=prompt.subject, choices=prompt.choices, answer=prompt.answer
            )

            assert mark.outcome == RIGHT


@given(layouts(), specs(), SEEDS)
def test_no_wrong_choice_is_also_right(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """All places of a thing are in the answer, and all things of a place among its choices."""
    for prompt in everything(planned(rig, spec, seed)):
        if prompt.kind == LOCATE:
            stocked = {line.compartment for line in rig.stock if line.key == prompt.subject}
            stocked |= {
                code
                for point in rig.points
                if point.kind == "outlet" and point.name.casefold() == prompt.subject
                for code in point.serves
            }

            assert set(prompt.answer) == stocked
        else:
            here = {line.key for line in rig.lines_in[prompt.subject]}

            assert set(prompt.answer) == here & set(prompt.choices)


@given(layouts(), specs(), SEEDS)
def test_choices_are_never_shorter_than_what_the_rig_carries(
    rig: Layout, spec: RecipeSpec, seed: int
) -> None:
    """Contents are chosen from everything aboard in that category, and locate from all places."""
    for prompt in everything(planned(rig, spec, seed)):
        aboard = {line.key for line in rig.stock if line.category == prompt.category}

        assert set(prompt.choices) == (aboard if prompt.kind == CONTENTS else set())


@given(layouts(), specs(), SEEDS)
def test_nothing_is_asked_twice(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """No thing and no compartment comes again in one drill, its spares included."""
    asked = Counter((each.kind, each.subject) for each in everything(planned(rig, spec, seed)))

    assert [each for each, count in asked.items() if count > 1] == []


@given(layouts(), specs(), SEEDS)
def test_counts_are_kept(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """No kind is asked more than the recipe says, and none has more than its spares."""
    plan = planned(rig, spec, seed)

    for kind, count in spec.kinds:
        asked = sum(1 for each in plan.prompts if each.kind == kind)
        spare = sum(1 for each in plan.spares if each.kind == kind)

        assert asked <= count
        assert spare <= SPARES_PER_KIND
        assert asked == count or spare == 0


@given(layouts(), specs(), SEEDS, st.dictionaries(st.text(), st.floats(0, 1), max_size=3))
def test_the_same_comes_out_again(
    rig: Layout, spec: RecipeSpec, seed: int, noise: dict[str, float]
) -> None:
    """The same recipe, rig, seed and weights make the same drill, word for word."""
    weights = {str(fact): len(str(fact)) % 7 / 7 for fact in facts_of(rig)} | noise

    first = planned(rig, spec, seed, weights=weights)

    assert plan_drill(rig, spec, seed=seed, weights=dict(reversed(weights.items()))) == first


@given(layouts(), specs(), st.lists(SEEDS, min_size=2, max_size=5))
def test_a_drill_that_does_not_vary_is_the_same_for_every_seed(
    rig: Layout, spec: RecipeSpec, seeds: list[int]
) -> None:
    """Where the drill says that no seed matters, none does: neither prompts nor their order."""
    plans = [planned(rig, spec, seed) for seed in seeds]
    assume(not plans[0].varies)

    asked = {tuple(replace(each, chosen="") for each in plan.prompts) for plan in plans}

    assert len(asked) == 1


@given(layouts(), specs())
def test_a_drill_that_varies_is_another_for_some_seed(rig: Layout, spec: RecipeSpec) -> None:
    """Where the drill says that seeds matter, forty of them do not all make the same."""
    spec = replace(spec, order="mixed")
    assume(planned(rig, spec, 0).varies)

    asked = {
        tuple((each.subject, each.category) for each in plan_drill(rig, spec, seed=seed).prompts)
        for seed in range(40)
    }

    assert len(asked) > 1


@pytest.mark.parametrize("seed", [1, 7, 10**18, 2**64])
def test_a_sign_or_a_size_of_the_seed_makes_a_difference(seed: int) -> None:
    """A seed, its negative, and one beyond a computer's word all make drills of their own."""
    plans = {plan_drill(practice_rig(), TEN, seed=each).prompts for each in (seed, -seed, seed + 1)}

    assert len(plans) == 3


@given(layouts(), specs(), SEEDS, st.data())
def test_what_is_reported_missing_is_not_asked(
    rig: Layout, spec: RecipeSpec, seed: int, data: st.DataObject
) -> None:
    """A thing held at a place is asked nowhere, and the contents of that place are not either."""
    lines = data.draw(st.lists(st.sampled_from(rig.stock), min_size=1, max_size=3))
    held = {(line.key, rig.by_code[line.compartment].key) for line in lines}

    for prompt in everything(planned(rig, spec, seed, held=held)):
        if prompt.kind == LOCATE:
            assert prompt.subject not in {thing for thing, _ in held}
        else:
            assert rig.by_code[prompt.subject].key not in {place for _, place in held}


@given(layouts(), specs(), SEEDS, st.data())
def test_what_is_reported_anywhere_is_asked_nowhere(
    rig: Layout, spec: RecipeSpec, seed: int, data: st.DataObject
) -> None:
    """A thing held without a place is not asked for, nor the contents of any place it has."""
    line = data.draw(st.sampled_from(rig.stock))

    for prompt in everything(planned(rig, spec, seed, held={(line.key, "")})):
        assert prompt.subject != line.key
        assert prompt.kind == LOCATE or line.key not in prompt.answer


def test_a_place_reported_as_a_whole_holds_all_that_lies_there() -> None:
    """Where the whole place differs from the layout, nothing in it is asked about."""
    held = {("", "BAG-L")}

    asked = {
        (each.kind, each.subject)
        for seed in range(20)
        for each in everything(plan_drill(practice_rig(), TEN, seed=seed, held=held))
    }

    assert (
        asked & {(LOCATE, "oral airway set"), (LOCATE, "suction tip"), (CONTENTS, "BAG-L")} == set()
    )
    assert (LOCATE, "trauma dressing") in asked


def test_of_a_bag_reported_missing_only_what_it_holds_is_asked() -> None:
    """Whoever is asked for a thing in it would be asked for the bag as well."""
    spec = RecipeSpec("all", ((LOCATE, 20), (CONTENTS, 10)), depth="door")

    plan = plan_drill(practice_rig(), spec, seed=1, held={("", "BAG")})

    asked = {(each.kind, each.subject) for each in everything(plan)}
    in_it = {line.key for line in practice_rig().stock if line.compartment in ("BAG-L", "BAG-M")}
    assert not asked & {(LOCATE, key) for key in in_it}
    assert {(LOCATE, "splint"), (CONTENTS, "BAG-L"), (CONTENTS, "BAG-M")} <= asked


def test_a_bag_inside_one_that_is_reported_missing_is_not_asked_for() -> None:
    """Its own place hangs on where the other is."""
    rig = practice_rig()
    bags = [
        replace(each, carried="one-hand") if each.code == "BAG-M" else each
        for each in rig.compartments
    ]
    rig = replace(rig, compartments=tuple(bags))

    assert is_held(rig, MOVED, bag_subject("BAG-M"), {("", "BAG")})
    assert not is_held(rig, MOVED, bag_subject("BAG"), {("", "BAG-M")})


@given(layouts(), SEEDS, st.data())
def test_the_one_fact_not_known_comes_first(rig: Layout, seed: int, data: st.DataObject) -> None:
    """With every other fact known for certain, a drill without probes begins to draw with it."""
    unknown = data.draw(st.sampled_from(sorted(facts_of(rig))))
    weights = {str(fact): float(fact == unknown) for fact in facts_of(rig)}
    spec = RecipeSpec("one", ((LOCATE, 1),))

    (prompt,) = plan_drill(rig, spec, seed=seed, weights=weights).prompts

    assert unknown in facts_of(rig, [prompt.subject])


@given(layouts(), SEEDS)
def test_nothing_left_to_learn_is_still_a_drill(rig: Layout, seed: int) -> None:
    """When every fact weighs nothing the draw is even, and not always the same thing."""
    weights = {str(fact): 0.0 for fact in facts_of(rig)}
    spec = RecipeSpec("one", ((LOCATE, 1),))

    first = {
        plan_drill(rig, spec, seed=seed + step, weights=weights).prompts[0].subject
        for step in range(60)
    }

    assert len(first) > 1 or len(rig.things) == 1


def test_a_double_known_by_one_place_counts_as_known() -> None:
    """Whoever finds the tourniquet in the drawer is not asked for ever because of the bag."""
    rig = practice_rig()
    spec = RecipeSpec("one", ((LOCATE, 1),), order="by compartment")
    known = {str(fact): 0.1 for fact in facts_of(rig) if fact.thing != "tourniquet"}
    drawer = str(Fact(ITEM, "tourniquet", "I1A"))

    every = plan_drill(rig, RecipeSpec("every", ((LOCATE, 20),)), seed=1).prompts
    had = Lately(had=frozenset(mark_of(each) for each in every))

    def first(weights: dict[str, float], lately: Lately = had) -> str:
        return plan_drill(rig, spec, seed=1, weights=weights, lately=lately).prompts[0].subject

    assert first(known | {drawer: 0.05}) != "tourniquet"
    assert first(known) == first(known | {drawer: 0.9}) == "tourniquet"
    # Seen among the contents of the drawer, and never asked for: the bag may not be known.
    assert first(known | {drawer: 0.05}, NOTHING) == "tourniquet"


def test_contents_weigh_only_what_lies_there() -> None:
    """A double that is unknown elsewhere does not make its known place come first."""
    rig = practice_rig()
    spec = RecipeSpec("one", ((CONTENTS, 1),), order="by compartment")
    weights = {str(fact): 0.2 for fact in facts_of(rig)}
    weights |= {str(Fact(ITEM, "tourniquet", "BAG-M")): 1.0}
    weights |= {str(Fact(ITEM, "midazolam", "I1B")): 0.5}

    held_bag = {("trauma dressing", "BAG-M")}

    (prompt,) = plan_drill(rig, spec, seed=1, weights=weights, held=held_bag).prompts

    assert prompt.subject == "I1B"


def test_one_prompt_in_five_is_a_probe() -> None:
    """Over 4,000 prompts the share of probes stays within four sigma: 0.2 +- 0.0253.

    Each prompt is a probe by an independent chance of 0.2, so sigma of the
    binomial share is sqrt(0.2 * 0.8 / 4000).
    """
    spec = RecipeSpec("probes", ((LOCATE, 4),), probes_share=0.2)

    chosen = Counter(
        prompt.chosen
        for seed in range(1000)
        for prompt in plan_drill(practice_rig(), spec, seed=seed).prompts
    )

    assert chosen.total() == 4000
    assert set(chosen) == {PROBE, FOCUS}
    assert abs(chosen[PROBE] / 4000 - 0.2) < 4 * (0.2 * 0.8 / 4000) ** 0.5


def test_a_probe_is_drawn_evenly_whatever_is_known() -> None:
    """With all weight on one thing, first prompts that are probes still fall on all alike.

    Of 2,000 seeds about 400 begin with a probe, each of 11 things with chance 1 in 11; four sigma.
    """
    rig = practice_rig()
    spec = RecipeSpec("probe", ((LOCATE, 1),), probes_share=0.2)
    weights = {str(fact): float(fact.thing == "splint") for fact in facts_of(rig)}
    plans = [plan_drill(rig, spec, seed=seed, weights=weights) for seed in range(2000)]
    first = [plan.prompts[0] for plan in plans]
    # A probe may take the splint as a spare; then nothing with a weight is left to draw.
    left = [
        plan.prompts[0]
        for plan in plans
        if not any(each.subject == "splint" and each.chosen == PROBE for each in plan.spares)
    ]

    probes = Counter(each.subject for each in first if each.chosen == PROBE)

    bound = 4 * (probes.total() * (1 / 11) * (10 / 11)) ** 0.5
    assert len(rig.things) == 11
    assert all(abs(probes[key] - probes.total() / 11) < bound for key in rig.things)
    assert {each.subject for each in left if each.chosen == FOCUS} == {"splint"}


def test_a_later_probe_is_as_even_as_the_first() -> None:
    """What focus draws takes nothing from the probes of the same drill.

    Six of eleven things are asked, three of them with nearly all the weight; every probe of
    2,000 drills falls on each thing with chance 1 in 11. Four sigma.
    """
    rig = practice_rig()
    spec = RecipeSpec("probes", ((LOCATE, 6),), probes_share=0.2)
    heavy = {"splint", "tourniquet", "midazolam"}
    weights = {str(fact): 1.0 if fact.thing in heavy else 0.001 for fact in facts_of(rig)}

    probes = Counter(
        prompt.subject
        for seed in range(2000)
        for prompt in plan_drill(rig, spec, seed=seed, weights=weights).prompts
        if prompt.chosen == PROBE
    )

    bound = 4 * (probes.total() * (1 / 11) * (10 / 11)) ** 0.5
    assert all(abs(probes[key] - probes.total() / 11) < bound for key in rig.things)


@given(layouts(), specs(), SEEDS)
def test_a_fixed_order_walks_the_rig(rig: Layout, spec: RecipeSpec, seed: int) -> None:
    """Out of the mix prompts go face by face and door by door, and come to no door twice."""
    spec = replace(spec, order="by compartment")
    plan = planned(rig, spec, seed)

    doors = []
    for prompt in plan.prompts:
        code = prompt.subject
        if prompt.kind == LOCATE:
            code = next(each for each in prompt.answer if looks_at(rig, spec, each))
        doors.append(rig.chain(code)[0])

    assert {each.chosen for each in plan.prompts} == {IN_ORDER}
    faces = [STUDY_ORDER.index(rig.face_of(door.code)) for door in doors]
    assert faces == sorted(faces)
    runs = [door for door, before in zip(doors, [None, *doors], strict=False) if door != before]
    assert len(runs) == len(set(runs))


@pytest.mark.parametrize(
    ("depth", "text"),
    [
        ("door", "Where is it? The door is enough."),
        ("shelf", "Where is it? Down to the shelf or drawer."),
        ("pocket", "Where is it? Down to the pocket."),
    ],
)
def test_the_question_says_how_deep_to_answer(depth: str, text: str) -> None:
    """Nobody loses marks for not knowing how exact an answer was wanted."""
    spec = RecipeSpec("depth", ((LOCATE, 1),), depth=depth)

    (prompt,) = plan_drill(practice_rig(), spec, seed=1).prompts

    assert (prompt.text, prompt.depth) == (text, depth)


def test_a_rig_without_stock_cannot_be_drilled() -> None:
    """Where nothing can be asked the recipe says so, and names the layout."""
    empty = replace(practice_rig(), stock=(), points=())

    with pytest.raises(CannotApplyError, match="layout practice-rig has nothing to ask about"):
        plan_drill(empty, TEN, seed=1)


def test_the_study_walk_goes_round_the_outside_first() -> None:
    """Street side, rear and curb side, then the cab, then the inside; rows keep their order."""
    walk = [each.code for each in study_walk(practice_rig())]

    assert walk == ["S1", "P1", "I1"]


@given(layouts(), SEEDS, st.randoms())
def test_a_recipe_that_names_its_prompts_asks_each_of_them_and_no_other(
    rig: Layout, seed: int, random: Random
) -> None:
    """Of both kinds, of one place in two categories too, whatever was known lately."""
    spec = replace(TEN, kinds=((LOCATE, 1), (CONTENTS, 1)))
    made = (*locate_prompts(rig, spec, ()), *contents_prompts(rig, spec, ()))
    named = random.sample(made, min(len(made), 7))
    exactly = replace(spec, focus=tuple(map(name_of, named)))
    lately = Lately(known=frozenset(map(mark_of, named)))

    drill = plan_drill(rig, exactly, seed=seed, lately=lately)

    assert sorted(map(name_of, drill.prompts)) == sorted(map(name_of, named))
    assert not drill.spares


def test_of_what_is_not_aboard_it_is_said_so() -> None:
    """A recipe that names only what a rig has not makes no drill, and says why."""
    spec = replace(TEN, focus=(only(LOCATE, "nothing", ""),))
    with pytest.raises(CannotApplyError, match="nothing to ask about of what it names"):
        plan_drill(practice_rig(), spec, seed=1)
