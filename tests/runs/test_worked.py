"""Several slips that explain one answer stand in a list, and none is named as the one."""

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
from django.template.loader import render_to_string

from drills.runs.worked import Worked

WORKED = Worked(
    answer="2 mL",
    steps=("20 mg / 10 mg/mL = 2 mL",),
    printed="",
    source="",
    notice="",
    above="",
    verdict="unsafe",
)
TWO = ("pounds used as kilograms", "a tenth of it: a decimal point moved left")


def told(dose: Worked) -> str:
    """What the page tells of it."""
    about = {"dose": dose, "told": SimpleNamespace(said=("20 mL",)), "outcome": "wrong"}
    return render_to_string("runs/_number_told.html", about)


@pytest.mark.parametrize(
    ("dose", "said"),
    [
        (replace(WORKED, slips=TWO), "Any of these slips explains it, so none is named:"),
        (replace(WORKED, possibly=TWO), "two slips together. No single one explains it,"),
    ],
)
def test_two_slips_are_two_lines(dose: Worked, said: str) -> None:
    shown = told(dose)

    assert said in shown
    lines = re.findall(r"<li>(.*?)</li>", shown.partition(said)[2])
    assert lines[:2] == [
        "Pounds used as kilograms.",
        "A tenth of it: a decimal point moved left.",
    ]
    assert "Named slip" not in shown


def test_one_slip_is_named() -> None:
    assert "Named slip: pounds used as kilograms." in told(replace(WORKED, slips=TWO[:1]))
