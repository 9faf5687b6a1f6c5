"""Not where the layout says, of a thing that has several places."""

import pytest

from drills.engine.asking import is_held
from drills.engine.recipes import CONTENTS, LOCATE
from drills.people.models import Person
from drills.rigs.actions import held_pairs
from drills.rigs.models import Absence
from drills.rigs.reading import layout_of
from drills.runs.actions import report_not_there
from drills.runs.models import Presentation, Run
from drills.scenarios.models import DrillPrompt
from tests.runs.player import Player

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked_for_a_double(run: Run) -> tuple[Player, Presentation]:
    """A run whose open prompt asks for the tourniquet, which has two places."""
    player = Player(run)
    presentation = player.past_warm_ups()
    DrillPrompt.objects.filter(presentations=presentation).update(
        kind=LOCATE, subject="tourniquet", answer=["BAG-M", "I1A"]
    )
    return player, presentation


def test_it_is_one_report_that_names_no_place(
    run: Run, hire: Person, asked_for_a_double: tuple[Player, Presentation]
) -> None:
    player, presentation = asked_for_a_double

    reported = report_not_there(run, token=presentation.token, by=hire, now=player.now)

    report = Absence.objects.get()
    assert reported == 1
    assert report.item is not None
    assert (report.item.key, report.place) == ("tourniquet", None)


def test_it_is_asked_in_none_of_its_places_until_answered(
    run: Run, hire: Person, asked_for_a_double: tuple[Player, Presentation]
) -> None:
    player, presentation = asked_for_a_double

    report_not_there(run, token=presentation.token, by=hire, now=player.now)

    layout, held = layout_of(run.drill.revision), held_pairs(run.rig)
    shut = [code for code in layout.lines_in if is_held(layout, CONTENTS, code, held)]
    assert is_held(layout, LOCATE, "tourniquet", held)
    assert shut == ["BAG-M", "I1A"]
    Absence.objects.update(answered_at=player.now)
    assert not held_pairs(run.rig)
