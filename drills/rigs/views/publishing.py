"""Revisions published for a day or called off, and layouts that are given up."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_layout, kept_revision
from drills.rigs.models import RevisionState
from drills.rigs.views.units import index_context


@post_alone
def call_off(request: Request, slug: str, number: int) -> HttpResponse:
    """Make a revision that is to come a draft again."""
    revision = kept_revision(request.user, slug, number)
    if revision.state != RevisionState.COMING:
        messages.info(request, f"{revision} is {revision.get_state_display()}, so it stays.")
        return go_to(request, reverse("rigs:import"))
    try:
        actions.call_off_revision(revision, by=request.user, now=timezone.now())
    except ValueError as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, f"{revision} is called off, and a draft again.")
    return go_to(request, reverse("rigs:import"))


@post_alone
def retire(request: Request, slug: str) -> HttpResponse:
    """Retire a layout that no rig rides any more."""
    layout = kept_layout(request.user, slug)
    try:
        actions.retire_layout(layout, by=request.user, now=timezone.now())
    except ValueError as refused:
        context = index_context(request) | {"not_retired": slug, "because": str(refused)}
        return render(request, "rigs/index.html", context, status=422)
    messages.success(request, f"{layout.name} is retired. It can be brought back below.")
    return go_to(request, reverse("rigs:index"))


@post_alone
def bring_back(request: Request, slug: str) -> HttpResponse:
    """Put in force again what was last in force of a retired layout."""
    layout = kept_layout(request.user, slug)
    try:
        revision = actions.bring_back_layout(layout, by=request.user, now=timezone.now())
    except ValueError as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, f"{revision} is in force again.")
    return go_to(request, reverse("rigs:index"))
