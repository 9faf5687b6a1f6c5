"""The drill of what moved, given with one press to the people whom a revision touches."""

from datetime import date

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET

from drills.boards.offers import Offer, accept, dismiss, offer_of
from drills.engine.recipes import CannotApplyError
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs.access import readable_revision
from drills.runs.access import may_assign

DAY = forms.DateField(
    input_formats=["%Y-%m-%d"],
    error_messages={
        "required": "Choose the day it is due.",
        "invalid": "That is no day. Write it as 2026-12-03.",
    },
)


@require_GET
def what_moved(request: Request, slug: str, number: int) -> HttpResponse:
    """Who is offered the drill of what a revision moved, and who is left out."""
    return _page(request, _offer(request, slug, number))


@post_alone
def assign_moved(request: Request, slug: str, number: int) -> HttpResponse:
    """Give the drill to all of them."""
    offer = _offer(request, slug, number)
    if not offer.people:
        messages.info(request, f"Everybody has {offer.recipe} already, or rides the old revision.")
        return go_to(request, reverse("boards:home"))
    try:
        due_on: date = DAY.clean(request.POST.get("due_on", ""))
        assignment = accept(offer, due_on=due_on, by=request.user, now=timezone.now())
    except forms.ValidationError as refused:
        return _page(request, offer, fault=refused.messages[0])
    except (CannotApplyError, ValueError) as refused:
        return _page(request, offer, fault=str(refused))
    count = len(offer.people)
    who = "1 person" if count == 1 else f"{count} people"
    day = date_format(due_on, "j M Y")
    messages.success(request, f"{offer.recipe} is assigned to {who}, due {day}.")
    return go_to(request, reverse("runs:assignment", args=[assignment.pk]))


@post_alone
def dismiss_moved(request: Request, slug: str, number: int) -> HttpResponse:
    """Offer it no more."""
    offer = _offer(request, slug, number)
    dismiss(offer.revision, by=request.user, now=timezone.now())
    messages.success(request, f"{offer.recipe} on {offer.revision} is not offered any more.")
    return go_to(request, reverse("boards:home"))


def _offer(request: Request, slug: str, number: int) -> Offer:
    revision = readable_revision(may_assign(request.user), slug, number)
    offer = offer_of(request.user, revision, now=timezone.now())
    if offer is None:
        raise Http404("Nothing is offered of that revision.")
    return offer


def _page(request: Request, offer: Offer, *, fault: str = "") -> HttpResponse:
    context = {
        "offer": offer,
        "fault": fault,
        "today": timezone.localdate(),
        "due_on": request.POST.get("due_on", ""),
    }
    return render(request, "boards/what_moved.html", context, status=422 if fault else 200)
