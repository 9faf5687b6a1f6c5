"""The chance that is kept with a prompt is of the very question that was asked."""

import pytest

from drills.competency.gathering import BY_ITSELF, Manner
from drills.competency.reports import knowledge_of
from drills.engine.facts import facts_of
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import begin
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Recipe
from tests.competency.test_refit import answered as answered
from tests.runs.conftest import NOW
from tests.runs.test_scanning import labels as labels
from tests.runs.test_scanning import open_prompt, started
from tests.runs.test_scanning import places as places
from tests.runs.test_scanning import scanned as scanned
from tests.runs.test_sheet_predictions import fitted as fitted

pytestmark = pytest.mark.django_db


def thought(of: Presentation, person: Person, rig: Rig, manner: Manner) -> dict[str, float]:
    """What is thought of all that a prompt asks about, were it asked in a manner."""
    known = knowledge_of(person, layout=rig.layout, now=of.served_at, manner=manner)
    facts = facts_of(layout_of(rig.revision))
    return known.predictions(fact for fact in facts if str(fact) in of.predictions)


def test_a_scan_is_thought_of_as_a_scan(fitted: str, hire: Person, rig: Rig, scanned: Run) -> None:
    """Nobody scanned before, so that less is known of it than of the screen."""
    waiting = open_prompt(scanned)
    places = len(layout_of(rig.revision).by_code)
    by_scan = Manner(kind="locate", choices=places, modality="scan")

    assert waiting.predicted_by == fitted
    assert waiting.predictions == thought(waiting, hire, rig, by_scan)
    assert waiting.predictions != thought(waiting, hire, rig, BY_ITSELF)


def test_what_may_be_hit_by_luck_is_in_the_chance(
    fitted: str, hire: Person, rig: Rig, places: Recipe
) -> None:
    """Of a prompt on the screen the places to choose from count, as they do once it is answered."""
    run = started(hire, rig, places)
    begin(run, device_class="phone", is_timed=False, now=NOW)
    waiting = open_prompt(run)
    choices = len(layout_of(rig.revision).by_code)
    lucky = thought(waiting, hire, rig, Manner(kind="locate", choices=choices))
    none = thought(waiting, hire, rig, BY_ITSELF)

    assert waiting.predictions == lucky
    assert all(
        chance == pytest.approx(none[fact] + (1 - none[fact]) / choices, abs=2e-4)
        for fact, chance in lucky.items()
    )
