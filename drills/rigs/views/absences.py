"""What crews reported as not where the layout says."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import require_keeper
from drills.rigs.models import Absence
from drills.rigs.reports import reported_path

ANSWERED_SHOWN = 20


@require_GET
def absences(request: Request) -> HttpResponse:
    """Open reports, newest first, and the last ones that were answered."""
    require_keeper(request.user)
    rows = Absence.objects.select_related(
        "rig", "revision__layout", "item", "place", "reported_by", "answered_by"
    )
    answered = rows.exclude(answered_at=None).order_by("-answered_at")[:ANSWERED_SHOWN]
    context = {
        "waiting": [(row, reported_path(row)) for row in rows.open()],
        "answered": [(row, reported_path(row)) for row in answered],
    }
    return render(request, "rigs/absences.html", context)


@post_alone
def answer_absence(request: Request, number: int) -> HttpResponse:
    """Mark a report as dealt with; one that is answered stays as it was answered first."""
    require_keeper(request.user)
    report = Absence.objects.select_related("rig", "item", "place").filter(pk=number).first()
    if report is None:
        raise Http404("There is no such report.")
    if actions.answer_absence(report, by=request.user, now=timezone.now()):
        messages.success(request, f"Answered. It is drilled on {report.rig.unit} again.")
    return go_to(request, reverse("rigs:absences"))
