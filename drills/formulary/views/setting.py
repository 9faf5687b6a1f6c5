"""How the service works doses out: what is set, and setting it."""

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.medicines import SAFETY_WORDS
from drills.formulary import actions
from drills.formulary.access import require_setter
from drills.formulary.models import MOST_OFF, POUNDS, ROUNDING, TEXT_LENGTH
from drills.formulary.reports import dosing_settings
from drills.formulary.waiting import set_by
from drills.people.access import Request, closed_while_assessed
from drills.people.rendering import go_to, page_or_part, post_alone

_SET = ("pounds", "rounding", "refused_from")
_FIELDS = (*_SET, "decided")


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: Request) -> HttpResponse:
    """The settings, for who may set them."""
    require_setter(request.user)
    if request.method != "POST":
        return _page(request)
    given = {name: request.POST.get(name, "").strip() for name in _FIELDS}
    try:
        kept = actions.set_dosing(**given, by=request.user, now=timezone.now())
    except actions.SettingRefusedError as error:
        return _page(request, fault=str(error), typed=given)
    messages.success(request, f"{kept} It holds for what is made from now on.")
    return go_to(request, reverse("formulary:settings"))


@post_alone
def settings_seen(request: Request) -> HttpResponse:
    """A director has seen what was set, and is told of it no more."""
    closed_while_assessed(request.user)
    actions.see_dosing(by=request.user, now=timezone.now())
    return go_to(request, reverse("boards:home"))


def _page(
    request: Request, *, fault: str = "", typed: dict[str, str] | None = None
) -> HttpResponse:
    kept = dosing_settings()
    context = {
        "kept": kept,
        "set_by": set_by(),
        "fault": fault,
        "typed": typed or {name: getattr(kept, name) for name in _SET},
        "most_off": MOST_OFF,
        "pounds": POUNDS,
        "roundings": ROUNDING,
        "longest": TEXT_LENGTH,
        "safety_words": SAFETY_WORDS,
    }
    status = 422 if fault else 200
    return page_or_part(request, "formulary/settings.html", "settings", context, status=status)
