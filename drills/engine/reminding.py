"""When somebody is reminded of what is due, by the day and the hour alone.

A reminder goes out when something comes near, on its day, on the day after and each week after
that: who looks at none has one a week, and not one a day. All figures are ours, no source.
"""

from datetime import date

NEAR_DAYS = 3
WEEK = 7
NOT_YET, NEAR, TODAY, LATE = 0, 1, 2, 3
HOURS = 24


def stage(due_on: date, *, today: date) -> int:
    """How far on something due is: 0 not near, 1 within three days, 2 the last day, 3 past, and
    one more for each whole week since the day after it."""
    left = (due_on - today).days
    if left < 0:
        return LATE + (-left - 1) // WEEK
    if left == 0:
        return TODAY
    return NEAR if left <= NEAR_DAYS else NOT_YET


def is_reason(due_on: date, *, given_on: date, told_on: date | None, today: date) -> bool:
    """Whether something due is a reason to remind somebody who was last told on `told_on`.

    What was given since then, or never told of, is one as soon as it is near.
    """
    now = stage(due_on, today=today)
    if told_on is None or given_on > told_on:
        return now > NOT_YET
    return now > stage(due_on, today=told_on)


def is_within(hour: int, first: int, end: int) -> bool:
    """Whether an hour of the day, 0 to 23, is within hours that begin with `first` and end before
    `end`; they may pass midnight."""
    return (hour - first) % HOURS < (end - first) % HOURS
