"""Recipes that are given as one, a day each: what they are called, and when each is due."""

from collections.abc import Mapping
from datetime import date, timedelta

# Series of recipes whose steps are days, by their key.
BY_DAY: Mapping[str, str] = {"new-rig-week": "New rig in a week"}
# Days from the last day of one to that of the next. Who works every third day has a week of three.
EVERY_DAY, MOST_APART = 1, 7


def name_of(series: str) -> str:
    """What a series is called; one that is not known, by its key."""
    return BY_DAY.get(series, series)


def due_days(first: date, *, every: int, count: int) -> list[date]:
    """The last day of each of `count` steps, `every` days apart; raises `ValueError` for a distance
    that is not from 1 to 7."""
    if not EVERY_DAY <= every <= MOST_APART:
        raise ValueError(
            f"{every} days apart came in; from {EVERY_DAY} to {MOST_APART} is accepted."
        )
    return [first + timedelta(days=every * step) for step in range(count)]
