"""A series that was given as one: read, changed, excused from and withdrawn."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request, require_role
from drills.people.models import Person, Role
from drills.people.rendering import post_alone
from drills.runs.access import named_people, readable_series, seen_people
from drills.runs.actions import (
    excuse_from_series,
    move_series,
    take_back_from_series,
)
from drills.runs.actions import withdraw_series as withdraw_every_day
from drills.runs.assigned import counts_of, rows_of_assignments, standings_of
from drills.runs.forms import MoveSeriesForm
from drills.runs.models import Series
from drills.runs.series import days_of

LONGEST_REASON = 200


@require_GET
def series(request: Request, series_id: UUID) -> HttpResponse:
    """A series: who has met which day of it."""
    return _show(request, readable_series(request.user, series_id))


@post_alone
def change_series(request: Request, series_id: UUID) -> HttpResponse:
    """Have its days due otherwise, or another word; of somebody else's an educator alone."""
    found = _giver_of(request, series_id)
    form = MoveSeriesForm(request.POST)
    if not form.is_valid():
        return _show(request, found, fault=" ".join(form.faults))
    given = form.cleaned_data
    try:
        is_other = move_series(
            found,
            first_due=given["first_due"],
            every=given["every"],
            note=given["note"],
            by=request.user,
            now=timezone.now(),
        )
    except ValueError as error:
        return _show(request, found, fault=str(error))
    messages.info(request, "Changed for every day." if is_other else "It is as it was.")
    return redirect("runs:series", found.pk)


@post_alone
def excuse_series(request: Request, series_id: UUID) -> HttpResponse:
    """Excuse those ticked from the days that they have not met, or have them do those after all."""
    found, by, now = readable_series(request.user, series_id), request.user, timezone.now()
    wanted = request.POST.getlist("who")
    # Of who is not seen by name, none is excused by a number that was guessed; oneself is refused.
    seen = named_people(by).filter(assigned__assignment__series=found, employee_number__in=wanted)
    people = list(seen.distinct())
    if not people:
        return _show(request, found, fault="Nobody was chosen. Tick one person or more.")
    try:
        if "back" in request.POST:
            count = take_back_from_series(found, people, by=by, now=now)
            messages.info(request, f"{_days(count)} to do after all.")
        else:
            because = request.POST.get("because", "")[:LONGEST_REASON]
            count = excuse_from_series(found, people, because=because, by=by, now=now)
            messages.info(request, f"Excused from {_days(count)}.")
    except ValueError as error:
        return _show(request, found, fault=str(error))
    return redirect("runs:series", found.pk)


@post_alone
def withdraw_series(request: Request, series_id: UUID) -> HttpResponse:
    """Take every day back; of a series that somebody else gave, as an educator alone."""
    found = _giver_of(request, series_id)
    if withdraw_every_day(found, by=request.user, now=timezone.now()):
        messages.info(request, "Withdrawn, every day of it. What was done is kept.")
    return redirect("runs:series", found.pk)


def _giver_of(request: Request, series_id: UUID) -> Series:
    found = readable_series(request.user, series_id)
    if found.given_by != request.user:
        require_role(request.user, Role.EDUCATOR)
    return found


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _show(request: Request, found: Series, *, fault: str = "") -> HttpResponse:
    days = list(found.assignments.select_related("recipe", "layout").order_by("due_on"))
    rows = rows_of_assignments().filter(assignment__series=found)
    named = rows.filter(person__in=named_people(request.user))
    people = days_of(named, today=timezone.localdate())
    standings = standings_of(list(rows), today=timezone.localdate())
    given = [each for each in days if each.withdrawn_at is None]
    context = {
        "series": found,
        "days": days,
        "given_days": given,
        "first": (given or days)[0],
        "last": (given or days)[-1],
        "counts": counts_of(standings, named={each.person.pk for each in people}),
        "people": sorted(people, key=lambda each: (each.person.name, each.person.employee_number)),
        "others": _others(found, request.user),
        "may_change": found.given_by == request.user or request.user.holds(Role.EDUCATOR),
        "fault": fault,
        "given": request.POST,
        "chosen": request.POST.getlist("who"),
    }
    return render(request, "runs/series.html", context, status=422 if fault else 200)


def _others(found: Series, viewer: Person) -> int:
    """How many have it whom the viewer does not see by name."""
    people = Person.objects.filter(assigned__assignment__series=found).distinct()
    return people.exclude(pk__in=seen_people(viewer)).exclude(pk=viewer.pk).count()
