"""A draw that no syringe aboard measures: refused, with the way out, beside the answer."""

from dataclasses import replace

import pytest
from django.test import Client

from drills.engine.exercises.dose import of_weight
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.worked import worked
from tests.engine.treating import aboard
from tests.runs.test_dose import asked, dose_prompt, send
from tests.runs.test_dose import browser as browser

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("problem", "asked_for", "said"),
    [
        ({"kind": "dose", "fixed": "1 mg", "concentration": "81 mg / tablet"}, "volume", "given"),
        (
            {"kind": "energy", "weight": "16 kg", "per_weight": "1 J/kg", "graduation": "50 J"},
            "energy",
            "set",
        ),
        ({"kind": "drip", "rate": "1 mL/h", "set": "10 gtt/mL"}, "gtt_per_min", "set"),
        (
            {"kind": "dose", "fixed": "1 mg", "concentration": "10 mg/mL", "graduation": "1 mL"},
            "volume",
            "drawn up",
        ),
    ],
)
def test_what_is_refused_is_told_by_what_it_is(
    problem: dict[str, str], asked_for: str, said: str
) -> None:
    """Nobody draws up a tablet, a shock or drops."""
    kept = {"problem": problem, "asked": asked_for, "printed": "", "source": ""}
    told = worked(kept, [])

    assert told.refusal is not None
    assert told.not_so == f"Not {said} so."


def test_a_refused_draw_is_told_beside_the_answer_and_before_the_working(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """0.1364 mL by a syringe whose marks are 0.2 mL apart."""
    prompt = dose_prompt()
    assert prompt.exercise is not None
    medicine = prompt.exercise.medicine
    assert medicine is not None
    tiny = of_weight(2, aboard(medicine, 10), medicine, "6 lb")
    presentation = asked(hire, rig, replace(prompt, exercise=tiny))

    told = send(browser, presentation, amount="0.5", unit="mL").content.decode()

    beside, _, worked = told.partition("Worked</h3>")
    assert "Not drawn up so." in beside.partition("0.136 mL")[2]
    assert "lies between marks 0.2 mL apart" in beside
    assert "Use a syringe with finer marks" in beside
    assert "6 lb / 2.2" in worked
    assert "Not drawn up so." not in worked
