"""The motion table of the service: what runs at the rig make of it, and taking that over."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.people.access import Request
from drills.rigs.actions import motions_as_ours, take_over_motions
from drills.runs.access import may_set_motions
from drills.runs.calibrating import calibration_context

_CHANGED = (
    "Other figures came in than these runs give by now: a run was closed or contested meanwhile. "
    "Nothing is taken over; look at the figures again."
)
_NO_BUTTON = "No button came in. Take it over, or Back to our own table, is accepted."


@require_http_methods(["GET", "POST"])
def motions(request: Request) -> HttpResponse:
    """Show the fit; take over what was shown, or go back to our own table."""
    keeper, context = may_set_motions(request.user), calibration_context()
    if request.method == "GET":
        return render(request, "runs/motions.html", context)
    found, now = context["fit"], timezone.now()
    if "ours" in request.POST:
        motions_as_ours(by=keeper, now=now)
        messages.success(request, "Our own table is in force. Drills made from now on go by it.")
        return redirect("runs:motions")
    if "take" in request.POST and found and request.POST["take"] == found.mark:
        take_over_motions(
            found.multipliers, runs=found.runs, people=found.people, by=keeper, now=now
        )
        messages.success(request, "Taken over. Drills made from now on go by it.")
        return redirect("runs:motions")
    context["fault"] = _CHANGED if "take" in request.POST else _NO_BUTTON
    return render(request, "runs/motions.html", context, status=422)
