"""Whether a result meets a standard, and the words for what it falls short of. Ours, no source."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.standards import Result, Standard, in_words, shortfalls, uses_attempt

WHOLE = Result(
    planned=4,
    answered=4,
    marks_sum=320,
    limited=3,
    in_time=2,
    unsafe=0,
    kits_failed=0,
    is_timed=True,
)
STRICT = Standard(marks=80, in_time=66, no_unsafe_dose=True, no_must_missed=True)


def test_just_what_is_asked_meets_it() -> None:
    """80 marks of 80; two of three in time is 66 in 100, rounded down."""
    assert shortfalls(STRICT, WHOLE) == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"marks_sum": 319}, "marks 79 of 100, 80 asked"),
        ({"in_time": 1}, "in time 1 of 3, 66 in 100 asked"),
        ({"is_timed": False}, "taken untimed, and time is asked"),
        ({"unsafe": 1}, "1 unsafe answer, none may be"),
        ({"unsafe": 2}, "2 unsafe answers, none may be"),
        ({"kits_failed": 1}, "1 kit with a must-have missing, none may be"),
        ({"answered": 3}, "not complete: 3 of 4 answered"),
        ({"answered": 0, "planned": 0}, "every answer was voided"),
    ],
)
def test_each_thing_it_falls_short_of_is_named(change: dict[str, Any], words: str) -> None:
    assert shortfalls(STRICT, replace(WHOLE, **change)) == (words,)


def test_every_reason_is_told_at_once() -> None:
    bad = replace(WHOLE, marks_sum=0, in_time=0, unsafe=1, kits_failed=1)

    assert len(shortfalls(STRICT, bad)) == 4


def test_what_had_no_limit_yet_is_not_held_against_anybody() -> None:
    assert shortfalls(STRICT, replace(WHOLE, limited=0, in_time=0)) == ()


def test_a_standard_that_asks_nothing_asks_for_every_answer_all_the_same() -> None:
    bad = replace(WHOLE, marks_sum=0, in_time=0, unsafe=3, kits_failed=2, is_timed=False)

    assert shortfalls(Standard(), bad) == ()
    assert shortfalls(Standard(), replace(bad, answered=3)) != ()


@pytest.mark.parametrize(
    ("change", "is_finished", "uses"),
    [
        ({}, True, True),
        ({"answered": 3}, True, False),
        ({"answered": 0, "planned": 0}, True, False),
        ({"answered": 1}, False, True),
        ({"answered": 0}, False, False),
    ],
    ids=["whole", "emptied by calls", "voided whole", "left lying", "never answered"],
)
def test_an_attempt_is_used_up_by_what_its_person_did(
    change: dict[str, Any], is_finished: bool, uses: bool
) -> None:
    """Neither a call nor a contest that was upheld takes one away."""
    assert uses_attempt(replace(WHOLE, **change), is_finished=is_finished) is uses


def test_says_what_it_asks() -> None:
    assert in_words(STRICT) == (
        "80 of 100 marks",
        "66 in 100 in time",
        "no unsafe dose or supply",
        "no must-have missed",
    )
    assert in_words(Standard()) == ()
    assert in_words(Standard(marks=0)) == ("0 of 100 marks",)


@given(st.integers(0, 400), st.integers(0, 100))
def test_more_marks_never_fall_shorter(marks: int, asked: int) -> None:
    standard = Standard(marks=asked)
    fewer, more = (replace(WHOLE, marks_sum=each) for each in (marks, min(marks + 1, 400)))

    assert len(shortfalls(standard, more)) <= len(shortfalls(standard, fewer))
    assert bool(shortfalls(standard, fewer)) is (marks < 4 * asked)
