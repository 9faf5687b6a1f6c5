"""When somebody is reminded: by the day and the hour alone."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.reminding import HOURS, is_reason, is_within, stage

DUE = date(2026, 3, 20)
GIVEN = date(2026, 3, 1)
DAYS = st.integers(min_value=-20, max_value=60)


def day(after: int) -> date:
    return DUE + timedelta(days=after)


@pytest.mark.parametrize(
    ("after", "wanted"),
    [(-4, 0), (-3, 1), (-1, 1), (0, 2), (1, 3), (7, 3), (8, 4), (14, 4), (15, 5), (29, 7)],
)
def test_it_goes_on_three_days_before_on_the_day_after_it_and_each_week(
    after: int, wanted: int
) -> None:
    assert stage(DUE, today=day(after)) == wanted


def test_who_looks_at_none_has_six_reminders_and_no_more() -> None:
    """Looked at every day, from long before to 28 days after."""
    told_on, sent = None, []
    for after in range(-20, 29):
        if is_reason(DUE, given_on=GIVEN, told_on=told_on, today=day(after)):
            told_on = day(after)
            sent.append(after)

    assert sent == [-3, 0, 1, 8, 15, 22]


def test_what_was_given_since_is_told_though_all_else_was() -> None:
    """It was due soon when it came."""
    told_on = day(-2)

    assert not is_reason(DUE, given_on=GIVEN, told_on=told_on, today=day(-1))
    assert is_reason(DUE, given_on=day(-1), told_on=told_on, today=day(-1))


@given(DAYS, DAYS)
def test_nobody_is_told_twice_on_one_day(given_after: int, after: int) -> None:
    told = day(after)
    assert not is_reason(DUE, given_on=min(day(given_after), told), told_on=told, today=told)


@given(DAYS, DAYS)
def test_what_is_due_goes_on_and_never_back(first: int, second: int) -> None:
    earlier, later = sorted((first, second))
    assert stage(DUE, today=day(earlier)) <= stage(DUE, today=day(later))


@pytest.mark.parametrize(
    ("first", "end", "inside"),
    [(7, 20, {*range(7, 20)}), (20, 6, {*range(20, 24), *range(6)}), (0, 23, {*range(23)})],
)
def test_hours_begin_with_the_first_end_before_the_last_and_may_pass_midnight(
    first: int, end: int, inside: set[int]
) -> None:
    assert {hour for hour in range(HOURS) if is_within(hour, first, end)} == inside
