"""The phases of a new hire: what the agency writes of them, and the phase page of a person."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.layout import CATEGORIES
from drills.people.access import Request, closed_while_assessed, require_role, visible_person
from drills.people.models import Person
from drills.people.rendering import post_alone
from drills.rigs.models import Layout
from drills.runs.access import may_set_phases
from drills.runs.actions import phases as actions
from drills.runs.models import Phase, PhaseItem
from drills.runs.models.phases import NAME_LENGTH, NOTE_LENGTH, WORDS_LENGTH
from drills.runs.phase_forms import BLANK_ROWS, read_items, typed_rows
from drills.runs.phases import training_context

NOTED = ("went_well", "work_on", "next_step")


@require_http_methods(["GET", "POST"])
def phases(request: Request) -> HttpResponse:
    """The phases in their order; adding one behind the last."""
    writer = may_set_phases(request.user)
    fault, name = "", request.POST.get("name", "")
    if request.method == "POST":
        try:
            added = actions.add_phase(name, by=writer, now=timezone.now())
        except actions.PhaseError as error:
            fault = str(error)
        else:
            return redirect("runs:phase", added.number)
    context = {
        "phases": Phase.objects.prefetch_related("items"),
        "fault": fault,
        "name": name,
        "longest": NAME_LENGTH,
    }
    return render(request, "runs/phases.html", context, status=422 if fault else 200)


@require_http_methods(["GET", "POST"])
def phase(request: Request, number: int) -> HttpResponse:
    """One phase: its name, what it is about, and what it must show, row by row."""
    writer = may_set_phases(request.user)
    found = get_object_or_404(Phase, number=number)
    if request.method == "POST":
        try:
            actions.change_phase(
                found,
                name=request.POST.get("name", ""),
                about=request.POST.get("about", ""),
                items=read_items(request.POST),
                by=writer,
                now=timezone.now(),
            )
        except actions.PhaseError as error:
            return _show_phase(request, found, fault=str(error))
        messages.success(request, "Kept.")
        return redirect("runs:phase", found.number)
    return _show_phase(request, found)


@post_alone
def drop_phase(request: Request, number: int) -> HttpResponse:
    """Take the last phase away."""
    writer = may_set_phases(request.user)
    found = get_object_or_404(Phase, number=number)
    try:
        actions.drop_phase(found, by=writer, now=timezone.now())
    except actions.PhaseError as error:
        return _show_phase(request, found, fault=str(error))
    messages.info(request, "Taken away.")
    return redirect("runs:phases")


def _show_phase(request: Request, found: Phase, *, fault: str = "") -> HttpResponse:
    is_typed = bool(fault) and "name" in request.POST
    context: dict[str, Any] = {
        "phase": found,
        "typed": request.POST if is_typed else {"name": found.name, "about": found.about},
        "rows": typed_rows(found, request.POST if is_typed else None),
        "blank": BLANK_ROWS,
        "categories": CATEGORIES,
        "layouts": Layout.objects.order_by("slug"),
        "fault": fault,
        "longest": {"name": NAME_LENGTH, "about": NOTE_LENGTH, "words": WORDS_LENGTH},
    }
    return render(request, "runs/phase.html", context, status=422 if fault else 200)


@require_GET
def training(request: Request, employee_number: str) -> HttpResponse:
    """The phase page of a person: for them, their officers and the educator."""
    return _show(request, _person(request, employee_number))


@post_alone
def note(request: Request, employee_number: str) -> HttpResponse:
    """Keep a note on somebody's day."""
    person, now = _trainee(request, employee_number), timezone.now()
    given = {name: request.POST.get(name, "") for name in NOTED}
    try:
        day = _day(request.POST.get("day", ""))
        actions.write_note(
            person, day=day, **given, by=request.user, today=timezone.localdate(now), now=now
        )
    except actions.PhaseError as error:
        return _show(request, person, fault=str(error))
    messages.success(request, "Noted. They read it.")
    return redirect("runs:training", person.employee_number)


@post_alone
def place(request: Request, employee_number: str) -> HttpResponse:
    """Say in which phase somebody is from today on; none where their phases are over."""
    person, now = _trainee(request, employee_number), timezone.now()
    said = request.POST.get("phase", "")
    chosen = Phase.objects.filter(number=int(said)).first() if _is_number(said) else None
    try:
        if chosen is None and said != "none":
            raise actions.PhaseError(f"{said[:20]!r} came in; choose a phase of the list.")
        actions.place_in_phase(
            person, chosen, by=request.user, today=timezone.localdate(now), now=now
        )
    except actions.PhaseError as error:
        return _show(request, person, fault=str(error))
    messages.info(request, f"{chosen}, from today on." if chosen else "No phase from today on.")
    return redirect("runs:training", person.employee_number)


@post_alone
def show_item(request: Request, employee_number: str) -> HttpResponse:
    """Say that somebody showed a thing of a phase, or take that back."""
    person, now = _trainee(request, employee_number), timezone.now()
    said = request.POST.get("item", "")
    item = PhaseItem.objects.filter(pk=int(said)).first() if _is_number(said) else None
    try:
        if item is None:
            raise actions.PhaseError("What was shown is no row of a phase any more.")
        actions.say_shown(
            item,
            person,
            is_shown="back" not in request.POST,
            by=request.user,
            today=timezone.localdate(now),
            now=now,
        )
    except actions.PhaseError as error:
        return _show(request, person, fault=str(error))
    return redirect("runs:training", person.employee_number)


def _person(request: Request, employee_number: str) -> Person:
    closed_while_assessed(request.user)
    return visible_person(request.user, employee_number)


def _trainee(request: Request, employee_number: str) -> Person:
    """Somebody whose officer the viewer is."""
    person = _person(request, employee_number)
    require_role(request.user, *actions.OFFICERS)
    return person


def _show(request: Request, person: Person, *, fault: str = "") -> HttpResponse:
    context = training_context(person, viewer=request.user, now=timezone.now())
    context |= {"fault": fault, "given": request.POST}
    return render(request, "runs/training.html", context, status=422 if fault else 200)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise actions.PhaseError(
            f"Day: {text[:20]!r} came in; a day such as 2026-11-27 is accepted."
        ) from None


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10
