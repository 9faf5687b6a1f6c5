"""Giving drills to people, and how far they are."""

from collections.abc import Collection, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.series import EVERY_DAY
from drills.engine.standards import in_words
from drills.people.access import Request, require_role
from drills.people.models import Person, Role
from drills.people.rendering import post_alone
from drills.rigs.reports import layouts_in_force
from drills.runs.access import may_assign, named_people, readable_assignment, readable_assignments
from drills.runs.actions import (
    AlreadyAssignedError,
    HaveSeriesError,
    assign_series,
    take_back_excuse,
)
from drills.runs.actions import assign as assign_to
from drills.runs.actions import excuse as excuse_from
from drills.runs.actions import withdraw as take_back
from drills.runs.assigned import (
    as_listed,
    counts_of,
    due_besides,
    rows_of_assignments,
    running,
    standings_of,
)
from drills.runs.forms import OWN, AssignForm
from drills.runs.models import Assignment, Series
from drills.runs.offering import grouped, recipes_offered
from drills.runs.recipients import Recipient, names_of, recipients_of
from drills.runs.series import running_days, series_listed, series_offered
from drills.scenarios.models import Recipe

FRIDAY, DAYS = 4, 7
PAST_SHOWN = 20


@require_http_methods(["GET", "POST"])
def assign(request: Request) -> HttpResponse:
    """Give a recipe, or a series of them, to people, pairings or cohorts."""
    giver, now = may_assign(request.user), timezone.now()
    recipients = recipients_of(giver, now=now)
    if request.method == "GET":
        return _show_form(request, recipients)
    form = AssignForm(
        request.POST,
        recipes=Recipe.objects.open_to(giver),
        series=series_offered(Recipe.objects.open_to(giver)),
        recipients=recipients,
        today=timezone.localdate(now),
    )
    if not form.is_valid():
        return _show_form(request, recipients, form.faults)
    twice = _twice(request, form, giver)
    return _show_form(request, recipients, twice=twice) if twice else _made(request, form, now)


def _made(request: Request, form: AssignForm, now: datetime) -> HttpResponse:
    giver = request.user
    recipients = recipients_of(giver, now=now)
    try:
        made = _give_series(form, giver, now) if form.series else _give(form, giver, now)
    except AlreadyAssignedError as error:
        due_on = form.cleaned_data["due_on"]
        return _show_form(request, recipients, [_have_it(error.people, giver, due_on)])
    except HaveSeriesError as error:
        return _show_form(request, recipients, [_have_days(error.people, giver)])
    except ValueError as error:
        return _show_form(request, recipients, [str(error)])
    messages.success(request, _told(made, form.cleaned_data["to"], giver))
    return redirect("runs:series" if form.series else "runs:assignment", made.pk)


def _twice(request: Request, form: AssignForm, giver: Person) -> str:
    """Who has the drill to do by another day, told once before it is given to them again."""
    if form.series or request.POST.get("twice") == _again(request.POST):
        return ""
    given: dict[str, Any] = form.cleaned_data
    rows = due_besides(
        given["recipe"],
        given["to"],
        due_on=given["due_on"],
        layout=given["layout"],
        today=timezone.localdate(),
    )
    if not rows:
        return ""
    people = {row.person for row in rows}
    names, have = names_of(people, viewer=giver), "has" if len(people) == 1 else "have"
    days = " and ".join(dict.fromkeys(f"{row.assignment.due_on:%a %-d %b}" for row in rows))
    return f"{names} {have} this drill to do already, by {days}. A run of it counts for one alone."


def _again(sent: QueryDict) -> str:
    """What the button of a second time says: that drill by that day, and no other."""
    return f"{sent.get('recipe', '')} {sent.get('due_on', '')}"


def _give(form: AssignForm, giver: Person, now: datetime) -> Assignment:
    given: dict[str, Any] = form.cleaned_data
    return assign_to(
        given["recipe"],
        to=given["to"],
        due_on=given["due_on"],
        standard=form.standard,
        minutes=given["minutes"] or given["recipe"].minutes,
        attempts=given["attempts"],
        note=given["note"],
        layout=given["layout"],
        by=giver,
        now=now,
    )


def _give_series(form: AssignForm, giver: Person, now: datetime) -> Series:
    given: dict[str, Any] = form.cleaned_data
    return assign_series(
        form.series.recipes if form.series else (),
        to=given["to"],
        first_due=given["first_on"] or given["due_on"],
        every=given["every"] or EVERY_DAY,
        note=given["note"],
        layout=given["layout"],
        by=giver,
        now=now,
    )


def _told(made: Assignment | Series, chosen: list[Person], giver: Person) -> str:
    """What came of it, and who was left out since they have it to do already."""
    days = [made] if isinstance(made, Assignment) else list(made.assignments.order_by("due_on"))
    to = {row.person_id for row in days[0].assigned.all()}
    people = "1 person" if len(to) == 1 else f"{len(to)} people"
    what = made.recipe if isinstance(made, Assignment) else f"{made}, {len(days)} days"
    due = f"due {days[0].due_on:%a %-d %b}"
    if len(days) > 1:
        due += f" to {days[-1].due_on:%a %-d %b}"
    left_out = [each for each in chosen if each.pk not in to]
    said = f"Assigned: {what} to {people}, {due}."
    return f"{said} {_left_out(left_out, giver)}" if left_out else said


def _left_out(people: list[Person], giver: Person) -> str:
    count, names = len(people), names_of(people, viewer=giver)
    return f"{count} left out, who {'has' if count == 1 else 'have'} it to do by then: {names}."


