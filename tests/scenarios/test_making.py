"""A drill stays as it was made, whatever becomes of its recipe."""

from datetime import UTC, datetime

import pytest

from drills.demo.factories import RecipeFactory, rig_on
from drills.scenarios.actions import make_drill
from drills.scenarios.models import Drill, Recipe, Terms
from tests.layouts import practice_rig

NOW = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)

pytestmark = pytest.mark.django_db


def made(recipe: Recipe, held: set[tuple[str, str]]) -> Drill:
    rig = rig_on(practice_rig(), unit="11")
    return make_drill(recipe, revision=rig.revision, seed=1, weights={}, held=held, now=NOW)


def test_a_drill_keeps_the_terms_it_was_made_under() -> None:
    recipe = RecipeFactory.create(
        slug="terms",
        kinds="locate:3",
        limit_over_baseline_s=7.0,
        cut_off_s=40.0,
        pass_marks_percent=80,
        no_must_missed=True,
    )
    before = recipe.terms()
    drill = made(recipe, set())

    Recipe.objects.update(
        limit_over_baseline_s=1.0, cut_off_s=None, pass_marks_percent=10, no_must_missed=False
    )

    drill.refresh_from_db()
    assert drill.terms() == before
    assert set(before) == {field.name for field in Terms._meta.fields}


def test_a_drill_keeps_what_was_held_out_of_it() -> None:
    recipe = RecipeFactory.create(slug="held", kinds="locate:3")

    drill = made(recipe, {("splint", "S2"), ("", "I1A")})

    drill.refresh_from_db()
    assert drill.held == [["", "I1A"], ["splint", "S2"]]
