"""What one person knows, thing by thing."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.exactly import gives_to, last_done
from drills.boards.hire import misses_wait, runs_that_wait
from drills.boards.known import known_board
from drills.boards.model import model_board
from drills.boards.worked import worked_board
from drills.people.access import Request, closed_while_assessed, require_role, visible_person
from drills.people.models import Role
from drills.rigs.reports import todays_rig
from drills.runs.foretold import past_calls


@require_GET
def known(request: Request, employee_number: str) -> HttpResponse:
    """The chance that the person finds each thing of today's rig, and works out what they were
    asked; to themselves neither is told while an assessed run of that layout, or any, is open."""
    closed_while_assessed(request.user)
    seen = visible_person(request.user, employee_number)
    rig = todays_rig(seen)
    waits = rig is not None and seen == request.user and misses_wait(seen, rig.layout)
    board = known_board(seen, rig, now=timezone.now()) if rig and not waits else None
    held = seen == request.user and runs_that_wait(seen).exists()
    worked = None if held else worked_board(seen, now=timezone.now())
    context = {
        "seen": seen,
        "rig": rig,
        "board": board,
        "waits": waits,
        "worked": worked,
        "gives": gives_to(request.user, [seen], now=timezone.now()),
        "done": last_done(seen, now=timezone.now()),
    }
    return render(request, "boards/known.html", context)


@require_GET
def model(request: Request) -> HttpResponse:
    """What the newest fit of the model rests on, what it holds, and how good its chances were."""
    require_role(request.user, Role.EDUCATOR, Role.FTO, Role.DIRECTOR)
    closed_while_assessed(request.user)
    return render(request, "boards/model.html", {"board": model_board(), "past": past_calls()})
