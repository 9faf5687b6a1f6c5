"""Giving drills to people, and how far they are."""

from datetime import date, timedelta
from itertools import chain
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.recipes import CannotApplyError, refuse_unbuilt
from drills.engine.standards import in_words
from drills.people.access import Request, require_role
from drills.people.models import Role
from drills.people.rendering import post_alone
from drills.runs.access import may_assign, readable_assignment, readable_assignments, seen_people
from drills.runs.actions import assign as assign_to
from drills.runs.actions import excuse as excuse_from
from drills.runs.actions import take_back_excuse
from drills.runs.actions import withdraw as take_back
from drills.runs.assigned import (
    rows_of_assignments,
    running,
    standings_of,
    states_of,
    with_states,
)
from drills.runs.forms import AssignForm
from drills.runs.models import Assignment
from drills.runs.recipients import chosen_people, recipients_of
from drills.scenarios.models import Recipe

FRIDAY, DAYS = 4, 7
PAST_SHOWN = 20


@require_http_methods(["GET", "POST"])
def assign(request: Request) -> HttpResponse:
    """Give a recipe to people, pairings or cohorts."""
    giver, now = may_assign(request.user), timezone.now()
    recipients = recipients_of(giver, now=now)
    if request.method == "GET":
        return _show_form(request, recipients, AssignForm(), status=200)
    form, keys = AssignForm(request.POST), request.POST.getlist("to")
    if not form.is_valid():
        faults = [str(each) for each in chain.from_iterable(form.errors.values())]
        return _show_form(request, recipients, form, faults)
    given: dict[str, Any] = form.cleaned_data
    try:
        made = assign_to(
            given["recipe"],
            to=chosen_people(recipients, keys),
            due_on=given["due_on"],
            standard=form.standard,
            minutes=given["minutes"] or given["recipe"].minutes,
            note=given["note"],
            by=giver,
            now=now,
        )
    except ValueError as error:
        return _show_form(request, recipients, form, [str(error)])
    count = made.assigned.count()
    people = "1 person" if count == 1 else f"{count} people"
    messages.success(request, f"Assigned: {made.recipe} to {people}, due {made.due_on:%a %-d %b}.")
    return redirect("runs:assignment", made.pk)


def _show_form(
    request: Request,
    recipients: list[Any],
    form: AssignForm,
    faults: list[str] | None = None,
    *,
    status: int = 422,
) -> HttpResponse:
    data = request.POST if request.method == "POST" else request.GET
    context = {
        "recipes": [(each, in_words(each.standard)) for each in _built()],
        "groups": [each for each in recipients if each.is_group],
        "people": [each for each in recipients if not each.is_group],
        "chosen": set(data.getlist("to")),
        "given": data,
        "due_on": data.get("due_on") or _next_friday(timezone.localdate()).isoformat(),
        "today": timezone.localdate().isoformat(),
        "faults": faults or [],
    }
    return render(request, "runs/assign.html", context, status=status)


@require_GET
def assignments(request: Request) -> HttpResponse:
    """Every assignment the viewer may read: those that run first, the next due on top."""
    viewer, today = may_assign(request.user), timezone.localdate()
    found = readable_assignments(viewer)
    current = running(found, today=today)
    past = found.exclude(pk__in=current.values("pk")).order_by("-due_on")[:PAST_SHOWN]
    context = {
        "running": with_states(current, today=today),
        "past": with_states(list(past), today=today),
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
    if "back" in request.POST:
        count = take_back_excuse(rows, by=request.user, now=now)
        messages.info(request, f"{count} no longer excused.")
        return redirect("runs:assignment", found.pk)
    try:
        count = excuse_from(
            rows, because=request.POST.get("because", "")[:200], by=request.user, now=now
        )
    except ValueError as error:
        return _show(request, found, fault=str(error))
    messages.info(request, f"{count} excused.")
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
    context = {
        "assignment": found,
        "asks": in_words(found.standard),
        "rows": standings_of(named, today=today),
        "others": states_of(standings_of(others, today=today)),
        "others_count": len(others),
        "is_overdue": found.due_on < today,
        "fault": fault,
        "given": request.POST,
    }
    return render(request, "runs/assignment.html", context, status=422 if fault else 200)


def _named_rows(request: Request, found: Assignment) -> Any:
    """The rows of people whose records the viewer sees."""
    return rows_of_assignments().filter(assignment=found, person__in=seen_people(request.user))


def _built() -> list[Recipe]:
    """The recipes that can be drilled."""
    found = []
    for recipe in Recipe.objects.all():
        try:
            refuse_unbuilt(recipe.spec)
        except CannotApplyError:
            continue
        found.append(recipe)
    return found


def _next_friday(today: date) -> date:
    """The coming Friday, a week on when that is today."""
    return today + timedelta(days=(FRIDAY - today.weekday() - 1) % DAYS + 1)
