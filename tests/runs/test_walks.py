"""However two people walk through their runs, what was taken is stored once and nothing else is."""

import os
from collections.abc import Callable

import pytest
from django.db import connection
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import TappingBaseline
from drills.scenarios.models import Recipe
from tests.runs.conftest import NOW
from tests.runs.walks import DEVICES, Walk

# `python -m tests.bench.walks` takes ten thousand. Some walks end before their last step.
STEPS, STEPS_OF_A_WALK, SURELY = int(os.environ.get("WALK_STEPS", "400")), 50, 40
MUST_HAPPEN = (
    *("taken", "given back", "refused and shown the first", "refused as void or over"),
    *("moves made", "moves refused"),
)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nothing_lapses() -> None:
    """Here runs lapse as they do on a site."""


def test_every_answer_that_was_taken_is_stored_once_whatever_is_done(
    hire: Person,
    outsider: Person,
    educator: Person,
    rig: Rig,
    recipe: Recipe,
    assessed: Recipe,
    record_property: Callable[[str, object], None],
) -> None:
    Walk.people, Walk.giver, Walk.rig = (hire, outsider), educator, rig
    Walk.recipes = (recipe, assessed)
    Walk.did.clear()
    # The one is asked at once, the other to tap first.
    for device in DEVICES:
        TappingBaseline.objects.create(
            person=hire, device_class=device, seconds=1.0, measured_at=NOW
        )

    run_state_machine_as_test(
        Walk,
        settings=settings(
            max_examples=-(-STEPS // SURELY),
            stateful_step_count=STEPS_OF_A_WALK,
            suppress_health_check=list(HealthCheck),
        ),
    )

    assert Walk.did["steps"] >= STEPS
    counted = ", ".join(f"{count} {what}" for what, count in Walk.did.items())
    record_property("told", f"walks on {connection.vendor}: {counted}")
    assert [each for each in MUST_HAPPEN if not Walk.did[each]] == [], counted