def _have_it(people: Collection[Person], giver: Person, due_on: date) -> str:
    names = names_of(people, viewer=giver)
    return (
        f"To whom: {names} came in, and everybody has this drill to do by {due_on:%a %-d %b} "
        "already. Choose somebody else, another drill or another day."
    )


def _have_days(people: Collection[Person], giver: Person) -> str:
    names = names_of(people, viewer=giver)
    return (
        f"To whom: {names} came in, and everybody has days of it to do already. Choose somebody "
        "else, or change or withdraw those first."
    )


def _show_form(
    request: Request,
    recipients: list[Recipient],
    faults: Sequence[str] = (),
    twice: str = "",
) -> HttpResponse:
    data = request.POST if request.method == "POST" else request.GET
    offered, chosen = recipes_offered(request.user), set(data.getlist("to"))
    context = {
        "kinds": grouped(offered, giver=request.user, chosen=data.get("recipe", "")),
        "recipes": len(offered),
        "series": series_offered(offered),
        "layouts": layouts_in_force(),
        "groups": [each for each in recipients if each.is_group],
        "people": [each for each in recipients if not each.is_group],
        "chosen": chosen,
        "is_single": any(each.key in chosen for each in recipients if not each.is_group),
        "given": data,
        "due_on": data.get("due_on", _next_friday(timezone.localdate()).isoformat()),
        "first_on": data.get("first_on", _tomorrow(timezone.localdate()).isoformat()),
        "today": timezone.localdate().isoformat(),
        "has_own": any(data.get(name) for name in OWN),
        "faults": faults,
        "twice": twice,
        "again": _again(data),
    }
    is_taken = not faults and not twice
    return render(request, "runs/assign.html", context, status=200 if is_taken else 422)


@require_GET
def assignments(request: Request) -> HttpResponse:
    """Every assignment the viewer may read: those that run first, the next due on top."""
    viewer, today = may_assign(request.user), timezone.localdate()
    found = readable_assignments(viewer)
    current = running(found.filter(series=None), today=today)
    past = found.filter(series=None).exclude(pk__in=current.values("pk")).order_by("-due_on")
    past = past[:PAST_SHOWN]
    days = found.exclude(series=None)
    context = {
        "series": series_listed(running_days(days, today=today), viewer=viewer, today=today),
        "running": as_listed(current, viewer=viewer, today=today),
        "past": as_listed(past, viewer=viewer, today=today),
    }
    return render(request, "runs/assignments.html", context)


@require_GET
def assignment(request: Request, assignment_id: UUID) -> HttpResponse:
    """One assignment: each person's state, and every attempt down to its answers."""
    found = readable_assignment(request.user, assignment_id)
    return _show(request, found)


@post_alone
def excuse(request: Request, assignment_id: UUID) -> HttpResponse:
    """Excuse the people chosen, with a reason, or take that back."""
    found, now = readable_assignment(request.user, assignment_id), timezone.now()
    rows = _named_rows(request, found).filter(
        person__employee_number__in=request.POST.getlist("who")
    )
    if not rows:
        return _show(request, found, fault="Nobody was chosen. Tick the people to be excused.")
    try:
        if "back" in request.POST:
            count = take_back_excuse(rows, by=request.user, now=now)
            messages.info(request, f"{count} no longer excused.")
        else:
            because = request.POST.get("because", "")[:200]
            count = excuse_from(rows, because=because, by=request.user, now=now)
            messages.info(request, f"{count} excused.")
    except ValueError as error:
        return _show(request, found, fault=str(error))
    return redirect("runs:assignment", found.pk)


@post_alone
def withdraw(request: Request, assignment_id: UUID) -> HttpResponse:
    """Take an assignment back; one that somebody else gave, as an educator alone."""
    found = readable_assignment(request.user, assignment_id)
    if found.given_by != request.user:
        require_role(request.user, Role.EDUCATOR)
    if take_back(found, by=request.user, now=timezone.now()):
        messages.info(request, "Withdrawn. What was done is kept.")
    return redirect("runs:assignment", found.pk)


def _show(request: Request, found: Assignment, *, fault: str = "") -> HttpResponse:
    today = timezone.localdate()
    named = list(_named_rows(request, found))
    known = {row.pk for row in named}
    rows = rows_of_assignments().filter(assignment=found)
    others = [row for row in rows if row.pk not in known]
    told, rest = standings_of(named, today=today), standings_of(others, today=today)
    context = {
        "counts": counts_of([*told, *rest], named={row.person_id for row in named}),
        "assignment": found,
        "asks": in_words(found.standard),
        "rows": told,
        "others": counts_of(rest, named=()),
        "others_count": len(others),
        "is_overdue": found.due_on < today,
        "fault": fault,
        "given": request.POST,
        "chosen": request.POST.getlist("who"),
    }
    return render(request, "runs/assignment.html", context, status=422 if fault else 200)


def _named_rows(request: Request, found: Assignment) -> Any:
    """The rows of people whose states the viewer sees by name."""
    return rows_of_assignments().filter(assignment=found, person__in=named_people(request.user))


def _tomorrow(today: date) -> date:
    """The day a week begins where nobody says another: whoever has it begins at once."""
    return today + timedelta(days=1)


def _next_friday(today: date) -> date:
    """The coming Friday, a week on when that is today."""
    return today + timedelta(days=(FRIDAY - today.weekday() - 1) % DAYS + 1)
