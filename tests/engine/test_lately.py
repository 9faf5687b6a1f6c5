"""What was had lately: marks that tell prompts, calls and sets apart, and drills that heed them."""

from dataclasses import replace

import pytest

from drills.engine.chance import seeded
from drills.engine.dispatch import make_call
from drills.engine.generation import PROBE, SPARES_PER_KIND, plan_drill
from drills.engine.lately import NOTHING, Lately, call_mark, mark_of, mark_of_set
from drills.engine.recipes import CONTENTS, LOCATE, RecipeSpec
from tests.engine.fixture_world import call_types, world
from tests.layouts import demo_layout

FIND = RecipeSpec("find", ((LOCATE, 10), (CONTENTS, 3)), probes_share=0.2)
RIG = demo_layout("mesa-box")


def test_a_mark_is_that_of_the_question_and_of_no_other() -> None:
    """Everything there is to ask has a mark of its own, the same from every seed."""
    every = RecipeSpec("every", ((LOCATE, 900), (CONTENTS, 900)))
    found = plan_drill(RIG, every, seed=1).prompts
    again = plan_drill(RIG, every, seed=2).prompts

    assert len({mark_of(each) for each in found}) == len(found)
    assert mark_of_set(found) == mark_of_set(reversed(found))
    assert {mark_of(replace(each, chosen="")) for each in found if each.kind == LOCATE} == {
        mark_of(each) for each in again if each.kind == LOCATE
    }


def test_calls_are_told_apart_by_who_is_there_and_not_by_what_is_said() -> None:
    """Another phrase of the same patients is the same call; another patient is another."""
    call = make_call(call_types()["fall"], world(), seeded("one"))
    (patient, *others) = call.patients

    assert call_mark(replace(call, dispatch="Otherwise said.")) == call_mark(call)
    elsewhere = replace(call, patients=(replace(patient, who="a person"), *others))
    assert call_mark(elsewhere) != call_mark(call)


@pytest.mark.parametrize("order", ["mixed", "by compartment"])
def test_what_was_known_lately_comes_last(order: str) -> None:
    """While anything else is left none of it is asked but by a probe, in study order neither."""
    spec = replace(FIND, order=order)
    first = plan_drill(RIG, spec, seed=1).prompts
    known = frozenset(map(mark_of, first))

    for seed in range(30):
        made = plan_drill(RIG, spec, seed=seed, lately=Lately(known=known))
        again = [each for each in (*made.prompts, *made.spares) if mark_of(each) in known]
        assert all(each.chosen == PROBE for each in again)


def test_a_probe_comes_from_everything_whatever_was_known() -> None:
    """By chance a probe is of what was known as often as of anything: rates stay unbiased."""
    every = plan_drill(RIG, RecipeSpec("every", ((LOCATE, 900),)), seed=1).prompts
    known = frozenset(mark_of(each) for each in every[::2])
    spec = RecipeSpec("probes", ((LOCATE, 10),), probes_share=1.0)

    drawn = [
        mark_of(each) in known
        for seed in range(60)
        for each in plan_drill(RIG, spec, seed=seed, lately=Lately(known=known)).prompts
    ]

    assert 0.42 < sum(drawn) / len(drawn) < 0.58


def test_where_all_is_known_all_may_be_asked() -> None:
    """Nobody is left without a drill for having had one, and nothing else changes."""
    every = plan_drill(RIG, RecipeSpec("every", ((LOCATE, 900), (CONTENTS, 900))), seed=1)
    known = Lately(known=frozenset(map(mark_of, every.prompts)))

    made = plan_drill(RIG, FIND, seed=3, lately=known)

    assert len(made.prompts) == 13
    assert len(made.spares) == 2 * SPARES_PER_KIND
    assert plan_drill(RIG, FIND, seed=3, lately=NOTHING) == plan_drill(RIG, FIND, seed=3)
