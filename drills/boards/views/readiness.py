"""The pages of call readiness: of one person, of two together, and of a cohort."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.fleet import FleetForm, fleet_board
from drills.boards.readiness import crew_board, readiness_board
from drills.people.access import (
    Request,
    closed_while_assessed,
    require_role,
    visible_person,
)
from drills.people.models import Role


@require_GET
def readiness(request: Request, employee_number: str) -> HttpResponse:
    """What one person would find of each call type, on the rig they ride."""
    closed_while_assessed(request.user)
    person = visible_person(request.user, employee_number)
    board = readiness_board(person, viewer=request.user, now=timezone.now())
    return render(request, "boards/readiness.html", {"board": board})


@require_GET
def crew(request: Request, employee_number: str, other: str) -> HttpResponse:
    """What two people would find together; for who may see both."""
    closed_while_assessed(request.user)
    two = visible_person(request.user, employee_number), visible_person(request.user, other)
    if two[0] == two[1]:
        raise Http404("A crew of two takes two people.")
    call = request.GET.get("call", "")
    board = crew_board(two, viewer=request.user, call=call, now=timezone.now())
    status = 422 if board.fault else 200
    return render(request, "boards/crew.html", {"board": board}, status=status)


@require_GET
def calls(request: Request) -> HttpResponse:
    """What a cohort, or everybody, would find of each call type; for an educator alone."""
    closed_while_assessed(request.user)
    require_role(request.user, Role.EDUCATOR)
    form = FleetForm(request.GET)
    board = None
    if form.is_valid():
        chosen = form.cleaned_data
        board = fleet_board(chosen["cohort"], chosen["layout"], now=timezone.now())
    status = 422 if form.errors else 200
    return render(request, "boards/calls.html", {"form": form, "board": board}, status=status)
