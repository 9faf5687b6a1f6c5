"""A number and its unit stay on one line."""

import pytest

from drills.people.unbroken import unbroken

NO_BREAK, JOINED = "\u00a0", "\u2060"
pytestmark = pytest.mark.usefixtures("as_printed")


@pytest.mark.parametrize(
    "said",
    [
        "15 mg/kg",
        "at most 150 mg",
        "1,000 mcg/min",
        "10 mg / 5 mL",
        "0.5 mL",
        "20 %",
        "13 min",
        "5 y",
    ],
)
def test_no_line_ends_between_a_number_and_its_unit(said: str) -> None:
    kept = unbroken(f"<b>{said}</b>")
    assert NO_BREAK in kept
    assert not any(f"{digit} " in kept for digit in "0123456789" if "/ 5" not in said)
    assert kept.replace(NO_BREAK, " ").replace(JOINED, "") == f"<b>{said}</b>"


@pytest.mark.parametrize("unit", ["mg/kg", "mcg/kg/min", "gtt/mL", "mL/kg/%", "mg/tablet", "mL/h"])
def test_no_line_ends_within_a_unit(unit: str) -> None:
    assert unbroken(f"give {unit}") == f"give {unit.replace('/', f'/{JOINED}')}"


@pytest.mark.parametrize("said", ["IV/IO", "IV/IO/ET", "and/or", '<a href="/mg/kg/">x</a>'])
def test_other_slashes_are_left(said: str) -> None:
    assert unbroken(said) == said


@pytest.mark.parametrize("said", ["2 of 3", "3 guns", "row 9 heard", "4 lines", "page 2 and"])
def test_other_words_after_a_number_may_stand_on_the_next_line(said: str) -> None:
    assert unbroken(said) == said


def test_what_a_field_sends_is_left_as_it_is() -> None:
    """And what was escaped stays escaped."""
    field = '<input value="10 mL">'
    assert unbroken(field + "&lt;5 mL") == field + f"&lt;5{NO_BREAK}mL"
