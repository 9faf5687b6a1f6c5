"""What lapses soon, by the days that the workbooks name."""

from datetime import timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request
from drills.rigs.access import require_keeper
from drills.rigs.forms import USUAL_LOOK_AHEAD, LapseForm
from drills.rigs.models import RevisionState, StockLine
from drills.rigs.reading import layout_of


@require_GET
def lapses(request: Request) -> HttpResponse:
    """Stock lines of the revisions in force that lapse within so many days, the next one first."""
    require_keeper(request.user)
    form, today = LapseForm(request.GET), timezone.localdate()
    is_valid = form.is_valid()
    days = form.cleaned_data["within"] if is_valid else USUAL_LOOK_AHEAD
    lines = StockLine.objects.filter(
        compartment__revision__state=RevisionState.PUBLISHED,
        expires__lte=today + timedelta(days=days),
    ).select_related("terms", "compartment__revision__layout")
    rows = [
        (line, line.compartment.revision, layout_of(line.compartment.revision))
        for line in lines.order_by("expires", "pk")
    ]
    context = {
        "form": form,
        "days": days,
        "today": today,
        "found": [
            (line, of, layout.path(code), layout.is_locked(code))
            for line, of, layout in rows
            for code in (line.compartment.code,)
        ],
        "dated": StockLine.objects.filter(
            compartment__revision__state=RevisionState.PUBLISHED, expires__isnull=False
        ).count(),
    }
    return render(request, "rigs/lapses.html", context, status=200 if is_valid else 422)
