"""When a prompt closes: by its cut-off, and when it is left alone."""

from datetime import timedelta

import pytest

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory
from drills.engine.timing import CUT_OFF, LATE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import NotOpenError, start_run
from drills.runs.models import LEFT_ALONE_AFTER, PresentationState, Run, VoidReason
from drills.scenarios.models import Mode
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db

LONG = LEFT_ALONE_AFTER + timedelta(seconds=1)


@pytest.fixture
def closing_run(hire: Person, rig: Rig) -> Run:
    """Assessed, with a cut-off at twice the limit."""
    recipe = RecipeFactory.create(
        slug="closing", kinds="locate:5", mode=Mode.ASSESSED, cut_off_s=1.0
    )
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


def test_a_right_answer_after_the_cut_off_found_nothing(closing_run: Run) -> None:
    player = Player(closing_run)
    presentation = player.past_warm_ups()
    assert presentation.cut_off_seconds is not None

    answered = player.answer(
        presentation, right(presentation), seconds=presentation.cut_off_seconds + 1
    )

    assert (answered.outcome, answered.time_verdict) == ("wrong", CUT_OFF)
    assert answered.answer == right(presentation)
    assert set(Evidence.objects.values_list("outcome", flat=True)) == {"wrong"}


def test_a_late_right_answer_before_the_cut_off_is_right(closing_run: Run) -> None:
    player = Player(closing_run)
    presentation = player.past_warm_ups()
    assert presentation.cut_off_seconds is not None

    answered = player.answer(
        presentation, right(presentation), seconds=presentation.cut_off_seconds - 1
    )

    assert (answered.outcome, answered.time_verdict) == ("right", LATE)


def test_an_assessed_prompt_left_alone_takes_no_answer(assessed_run: Run) -> None:
    player = Player(assessed_run)
    presentation = player.past_warm_ups()
    player.now += LONG

    with pytest.raises(NotOpenError, match="counts for nothing"):
        player.answer(presentation, right(presentation))

    following = player.serve()
    presentation.refresh_from_db()
    assert (presentation.state, presentation.void_reason) == (
        PresentationState.VOID,
        VoidReason.LEFT,
    )
    assert following is not None
    assert following.prompt != presentation.prompt
    assert not Evidence.objects.exists()


def test_a_practice_prompt_left_alone_still_takes_one(run: Run) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    player.now += LONG

    assert player.answer(presentation, right(presentation)).outcome == "right"


def test_an_assessed_prompt_left_alone_closes_nothing_any_more(
    assessed_run: Run, hire: Person
) -> None:
    player = Player(assessed_run)
    player.past_warm_ups()
    hire.refresh_from_db()

    assert hire.has_assessed_prompt_at(player.now)
    assert not hire.has_assessed_prompt_at(player.now + LONG)
