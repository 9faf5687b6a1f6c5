"""What became of a run, in counts."""

from datetime import timedelta

import pytest

from drills.people.models import Person
from drills.runs.actions import call_away, report_not_there
from drills.runs.models import Presentation, Run, RunState
from drills.runs.reports import Tally, minutes_spent, tallies_of, tally_of
from tests.runs.conftest import NOW
from tests.runs.player import Player, right, wrong

pytestmark = pytest.mark.django_db


def test_a_run_answered_to_its_end_is_complete(run: Run) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))

    tally = tally_of(run)
    assert tally == Tally(planned=6, answered=6, called_away=0, not_in_place=0, left=0, contested=0)
    assert tally.is_complete


def test_an_assessed_run_emptied_by_voids_is_not_complete(assessed_run: Run, hire: Person) -> None:
    """Everything is called away or reported until nothing is left to ask."""
    player = Player(assessed_run)
    presentation: Presentation | None = player.past_warm_ups()
    player.answer(presentation, right(presentation))  # type: ignore[arg-type]  # just served
    while (presentation := player.serve()) is not None:
        if presentation.order % 2:
            report_not_there(assessed_run, token=presentation.token, by=hire, now=player.now)
        else:
            call_away(assessed_run, now=player.now)

    assessed_run.refresh_from_db()
    tally = tally_of(assessed_run)
    assert assessed_run.state == RunState.FINISHED
    assert (tally.planned, tally.answered) == (5, 1)
    assert tally.called_away
    assert tally.not_in_place
    assert not tally.is_complete


def test_minutes_spent_leave_out_what_lay_alone(run: Run, assessed_run: Run) -> None:
    """Begun, called away for the night, and gone on with: what was worked at, rounded up."""
    player = Player(run)
    presentation: Presentation | None = player.past_warm_ups()
    began, called = NOW, player.now
    call_away(run, now=called)
    player.now += timedelta(hours=20)
    again = player.now
    while (presentation := player.serve()) is not None:
        player.answer(presentation, right(presentation), seconds=55)

    assert timedelta(minutes=5) < (called - began) + (player.now - again) < timedelta(minutes=6)
    assert minutes_spent([run, assessed_run]) == {run.pk: 6, assessed_run.pk: 0}


def test_minutes_of_many_runs_take_one_query(
    run: Run, assessed_run: Run, django_assert_num_queries: object
) -> None:
    Player(run).finish()
    with django_assert_num_queries(1):  # type: ignore[operator]  # a fixture of pytest-django
        minutes_spent([run, assessed_run])


def test_tallies_of_many_runs_take_two_queries(
    run: Run, assessed_run: Run, django_assert_num_queries: object
) -> None:
    Player(run).finish()
    with django_assert_num_queries(2):  # type: ignore[operator]  # a fixture of pytest-django
        tallies = tallies_of([run, assessed_run])

    assert (tallies[run.pk].answered, tallies[assessed_run.pk].answered) == (6, 0)
