"""How the service sorts patients: what is set, and setting it."""

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.incidents.findings import LEAST_THRESHOLD, MOST_THRESHOLD
from drills.people.access import Request
from drills.people.rendering import go_to, page_or_part
from drills.scenarios import actions
from drills.scenarios.access import require_setter
from drills.scenarios.models.sorting import DECIDED_LENGTH, PERFUSION, SCHEMES
from drills.scenarios.reading import sorting_set_by, sorting_settings

FIELDS = ("scheme", "perfusion", "threshold", "decided")


@require_http_methods(["GET", "HEAD", "POST"])
def sorting(request: Request) -> HttpResponse:
    """The three settings, for who may set them."""
    require_setter(request.user)
    if request.method != "POST":
        return _page(request)
    given = {name: request.POST.get(name, "") for name in FIELDS}
    try:
        kept = actions.set_sorting(**given, by=request.user, now=timezone.now())
    except actions.SortingRefusedError as error:
        return _page(request, fault=str(error), typed=given)
    messages.success(request, f"{kept} It holds for what is made from now on.")
    return go_to(request, reverse("scenarios:sorting"))


def _page(
    request: Request, *, fault: str = "", typed: dict[str, str] | None = None
) -> HttpResponse:
    kept = sorting_settings()
    context = {
        "kept": kept,
        "set_by": sorting_set_by(),
        "fault": fault,
        "typed": typed or {name: getattr(kept, name) for name in FIELDS[:3]},
        "schemes": SCHEMES,
        "perfusions": PERFUSION,
        "least": LEAST_THRESHOLD,
        "most": MOST_THRESHOLD,
        "longest": DECIDED_LENGTH,
    }
    status = 422 if fault else 200
    return page_or_part(request, "scenarios/sorting.html", "settings", context, status=status)
