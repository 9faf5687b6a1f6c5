"""Findings of who is sorted, told in sentences."""

from typing import Any

import pytest

from drills.engine.incidents.findings import AGONAL, Whose
from drills.engine.incidents.telling import told

GROWN, INFANT = Whose(is_child=False, months=480), Whose(is_child=True, months=8)
LIES = {"walks": False, "breathes": True}


@pytest.mark.parametrize(
    ("findings", "said"),
    [
        ({"rate": 8}, "Gasps 8 times a minute."),
        ({"rate": 9}, "Breathes 9 a minute."),
        ({"rate": 8, "distress": True}, "Gasps 8 times a minute."),
        ({"rate": 9, "distress": True}, "Breathes 9 a minute, works hard for it."),
        ({"rate": 9, "distress": False}, "Breathes 9 a minute, easily."),
        ({"distress": True}, "Works hard to breathe."),
        ({"distress": False}, "Breathes easily."),
        ({"breathes": False, "rate": 8}, "Breathes 8 a minute."),
        ({"breathes": False, "breathes_after_opening": True}, "Breathes once the airway is open."),
        ({"breathes": False, "breathes_after_opening": False}, "No breath with the airway open."),
        ({"refill_s": 2.5}, "Capillary refill 2.5 s."),
        ({"refill_s": 2.0}, "Capillary refill 2 s."),
        ({"pulse": False}, "No pulse at the wrist."),
        ({"avpu": "A", "obeys": True}, "Awake, does what you ask."),
        ({"avpu": "U"}, "No answer to voice or pinch."),
        ({"avpu": "P", "posturing": True}, "Stiffens when pinched."),
        ({"avpu": "P", "posturing": False}, "Pulls away when pinched."),
        ({"obeys": False}, "Does not do what you ask."),
        ({"bleeding_controlled": False}, "Blood keeps coming."),
    ],
)
def test_each_finding_is_told_in_a_sentence(findings: dict[str, Any], said: str) -> None:
    """Eight breaths a minute are gasps, nine are breaths; who breathes only when helped gasps
    never."""
    assert said in told({**LIES, **findings}, GROWN)


def test_as_many_gasps_as_are_drawn_are_told_as_gasps() -> None:
    """And one breath more is none."""
    for rate in range(AGONAL[0], AGONAL[1] + 1):
        assert f"Gasps {rate} times a minute." in told({**LIES, "rate": rate}, GROWN)
    assert AGONAL == (4, 8)


def test_with_no_pulse_nothing_is_said_of_rescue_breaths() -> None:
    """The chart gives none."""
    apnoeic = {
        **LIES,
        "breathes": False,
        "breathes_after_opening": False,
        "breathes_after_rescue_breaths": False,
    }
    with_pulse = told({**apnoeic, "pulse": True}, INFANT)

    assert "No breath after the rescue breaths." in with_pulse
    assert "No breath after the rescue breaths." not in told({**apnoeic, "pulse": False}, INFANT)
    assert "A pulse in the upper arm." in with_pulse
    assert with_pulse[0] == "Lies in somebody's arms."


def test_what_is_not_asked_for_is_not_told() -> None:
    """But whether one walks and breathes always is."""
    found = told({**LIES, "rate": 20, "pulse": True}, GROWN, only={"pulse"})

    assert found == ("Does not get up when called.", "A pulse at the wrist.")
