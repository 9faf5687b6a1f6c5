"""Exercises ask in the words of the trade, and orders as a person would give them."""

from fractions import Fraction

import pytest

from drills.engine.chance import seeded
from drills.engine.exercises import sums
from drills.engine.exercises.drip import round_figures
from drills.engine.exercises.stores import Stores, _presentation
from drills.engine.packing import Packing
from drills.engine.quantities import plain
from drills.engine.tables import COMA_PATIENTS

SEEDS = range(40)


@pytest.mark.parametrize(("per_ml", "said"), [("100", "1 mg / 10 mL"), ("50", "500 mcg / 10 mL")])
def test_what_else_is_aboard_is_told_as_on_its_label(per_ml: str, said: str) -> None:
    """A thousand micrograms are a milligram, whatever unit the rule is in."""
    packing = Packing(unit="mcg", per_ml=Fraction(per_ml), volume_ml=Fraction(10))
    assert str(_presentation(packing, "mcg")) == said


@pytest.mark.parametrize("grade", [2, 3])
def test_a_score_is_the_gcs_with_eye_verbal_and_motor(grade: int) -> None:
    """And the mean pressure is the MAP; no scale is called by where it was read."""
    made = [sums.write(grade, Stores(), seeded(str(seed))) for seed in SEEDS]
    scores = [each for each in made if each.asked == "points"]
    assert scores
    for each in scores:
        assert each.question.startswith("What is the GCS, by the ")
        assert "college" not in each.question
        assert [fact.label for fact in each.facts] == ["Eye", "Verbal", "Motor"]
        assert each.rule.startswith("Eye 4 ")
    means = [each for each in made if each.asked == "mean"]
    assert bool(means) == (grade == 2)
    assert all("MAP" in each.question and each.rule.startswith("MAP = ") for each in means)


@pytest.mark.parametrize("grade", [2, 3])
def test_a_gcs_is_of_a_patient_there_may_be(grade: int) -> None:
    """Of the table of whole patients, and of many of them before one comes again often."""
    made = [sums.write(grade, Stores(), seeded(str(seed))) for seed in range(120)]
    asked = {tuple(fact.words for fact in each.facts) for each in made if each.asked == "points"}

    assert asked <= {(row.eyes, row.voice, row.movement) for row in COMA_PATIENTS}
    assert len(asked) >= 20


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        ("2", "10", "2 4 6 8 10"),
        ("0.05", "0.5", "0.05 0.1 0.2 0.3 0.4 0.5"),
        ("5", "20", "5 10 15 20"),
        ("162", "325", "162 200 250 300 325"),
        ("6", "6", "6"),
    ],
)
def test_orders_are_round_figures_of_a_range(low: str, high: str, said: str) -> None:
    """Its ends are orders too."""
    found = round_figures(Fraction(low), Fraction(high))
    assert " ".join(map(plain, found)) == said
