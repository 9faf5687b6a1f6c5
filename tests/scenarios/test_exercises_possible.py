"""Each topic and grade on the demonstration's layouts is made; without stores none."""

from dataclasses import replace
from itertools import product
from time import perf_counter

import pytest
from django.test import override_settings

from drills.demo.factories import PersonFactory
from drills.demo.protocols import submit_formulary
from drills.engine.chance import seeded
from drills.engine.exercises import Exercise, drip
from drills.engine.exercises.paper import is_done, settled
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, WRITERS, write
from drills.engine.recipes import CannotApplyError
from drills.formulary.actions import approve
from drills.formulary.flagged import flagged_of
from drills.people.models import Role
from drills.scenarios.reading import material_of
from tests.scenarios.test_call_recipes import LAYOUTS, NOW, stored

pytestmark = pytest.mark.django_db
SEEDS = range(20)
# A third of a second on this work's machine; drafts that were all in vain took six.
MOST_SECONDS = 2.0
DEMONSTRATION, REVISION_1 = "demonstration", "revision 1"


def stores_of(layout: str, formulary: str) -> Stores:
    """What exercises are made from on a layout, with a formulary in force."""
    with override_settings(READINESS_DEMO=True):
        revision = stored(layout)
        if formulary == REVISION_1:
            submitted = submit_formulary(PersonFactory.create(roles=[Role.EDUCATOR]), now=NOW)
            director = PersonFactory.create(roles=[Role.DIRECTOR])
            meant = [flag.key for each in flagged_of(submitted) for flag in each.flags]
            approve(submitted, by=director, document="Protocols, edition 4", meant=meant, now=NOW)
        material = material_of(revision, now=NOW, is_assessed=False)
    return Stores(rules=material.rules, aboard=material.aboard, settings=material.settings)


def outcomes(topic: str, grade: int, stores: Stores) -> set[str]:
    """Why there is none, empty where there is one, over all the seeds; each in good time."""
    found = set()
    for seed in SEEDS:
        start = perf_counter()
        try:
            write(topic, grade, stores, seeded(f"practice/1:{topic}:{grade}:{seed}"))
            found.add("")
        except CannotApplyError as error:
            found.add(str(error))
        assert perf_counter() - start < MOST_SECONDS, (topic, grade, seed)
    return found


@pytest.mark.parametrize("formulary", [DEMONSTRATION, REVISION_1])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_each_topic_and_grade_is_made_at_every_seed(layout: str, formulary: str) -> None:
    stores = stores_of(layout, formulary)
    found = {kind: outcomes(*kind, stores) for kind in product(WRITERS, GRADES)}
    assert found == {kind: {""} for kind in found}


@pytest.mark.parametrize("grade", GRADES)
def test_what_a_rig_does_not_carry_is_refused_at_once_with_the_reason(grade: int) -> None:
    stores = stores_of("first-response-truck", DEMONSTRATION)
    bare = replace(stores, aboard=replace(stores.aboard, items=()))
    for topic in ("drip", "fluid", "dilution"):
        (reason,) = outcomes(topic, grade, bare)
        assert reason.startswith(f"No exercise of {topic} can be made: "), reason


def test_what_a_rule_orders_in_no_numbers_for_paper_is_asked_as_a_plain_order() -> None:
    """Of 125, 250 and 500 mL/h no drops a minute come out: seed 3 drew the rules alone."""
    stores = stores_of("mesa-box", REVISION_1)
    ordered = {f"{rule.rule.dose}" for rule in stores.rules_of("drip") if stores.carries(rule)}
    assert ordered == {"125 mL/h", "250 mL/h", "500 mL/h"}
    made = [drip.write(3, stores, seeded(f"practice/1:drip:3:{seed}")) for seed in (3, 8, 10)]
    assert all(each.medicine is None and each.trap for each in made)


def test_a_sort_of_exercise_that_makes_none_says_what_to_choose_instead() -> None:
    with pytest.raises(CannotApplyError, match="Choose another topic, another layout"):
        settled("drip", lambda: None)


@pytest.mark.parametrize("grade", GRADES)
def test_every_drip_is_drawn_once_until_none_is_left(
    grade: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """None is worked out twice, refused ones neither; and whatever is asked is one of them."""
    stores = stores_of("first-response-truck", DEMONSTRATION)
    worked, does = [], is_done

    def watched(made: Exercise) -> bool:
        worked.append(made.figures)
        return does(made)

    monkeypatch.setattr(drip, "is_done", watched)
    every = [made.figures for each in drip.each_once(grade, stores, seeded("all")) for made in each]

    assert len(set(worked)) == len(worked) >= len(every)
    assert len(set(every)) == len(every) > 30
    asked = {drip.write(grade, stores, seeded(f"{seed}")).figures for seed in range(30)}
    assert len(asked) > 10
    assert asked <= set(every)


def test_a_draft_that_was_refused_is_not_worked_out_again() -> None:
    """One draft that is never on paper is given up after it came back, before all the tries."""
    stores = stores_of("mesa-box", DEMONSTRATION)
    made = write("weight", 1, stores, seeded("weight"))
    never = replace(made, asked="nothing of it")
    drawn: list[Exercise] = []

    def draft() -> Exercise:
        drawn.append(never)
        return never

    with pytest.raises(CannotApplyError):
        settled("weight", draft)
    assert 1 < len(drawn) < 100
