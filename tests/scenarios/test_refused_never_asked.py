"""No drill asks for a draw that is refused: the answer form cannot say so."""

from dataclasses import replace
from itertools import product

import pytest

from drills.engine.chance import seeded
from drills.engine.dosing import fields
from drills.engine.dosing.bounds import within_bounds
from drills.engine.dosing.treatment import Settings
from drills.engine.exercises import Exercise, dilution, paper
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, WRITERS, write
from drills.engine.quantities import Quantity, read_quantity
from drills.engine.recipes import CannotApplyError
from tests.scenarios.test_call_recipes import LADDER, Made, drilled
from tests.scenarios.test_call_recipes import made as made
from tests.scenarios.test_exercises import stores_of

# The database is made for what is marked alone, and `made` reads it once for all of these.
pytestmark = pytest.mark.django_db

SEEDS = range(10)
KINDS = tuple(product(WRITERS, GRADES))
STRICT = Settings(is_never_up_for_children=True, refused_from=read_quantity("1 %").amount / 100)


@pytest.mark.parametrize("settings", [Settings(), STRICT], ids=["usual", "strict"])
def test_no_exercise_asks_a_figure_that_is_refused(
    made: Made, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of every topic and grade, on every layout, by many seeds; and some were drawn that are, of
    pumps that would run too fast as well. None is drawn of a size that nothing has, and no empty
    cylinder is asked about."""
    does, refused, bounded = paper.is_on_paper, [], within_bounds
    sized = []

    def watched(exercise: Exercise) -> bool:
        if refusal := exercise.problem.solve().refusal:
            refused.append(refusal.because)
        return does(exercise)

    def sizing(name: str, amount: Quantity) -> Quantity:
        sized.append((name, amount, False))
        found = bounded(name, amount)
        sized[-1] = (name, amount, True)
        return found

    monkeypatch.setattr(paper, "is_on_paper", watched)
    monkeypatch.setattr(fields, "within_bounds", sizing)
    stores = replace(stores_of(made), settings=settings)
    asked = []
    for (topic, grade), seed in product(KINDS, SEEDS):
        try:
            asked.append(write(topic, grade, stores, seeded(f"{topic} {grade} {seed}")))
        except CannotApplyError:
            continue
    solved = [(each, each.problem.solve()) for each in asked]

    assert len(asked) > len(SEEDS) * len(KINDS) / 2
    assert [each for each in refused if "999 mL/h" in each]
    # By the usual settings hardly a draw is refused, and none on the smaller rigs.
    assert settings is not STRICT or [each for each in refused if "999 mL/h" not in each]
    assert not [each for each, solution in solved if solution.refusal]
    assert all(solution.results[each.asked].rounded for each, solution in solved)
    assert sized
    assert not [each for each in sized if not each[-1]]
    assert not [step for _, each in solved for step in each.steps if "nothing to give" in step]


@pytest.mark.parametrize("slug", LADDER)
def test_no_drill_asks_a_figure_that_is_refused(slug: str, made: Made) -> None:
    """Of a patient of a call either; spares are asked too."""
    for seed in SEEDS[:4]:
        plan = drilled(slug, made, seed)
        asked = [each.exercise for each in (*plan.prompts, *plan.spares) if each.exercise]
        assert asked
        assert not [each for each in asked if each.problem.solve().refusal]


def test_a_mixture_takes_no_more_of_another_strength_than_is_carried(
    made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody empties containers that are not there."""
    stores = stores_of(made)

    def traps() -> set[str]:
        random = seeded("another strength")
        return {dilution.write(3, stores, random).trap for _ in range(40)}

    assert dilution.TWO_STRENGTHS in traps()
    monkeypatch.setattr(Stores, "count_of", lambda *_: 0)
    assert dilution.TWO_STRENGTHS not in traps()
