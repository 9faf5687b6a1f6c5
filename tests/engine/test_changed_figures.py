"""A rule's figures held against those it had."""

from dataclasses import replace
from typing import Any

import pytest

from drills.engine.changed_figures import (
    Figures,
    against_its_note,
    changed_figures,
    rests_on_the_same,
)

CHILD = Figures(dose="0.01 mg/kg", maximum="1 mg", strengths={"a": "0.1 mg/mL"}, repeat_min="3")


@pytest.mark.parametrize(
    ("becomes", "how", "is_flagged", "is_loud"),
    [
        ({"dose": "0.1 mg/kg"}, "ten times as much as before", True, True),
        ({"dose": "0.001 mg/kg"}, "a tenth as much as before", True, True),
        ({"dose": "10 mg/kg"}, "a thousand times as much as before", True, True),
        ({"dose": "0.12 mg/kg"}, "12 times as much as before", True, True),
        ({"dose": "0.099 mg/kg"}, "9.9 times as much as before", True, False),
        ({"dose": "0.02 mg/kg"}, "twice as much as before", True, False),
        ({"dose": "0.005 mg/kg"}, "half as much as before", True, False),
        ({"dose": "0.0199 mg/kg"}, "1.99 times as much as before", False, False),
        ({"dose": "0.0051 mg/kg"}, "0.51 times as much as before", False, False),
        ({"dose": "0.01 mg"}, "the two cannot be compared", True, True),
        ({"maximum": "3 mg"}, "3 times as much as before", True, False),
        ({"maximum": ""}, "there is none any more", True, False),
        ({"minimum": "0.5 mg"}, "there was none", True, False),
        ({"total": "3 mg"}, "there was none", False, False),
        ({"strengths": {"a": "1 mg/mL"}}, "ten times as strong as before", True, True),
        ({"strengths": {"a": "1 mg / 1 mL"}}, "ten times as strong as before", True, True),
        ({"repeat_min": "30"}, "ten times as long as before", True, True),
        ({"repeat_min": "5"}, "about 1.67 times as long as before", False, False),
    ],
)
def test_a_changed_figure_is_told_as_a_ratio(
    becomes: dict[str, Any], how: str, is_flagged: bool, is_loud: bool
) -> None:
    """From two on it is flagged, and from ten on loudly."""
    (changed,) = changed_figures(CHILD, replace(CHILD, **becomes))

    assert (changed.how, changed.is_flagged, changed.is_loud) == (how, is_flagged, is_loud)


@pytest.mark.parametrize(
    "becomes",
    [
        {},
        {"dose": "10 mcg/kg"},
        {"maximum": "1,000 mcg"},
        {"strengths": {"a": "1:10,000"}},
        {"note": "a"},
    ],
)
def test_one_amount_in_other_words_is_no_change(becomes: dict[str, Any]) -> None:
    """A unit may be written otherwise."""
    assert changed_figures(CHILD, replace(CHILD, **becomes)) == ()


@pytest.mark.parametrize(
    ("was", "becomes", "told"),
    [
        # Whichever of them it is, and each by itself.
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"a": "1 mg/mL", "b": "50 mg/mL"}, [10]),
        (
            {"a": "1 mg/mL", "b": "5 mg/mL"},
            {"b": "10 mg/mL", "a": "4 mg/mL"},
            [4, 2],
        ),
        # Known by another name: against the one that went.
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"a": "1 mg/mL", "c": "50 mg/mL"}, [10]),
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"c": "5 mg/mL", "d": "10 mg/mL"}, [10]),
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"c": "5 mg/mL", "d": "1 mg/mL"}, []),
        # In another order, one more, one fewer.
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"b": "5 mg/mL", "a": "1 mg/mL"}, []),
        ({"a": "1 mg/mL"}, {"b": "10 mg/mL", "a": "1 mg/mL"}, []),
        ({"a": "1 mg/mL", "b": "5 mg/mL"}, {"b": "5 mg/mL"}, []),
    ],
)
def test_every_strength_is_held_against_what_it_was(
    was: dict[str, str], becomes: dict[str, str], told: list[int]
) -> None:
    """A rule may be given from several, and a slip in the second is as large."""
    old = replace(CHILD, strengths=was)

    found = changed_figures(old, replace(old, strengths=becomes))

    assert [each.ratio for each in found] == told
    assert all(each.name == "strength it is given from" for each in found)


def test_a_range_that_opens_upwards_is_flagged_by_its_upper_end() -> None:
    """The one dose of before is both ends of it."""
    (changed,) = changed_figures(CHILD, replace(CHILD, dose_high="0.1 mg/kg"))

    assert changed.words == (
        "upper end of the dose: 0.01 mg/kg becomes 0.1 mg/kg, ten times as much as before"
    )


def test_a_figure_that_changed_on_the_same_source_is_told() -> None:
    """Only where a figure changed, and nothing of what it rests on."""
    now = replace(CHILD, rests_on=("A book", "7", "p. 3", "2026-01-01"))
    assert rests_on_the_same(now, replace(now, dose="0.011 mg/kg"))
    assert not rests_on_the_same(now, now)
    newer = ("A book", "7", "p. 3", "2026-02-01")
    assert not rests_on_the_same(now, replace(now, dose="0.011 mg/kg", rests_on=newer))


@pytest.mark.parametrize(
    ("dose", "high", "note", "told"),
    [
        ("0.1 mg/kg", "", "0.1 mL/kg of 0.1 mg/mL", "0.01 mg/kg, and the dose is 0.1 mg/kg, ten"),
        ("0.01 mg/kg", "", "0.1 mL/kg of 0.1 mg/mL", ""),
        ("0.1 mg/kg", "", "ten times the vein dose; 0.1 mL/kg of 1 mg/mL", ""),
        ("5 mcg", "20 mcg", "0.5-2 mL of 10 mcg/mL; ours", ""),
        ("5 mcg", "200 mcg", "0.5-2 mL of 10 mcg/mL; ours", "20 mcg, and the dose is 200 mcg, ten"),
        ("33 mcg/kg", "", "0.03 mL/kg of 1 mg/mL", ""),
        ("50 mcg/kg", "", "0.03 mL/kg of 1 mg/mL", "30 mcg/kg, and the dose is 50 mcg/kg, about"),
        ("2 mg", "", "0.1 mL/kg of 0.1 mg/mL", ""),
        ("2 mg", "", "0.1 mL/kg", ""),
        ("2 mg", "", "no more than 1:10 mL of 1 mg/mL", ""),
        ("2 J/kg", "", "0.1 mL/kg of 0.1 mg/mL", ""),
    ],
)
def test_a_note_that_the_dose_contradicts_is_told_where_it_can_be_read(
    dose: str, high: str, note: str, told: str
) -> None:
    """What is rounded to its last figure contradicts nothing, nor does what is of another kind."""
    said = against_its_note(Figures(dose=dose, dose_high=high, note=note))

    assert (told in said) if told else said == ""
