"""A report on one rig holds its line out of drills on that rig alone."""

import pytest

from drills.demo.factories import PersonFactory, rig_on
from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import report_not_there, start_run
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db


@pytest.fixture
def other_rig(rig: Rig) -> Rig:
    """A second rig on the same revision."""
    other = rig_on(practice_rig(), unit="12")
    assert other.revision == rig.revision
    return other


def started(hire: Person, rig: Rig, recipe: Recipe) -> Run:
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


def asked_in(run: Run) -> list[tuple[str, str]]:
    return list(run.drill.prompts.values_list("kind", "subject"))


def reported(run: Run, hire: Person) -> Presentation:
    """The first prompt, reported as not where the layout says."""
    player = Player(run)
    presentation = player.past_warm_ups()
    assert report_not_there(run, token=presentation.token, by=hire, now=player.now)
    return presentation


def test_a_drill_on_another_rig_asks_as_if_nothing_was_reported(
    hire: Person, fto: Person, rig: Rig, other_rig: Rig, assessed: Recipe
) -> None:
    """Drawn each time for somebody new, since nobody is asked the same set twice in a week."""
    before = asked_in(started(fto, other_rig, assessed))
    presentation = reported(started(hire, rig, assessed), hire)
    line = (LOCATE, presentation.subject)

    assert line not in asked_in(started(hire, rig, assessed))
    assert asked_in(started(PersonFactory.create(), other_rig, assessed)) == before
    assert line in before


def test_a_run_on_another_rig_goes_on_to_what_was_reported(
    hire: Person, rig: Rig, other_rig: Rig, assessed: Recipe
) -> None:
    """Three runs of one drill, made before the report: on that rig its prompt is passed over. Each
    is of somebody new, since nobody is asked the same set twice in a week."""
    here = started(PersonFactory.create(), rig, assessed)
    there = started(PersonFactory.create(), other_rig, assessed)
    presentation = reported(started(hire, rig, assessed), hire)

    assert asked_in(here) == asked_in(there)
    assert presentation.subject not in served_in(here)
    assert presentation.subject in served_in(there)


def served_in(run: Run) -> set[str]:
    player = Player(run)
    presentation: Presentation | None = player.past_warm_ups()
    found = set()
    while presentation is not None:
        found.add(presentation.subject)
        player.answer(presentation, right(presentation))
        presentation = player.serve()
    return found
