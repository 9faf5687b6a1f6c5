"""A new problem, and one that goes."""

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.people.access import Request
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.scenarios import actions
from drills.scenarios.access import problem_for_editor, require_editor
from drills.scenarios.ailments import sample_of
from drills.scenarios.fields import LISTS_LENGTH, filled, new_problem_fields
from drills.scenarios.models import Problem
from drills.scenarios.reading import call_world, problem_of

MOST_TYPED = 4 * LISTS_LENGTH


@require_http_methods(["GET", "HEAD", "POST"])
def add_problem(request: Request) -> HttpResponse:
    """A problem that starts as another, with a sample of that; nothing that was typed is lost."""
    require_editor(request.user)
    given = request.POST if request.method == "POST" else request.GET
    typed = {each.name: given.get(each.name, "")[:MOST_TYPED] for each in new_problem_fields()}
    like = Problem.objects.filter(slug=typed.pop("like")).first()
    if request.method != "POST" or "tries" in request.POST:
        return _page(request, typed, like or Problem.objects.order_by("name").first())
    if like is None:
        return _page(request, typed, like, fault="Choose the problem that it starts as.")
    try:
        problem = actions.add_problem(typed, like=like, by=request.user, now=timezone.now())
    except actions.CallRefusedError as refused:
        faults = getattr(refused, "faults", {})
        return _page(request, typed, like, fault=str(refused), faults=faults)
    messages.success(
        request, f"{problem.name} is there. It looks as {like.name} does: change that."
    )
    return go_to(request, reverse("scenarios:problem", args=[problem.slug]))


def _page(
    request: Request,
    typed: dict[str, str],
    like: Problem | None,
    *,
    fault: str = "",
    faults: Mapping[str, str] | None = None,
) -> HttpResponse:
    cells = typed | {"like": like.slug if like else ""}
    context = {
        "fields": filled(new_problem_fields(), cells, faults or {}),
        "fault": fault,
        "like": like,
        "patients": sample_of(problem_of(like), call_world(), 1) if like else [],
    }
    status = 422 if fault else 200
    return page_or_part(request, "scenarios/add_problem.html", "row", context, status=status)


@post_alone
def delete_problem(request: Request, slug: str) -> HttpResponse:
    """Take a problem out for good, where no call type speaks of it."""
    problem = problem_for_editor(request.user, slug)
    try:
        actions.delete_problem(problem, by=request.user, now=timezone.now())
    except actions.CallRefusedError as refused:
        messages.error(request, f"{refused} It stays.")
        return go_to(request, reverse("scenarios:problem", args=[slug]))
    messages.success(request, f"{problem.name} is deleted.")
    return go_to(request, reverse("scenarios:problems"))
