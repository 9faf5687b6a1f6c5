"""How far people are with a series that they were given as one."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from drills.engine.recipes import CannotApplyError, refuse_unbuilt
from drills.engine.series import BY_DAY, name_of
from drills.people.models import Person
from drills.runs.access import named_people
from drills.runs.assigned import (
    MET,
    MET_LATE,
    Counts,
    Standing,
    counts_of,
    rows_of_assignments,
    running,
    standings_of,
    standings_to,
)
from drills.runs.models import Assigned, Assignment, Series
from drills.runs.recipients import to_whom
from drills.scenarios.models import Recipe


@dataclass(frozen=True, slots=True)
class Days:
    """A series as one person has it: each day in its order, and how many of them are met."""

    series: Series
    person: Person
    days: tuple[Standing, ...]

    @property
    def met(self) -> int:
        return sum(each.state in {MET, MET_LATE} for each in self.days)

    @property
    def overdue(self) -> int:
        return sum(each.is_overdue for each in self.days)

    @property
    def next(self) -> Standing | None:
        """The first day that is to do."""
        return next((each for each in self.days if each.is_to_do), None)

    @property
    def is_excused(self) -> bool:
        return any(each.assigned.excused_at for each in self.days)


@dataclass(frozen=True, slots=True)
class Offered:
    """A series that may be given: its recipes in their order, and minutes in all."""

    key: str
    name: str
    recipes: tuple[Recipe, ...]

    @property
    def minutes(self) -> int:
        return sum(each.minutes for each in self.recipes)


def series_offered(recipes: Iterable[Recipe]) -> list[Offered]:
    """The series by day of which every recipe in use can be drilled, out of those that are open."""
    found: dict[str, list[Recipe]] = defaultdict(list)
    for recipe in recipes:
        if recipe.series in BY_DAY and recipe.step:
            found[recipe.series].append(recipe)
    return [
        Offered(slug, name_of(slug), tuple(sorted(steps, key=lambda each: each.step or 0)))
        for slug, steps in found.items()
        if all(map(is_built, steps))
    ]


def series_to(person: Person, *, today: date) -> list[Days]:
    """The series a person has days of to do, or whose last day is not past, the next due first."""
    return series_among(standings_to(person, today=today), today=today)


def series_among(standings: Iterable[Standing], *, today: date) -> list[Days]:
    """The same, out of all that a person was given."""
    return [
        each
        for each in _by_series(standings)
        if each.next or max(day.assigned.assignment.due_on for day in each.days) >= today
    ]


def singles(standings: Iterable[Standing]) -> list[Standing]:
    """Those that are no day of a series."""
    return [each for each in standings if each.assigned.assignment.series_id is None]


def days_of(rows: Iterable[Assigned], *, today: date) -> list[Days]:
    """Rows of series, put together by series and person."""
    return _by_series(standings_of(list(rows), today=today))


def _by_series(standings: Iterable[Standing]) -> list[Days]:
    found: dict[tuple[Series, int], list[Standing]] = defaultdict(list)
    for each in sorted(standings, key=_place):
        if series := each.assigned.assignment.series:
            found[series, each.assigned.person_id].append(each)
    return [
        Days(series, days[0].assigned.person, tuple(days)) for (series, _), days in found.items()
    ]


def _place(standing: Standing) -> tuple[date, int]:
    given = standing.assigned.assignment
    return given.due_on, given.recipe.step or 0


def series_listed(
    assignments: Iterable[Assignment], *, viewer: Person, today: date
) -> list[tuple[Series, Assignment, Assignment, str, Counts]]:
    """The series of assignments: with its first and last day, to whom, and how many days are in
    each state, as the viewer may know it."""
    by_series: dict[UUID, list[Assignment]] = defaultdict(list)
    for each in assignments:
        if each.series_id:
            by_series[each.series_id].append(each)
    series = Series.objects.select_related("given_by").in_bulk(by_series)
    firsts = {key: min(days, key=_due) for key, days in by_series.items()}
    whom = to_whom(list(firsts.values()), viewer=viewer)
    named = set(named_people(viewer).values_list("pk", flat=True))
    rows = rows_of_assignments().filter(assignment__series__in=by_series)
    found: dict[UUID | None, list[Standing]] = defaultdict(list)
    for row in standings_of(list(rows), today=today):
        found[row.assigned.assignment.series_id].append(row)
    return [
        (
            series[key],
            firsts[key],
            max(days, key=_due),
            whom[firsts[key].pk],
            counts_of(found[key], named=named),
        )
        for key, days in by_series.items()
    ]


def running_days(days: QuerySet[Assignment], *, today: date) -> QuerySet[Assignment]:
    """All days of series of which one is not withdrawn, and to come or not a week ago."""
    current = running(days, today=today).order_by()
    return days.filter(series__in=current.values("series"))


def _due(assignment: Assignment) -> date:
    return assignment.due_on


def is_built(recipe: Recipe) -> bool:
    """Whether all that a recipe asks can be drilled."""
    try:
        refuse_unbuilt(recipe.spec)
    except CannotApplyError:
        return False
    return True
