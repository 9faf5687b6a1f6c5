"""What is read of a strength, and what a minimum and a maximum do to the marks of a device."""

import pytest

from drills.engine.dosing.reading import read_problem, told_solution


def told(**problem):
    """What the door gives for a problem."""
    return told_solution(read_problem(problem).solve())


@pytest.mark.parametrize("text", ["81 mg / tablet", "81 mg/tablet", "81mg/ tablet"])
def test_a_tablet_is_read_with_any_spaces(text):
    """A stroke with spaces and no number after it is read as one without."""
    found = told(kind="dose", fixed="324 mg", concentration=text)
    assert found["results"]["volume"]["rounded"] == "4"


@pytest.mark.parametrize("text", ["10 mg/2 mL", "10 mg / 2 mL", "10mg/2mL", "10 mg /2 mL"])
def test_a_container_keeps_its_volume_with_any_spaces(text):
    """The volume that an amount comes in is that of the container, however it is spaced."""
    found = told(kind="containers", fixed="10 mg", concentration=text)
    assert found["results"]["open"]["rounded"] == "1"


def test_a_strength_for_each_ml_is_one_ml_with_any_spaces():
    """Where no volume is told, one mL is what it comes in."""
    for text in ("5 mg / mL", "5 mg/mL"):
        found = told(kind="containers", fixed="10 mg", concentration=text)
        assert found["results"]["open"]["rounded"] == "2"


def test_a_tiny_figure_that_does_not_end_has_six_figures():
    """Twelve decimals would be nothing but zeros."""
    found = told(kind="dose", fixed="0.00000000000007 mg", concentration="3 mg/mL")
    assert found["results"]["volume"]["exact"] == "0.0000000000000233333"
