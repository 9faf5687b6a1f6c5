"""On a phone's keypad no letter can be typed: what is right must be among the units offered."""

import pytest

from drills.engine.chance import seeded
from drills.engine.dosing import read_answer
from drills.engine.exercises.writers import GRADES, WRITERS
from drills.runs.numbers import MASSES, is_bare, units_of
from drills.scenarios.tasks import exercise_shown
from tests.engine.fixture_formulary import stores

SEEDS = range(25)
# Every way in which an answer is told: with the unit that it is worked out in first.
UP_TO = ", up to "


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("topic", WRITERS)
def test_what_is_right_can_be_answered_in_a_unit_that_is_offered(topic: str, grade: int) -> None:
    """As it is told, and in every other unit of mass; or a number alone is asked for."""
    made = [WRITERS[topic](grade, stores(), seeded(f"{seed}")) for seed in SEEDS]

    for each in made:
        if is_bare(each.problem, each.asked):
            continue
        units = [read_answer(f"1 {unit}").amount.unit for unit in units_of(exercise_shown(each))]
        right = each.solution.results[each.asked]
        told = {read_answer(end).amount.unit for end in right.answer.split(UP_TO)}
        assert told <= set(units), each.question
        if right.exact.unit in MASSES:
            assert set(MASSES) <= set(units), each.question


def test_a_question_that_was_kept_without_grams_offers_them() -> None:
    """1.6 g has run in; of what is no mass nothing is added, and nothing that is there moves."""
    kept = ("mL", "mg/mL", "mg", "mcg")

    assert units_of({"units": kept}) == (*kept, "g")
    assert units_of({"units": ["mL/h", "gtt/min"]}) == ("mL/h", "gtt/min")
