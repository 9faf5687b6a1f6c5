"""Contesting a mark, and deciding on it."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request, closed_while_assessed
from drills.people.rendering import go_to, page_or_part, post_alone, wants_part
from drills.runs.access import (
    own_closed_sheet,
    own_run,
    readable_contest,
    readable_contests,
    readable_sheet_contest,
    readable_sheet_contests,
)
from drills.runs.actions import (
    ContestError,
    contest_sheet,
    decide_contest,
    decide_sheet_contest,
    parts_of,
)
from drills.runs.actions import contest as contest_answer
from drills.runs.debriefing import debrief_context
from drills.runs.models import Run, Verdict
from drills.runs.sheets import sheet_context
from drills.runs.signed import signed_context
from drills.runs.told import tell
from drills.scenarios.reading import layout_asked

DECIDED_SHOWN = 20
BUTTONS = {"uphold": Verdict.UPHELD, "void": Verdict.VOIDED}
_ACCEPTED = "Press Uphold the mark or Void the answer."
_NOT_ONE = {
    0: f"No verdict came in, so nothing was decided. {_ACCEPTED}",
    2: f"Both uphold and void came in, so nothing was decided. {_ACCEPTED}",
}


@post_alone
def contest(request: Request, run_id: UUID) -> HttpResponse:
    """Say that the mark of one's own answer is wrong."""
    closed_while_assessed(request.user)
    run, token = own_run(request.user, run_id), request.POST.get("token", "")
    if not run.is_over:
        return redirect("runs:take", run.pk)
    try:
        because = request.POST.get("because", "")[:300]
        contest_answer(run, token=token, because=because, now=timezone.now())
    except ContestError as error:
        return _debrief_at(request, run, token, fault=str(error))
    if wants_part(request):
        return _debrief_at(request, run, token)
    messages.info(request, "Contested. Your FTO or an educator decides.")
    return redirect("runs:debrief", run.pk)


def _debrief_at(request: Request, run: Run, token: str, *, fault: str = "") -> HttpResponse:
    """The debrief with what was contested; for htmx that one answer, so that its place is kept."""
    context = debrief_context(run) | {"fault": fault, "faulty": token if fault else ""}
    status = 422 if fault else 200
    miss = next((each for each in context["missed"] if each.presentation.token == token), None)
    if miss is None and wants_part(request):
        return go_to(request, reverse("runs:debrief", args=[run.pk]))
    context["miss"] = miss
    return page_or_part(request, "runs/debrief.html", "miss", context, status=status)


@post_alone
def contest_written(request: Request, sheet_id: UUID) -> HttpResponse:
    """Say that something an officer wrote on one's own sheet is wrong."""
    sheet, because = own_closed_sheet(request.user, sheet_id), request.POST.get("because", "")
    part, now = request.POST.get("part", ""), timezone.now()
    try:
        contest_sheet(sheet, part=part, because=because[:300], by=request.user, now=now)
    except ContestError as error:
        context = sheet_context(sheet, viewer=request.user)
        context |= signed_context(sheet, viewer=request.user, now=now)
        context |= {"contest_fault": str(error), "typed": request.POST}
        return render(request, "runs/sheet.html", context, status=422)
    messages.info(request, "Contested. Another FTO or an educator decides.")
    return redirect("runs:sheet", sheet.pk)


@require_GET
def contests(request: Request) -> HttpResponse:
    """What waits for a decision, the oldest first, and what was decided last."""
    return _show(request)


@post_alone
def decide(request: Request, contest_id: int) -> HttpResponse:
    """Uphold the mark, or void the answer; the button that was pressed says which."""
    return _decide(request, readable_contest(request.user, contest_id), decide_contest)


@post_alone
def decide_sheet(request: Request, contest_id: int) -> HttpResponse:
    """The same of what an officer wrote at the open doors."""
    waiting = readable_sheet_contest(request.user, contest_id)
    return _decide(request, waiting, decide_sheet_contest)


def _decide(request: Request, waiting: Any, decide: Callable[..., None]) -> HttpResponse:
    pressed = [verdict for name, verdict in BUTTONS.items() if name in request.POST]
    if len(pressed) != 1:
        return _show(request, fault=_NOT_ONE[len(pressed)], faulty=waiting)
    (verdict,) = pressed
    try:
        answer = request.POST.get("answer", "")[:300]
        decide(waiting, verdict=verdict, answer=answer, by=request.user, now=timezone.now())
    except ContestError as error:
        return _show(request, fault=str(error), faulty=waiting)
    messages.info(request, f"The mark is {verdict.label}.")
    return redirect("runs:contests")


def _show(request: Request, *, fault: str = "", faulty: Any = None) -> HttpResponse:
    found = readable_contests(request.user).select_related(
        "presentation__prompt",
        "presentation__run__person",
        "presentation__run__drill__recipe",
        "presentation__run__drill__revision__layout",
        "decided_by",
    )
    waiting = [
        (each, tell(each.presentation, layout_asked(each.presentation.run.drill)))
        for each in found.waiting()
    ]
    written = readable_sheet_contests(request.user).select_related(
        "sheet__person", "sheet__officer", "sheet__rig", "sheet__drill__revision__layout"
    )
    context = {
        "waiting": waiting,
        "written": [(each, parts_of(each.sheet)[each.part]) for each in written.waiting()],
        "written_decided": written.exclude(decided_at=None)
        .select_related("decided_by")
        .order_by("-decided_at")[:DECIDED_SHOWN],
        "decided": found.exclude(decided_at=None).order_by("-decided_at")[:DECIDED_SHOWN],
        "fault": fault,
        "faulty": faulty,
        "given": request.POST,
    }
    return render(request, "runs/contests.html", context, status=422 if fault else 200)
