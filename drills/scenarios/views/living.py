"""A new call type, and one that goes."""

from collections.abc import Callable, Mapping

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.people.access import Request
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.scenarios import actions
from drills.scenarios.access import call_for_editor, require_editor
from drills.scenarios.fields import LISTS_LENGTH, filled, new_fields
from drills.scenarios.forms import StateForm
from drills.scenarios.models import CallType
from drills.scenarios.views.looking import page_of

MOST_TYPED = 4 * LISTS_LENGTH


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: Request) -> HttpResponse:
    """A call type that starts as another; nothing that was typed is lost."""
    require_editor(request.user)
    given = request.POST if request.method == "POST" else request.GET
    typed = {each.name: given.get(each.name, "")[:MOST_TYPED] for each in new_fields()}
    like = CallType.objects.filter(slug=typed.pop("like")).first()
    if request.method != "POST":
        return _page(request, typed, like)
    if like is None:
        return _page(request, typed, like, fault="Choose the call type that it starts as.")
    try:
        call = actions.add_call(typed, like=like, by=request.user, now=timezone.now())
    except actions.CallRefusedError as refused:
        faults = getattr(refused, "faults", {})
        return _page(request, typed, like, fault=str(refused), faults=faults)
    messages.success(request, f"{call.name} is there. It says what {like.name} says: change that.")
    return go_to(request, reverse("scenarios:call", args=[call.slug]))


def _page(
    request: Request,
    typed: dict[str, str],
    like: CallType | None,
    *,
    fault: str = "",
    faults: Mapping[str, str] | None = None,
) -> HttpResponse:
    cells = typed | {"like": like.slug if like else ""}
    context = {"fields": filled(new_fields(), cells, faults or {}), "fault": fault}
    status = 422 if fault else 200
    return page_or_part(request, "scenarios/add.html", "row", context, status=status)


@post_alone
def state(request: Request, slug: str) -> HttpResponse:
    """Retire a call type, bring it back, or delete one that nothing speaks of."""
    call = call_for_editor(request.user, slug)
    form = StateForm(request.POST)
    if not form.is_valid():
        return page_of(request, call, fault="Say whether to retire it, bring it back or delete it.")
    becomes, by, now = form.cleaned_data["becomes"], request.user, timezone.now()
    try:
        if becomes == StateForm.DELETED:
            actions.delete_call(call, by=by, now=now)
            messages.success(request, f"{call.name} is deleted.")
            return go_to(request, reverse("scenarios:calls"))
        _DEEDS[becomes](call, by=by, now=now)
    except actions.CallRefusedError as refused:
        return page_of(request, call, fault=str(refused))
    messages.success(request, f"{call.name} is {becomes}.")
    return go_to(request, reverse("scenarios:call", args=[slug]))


_DEEDS: Mapping[str, Callable[..., CallType]] = {
    StateForm.RETIRED: actions.retire_call,
    StateForm.BACK: actions.restore_call,
}
