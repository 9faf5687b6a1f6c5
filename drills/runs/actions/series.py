"""A series of recipes given to people as one: given, changed, excused and withdrawn at once."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from drills.engine.series import due_days, name_of
from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.runs.actions.assigning import (
    alone,
    excuse,
    give,
    layout_for,
    refuse,
    take_back_excuse,
    withdraw,
)
from drills.runs.assigned import rows_of_assignments, standings_of
from drills.runs.models import Assigned, Series
from drills.scenarios.models import Recipe


class HaveSeriesError(ValueError):
    """Everybody has days of the same series to do."""

    def __init__(self, slug: str, people: Collection[Person]) -> None:
        super().__init__(f"{len(people)} people have days of {name_of(slug)} to do already.")
        self.people = people


@transaction.atomic
def assign_series(
    recipes: Collection[Recipe],
    *,
    to: Collection[Person],
    first_due: date,
    every: int = 1,
    note: str = "",
    layout: Layout | None = None,
    by: Person,
    now: datetime,
) -> Series:
    """Give each recipe of a series, one or more, to people: due on a day, the next `every` days on.

    Each keeps its own minutes and standard. Who has days of the series to do is left out,
    `HaveSeriesError` where all have. Raises what `assign` raises, and gives then none of it.
    """
    steps = [alone(each) for each in sorted(recipes, key=step_of)]
    layouts = [layout_for(each, layout) for each in steps]
    today, slug = timezone.localdate(now), steps[0].series
    days = due_days(first_due, every=every, count=len(steps))
    for recipe, due_on, on in zip(steps, days, layouts, strict=True):
        refuse(recipe, to, due_on, layout=on, now=now)
    have_it = _have_days(slug, to, today)
    people = sorted(set(to).difference(have_it), key=lambda person: person.employee_number)
    if not people:
        raise HaveSeriesError(slug, have_it)
    series = Series.objects.create(slug=slug, given_by=by, given_at=now, every=every, note=note)
    for recipe, due_on, on in zip(steps, days, layouts, strict=True):
        give(
            recipe,
            people,
            due_on=due_on,
            standard=recipe.standard,
            minutes=recipe.minutes,
            note=note,
            layout=on,
            given_by=by,
            given_at=now,
            series=series,
        )
    told = {"due": [day.isoformat() for day in days]}
    numbers = [person.employee_number for person in people]
    record("assign series", _subject(series), by=by, now=now, after=told | {"to": numbers})
    return series


@transaction.atomic
def move_series(
    series: Series, *, first_due: date, every: int, note: str, by: Person, now: datetime
) -> bool:
    """Have the days of a series due otherwise, with another word; whether anything is other.

    What was done stays done, and is in time or late by the new day. Raises `ValueError` for a first
    day that is past, unless it is as it was, and where all was withdrawn.
    """
    series = Series.objects.select_for_update(of=("self",)).get(pk=series.pk)
    steps = list(series.assignments.filter(withdrawn_at=None).order_by("due_on", "recipe__step"))
    if not steps:
        raise ValueError(f"{series} was withdrawn. Give it anew.")
    before = {"due": [each.due_on.isoformat() for each in steps], "note": series.note}
    days = due_days(first_due, every=every, count=len(steps))
    after = {"due": [day.isoformat() for day in days], "note": note}
    if before == after:
        return False
    if days[0] != steps[0].due_on and days[0] < timezone.localdate(now):
        raise ValueError(f"{days[0]:%F} came in, which is past. Today or later is accepted.")
    for step, day in zip(steps, days, strict=True):
        step.due_on, step.note = day, note
        step.save(update_fields=["due_on", "note"])
    series.every, series.note = every, note
    series.save(update_fields=["every", "note"])
    record("change series", _subject(series), by=by, now=now, before=before, after=after)
    return True


@transaction.atomic
def withdraw_series(series: Series, *, by: Person, now: datetime) -> int:
    """Take every day of a series back from who has not met it; how many days were given still."""
    return sum(withdraw(each, by=by, now=now) for each in series.assignments.order_by("due_on"))


@transaction.atomic
def excuse_from_series(
    series: Series, people: Collection[Person], *, because: str, by: Person, now: datetime
) -> int:
    """Excuse people from the days of a series that they have not met, with a reason; how many days.

    Raises `ValueError` without a reason, and for whoever excuses.
    """
    rows = rows_of_assignments().filter(assignment__series=series, person__in=people)
    open_rows = _to_do(list(rows), timezone.localdate(now))
    return sum(excuse([row], because=because, by=by, now=now) for row in open_rows)


@transaction.atomic
def take_back_from_series(
    series: Series, people: Collection[Person], *, by: Person, now: datetime
) -> int:
    """Have people do the days of a series after all that they were excused from; how many days."""
    rows = rows_of_assignments().filter(assignment__series=series, person__in=people)
    excused = rows.exclude(excused_at=None)
    return sum(take_back_excuse([row], by=by, now=now) for row in excused)


def step_of(recipe: Recipe) -> int:
    """Where a recipe stands in its series."""
    return recipe.step or 0


def _have_days(slug: str, people: Collection[Person], today: date) -> list[Person]:
    rows = rows_of_assignments().filter(
        assignment__series__slug=slug, assignment__withdrawn_at=None, person__in=people
    )
    return list({row.person for row in _to_do(list(rows), today)})


def _to_do(rows: Collection[Assigned], today: date) -> list[Assigned]:
    return [each.assigned for each in standings_of(rows, today=today) if each.is_to_do]


def _subject(series: Series) -> str:
    return f"{series.slug}, {series.pk}"
