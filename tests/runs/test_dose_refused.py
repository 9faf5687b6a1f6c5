"""A draw that no syringe aboard measures: refused, with the way out, beside the answer."""

from dataclasses import replace

import pytest
from django.test import Client

from drills.engine.exercises.dose import dose_exercise
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.runs.test_dose import asked, dose_prompt, send
from tests.runs.test_dose import browser as browser

pytestmark = pytest.mark.django_db


def test_a_refused_draw_is_told_beside_the_answer_and_before_the_working(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """0.1364 mL by a syringe whose marks are 0.2 mL apart."""
    prompt = dose_prompt()
    assert prompt.exercise is not None
    assert prompt.exercise.medicine is not None
    tiny = dose_exercise(prompt.exercise.medicine, "6 lb", syringes=[10])
    presentation = asked(hire, rig, replace(prompt, exercise=tiny))

    told = send(browser, presentation, amount="0.5", unit="mL").content.decode()

    beside, _, worked = told.partition("Worked</h3>")
    assert "Not drawn up so." in beside.partition("0.136 mL")[2]
    assert "lies between marks 0.2 mL apart" in beside
    assert "Use a syringe with finer marks" in beside
    assert "6 lb / 2.2" in worked
    assert "Not drawn up so." not in worked
