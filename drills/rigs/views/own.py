"""What one rig carries elsewhere than its layout says, for its keeper."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.asking import is_held
from drills.engine.elsewhere import MOST_OF_A_RIG
from drills.engine.recipes import LOCATE
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_rig
from drills.rigs.forms import NOT_ABOARD, DifferenceForm, MoveForm, layouts_in_force
from drills.rigs.models import Rig
from drills.rigs.own import layout_on, own_lines
from drills.rigs.reading import layout_of
from drills.rigs.showing import doors_with_places

ENDED_SHOWN = 10


@require_http_methods(["GET", "HEAD", "POST"])
def own(request: Request, unit: str) -> HttpResponse:
    """The differences of a rig, and one more told by hand."""
    rig = kept_rig(request.user, unit)
    if request.method != "POST":
        return _show(request, rig)
    form = DifferenceForm(request.POST)
    if not form.is_valid():
        faults = [str(fault) for found in form.errors.values() for fault in found]
        return _show(request, rig, fault=" ".join(faults))
    try:
        told = actions.tell_difference(
            rig,
            **form.where(),
            note=form.cleaned_data["word"],
            report=None,
            by=request.user,
            now=timezone.now(),
        )
    except actions.DifferenceError as refused:
        return _show(request, rig, fault=str(refused))
    asked = f"Drills on {rig.unit} ask {told.item.name} as it is there."
    messages.success(request, f"Told. {why_not_asked(rig, told.item.key) or asked}")
    return go_to(request, reverse("rigs:own", args=[rig.unit]))


@post_alone
def end_difference(request: Request, unit: str, number: int) -> HttpResponse:
    """As the layout says again; what ended already stays as it ended first."""
    rig = kept_rig(request.user, unit)
    difference = rig.differences.select_related("item", "place", "here").filter(pk=number).first()
    if difference is None:
        raise Http404("There is no such difference of this rig.")
    if actions.end_difference(difference, by=request.user, now=timezone.now()):
        messages.success(request, f"{difference.item.name} is as the layout says again.")
    return go_to(request, reverse("rigs:own", args=[rig.unit]))


def chosen_on(rig: Rig, given: QueryDict) -> dict[str, Any]:
    """What was written, without the places where they were chosen on another revision."""
    places = {"place", "here"} if given.get("revision") != rig.revision.slug_and_number else set()
    return {name: word for name, word in given.items() if name not in places}


def why_not_asked(rig: Rig, thing: str) -> str:
    """Why a thing, by its key, is in no drill on a rig as things stand; empty when it may be."""
    layout = layout_on(rig)
    if thing and thing not in layout.things:
        return f"It is not aboard {rig.unit}, and not drilled there."
    if thing and is_held(layout, LOCATE, thing, actions.held_pairs(rig)):
        return f"It stays out of drills on {rig.unit}: something else about it waits for you."
    return ""


@post_alone
def move_rig(request: Request, unit: str) -> HttpResponse:
    """Let a rig ride another layout."""
    rig = kept_rig(request.user, unit)
    form = MoveForm(request.POST)
    if not form.is_valid():
        return _show(request, rig, not_moved=str(form.errors["layout"][0]))
    layout = form.cleaned_data["layout"]
    try:
        rig = actions.move_rig(rig, layout=layout, by=request.user, now=timezone.now())
    except ValueError as refused:
        return _show(request, rig, not_moved=str(refused))
    messages.success(request, f"{rig} rides {rig.revision} from now on.")
    return go_to(request, reverse("rigs:own", args=[rig.unit]))


def _show(request: Request, rig: Rig, *, fault: str = "", not_moved: str = "") -> HttpResponse:
    layout = layout_of(rig.revision)
    ended = rig.differences.exclude(ended_at=None).select_related("item", "ended_by")
    context = {
        "rig": rig,
        "lines": own_lines(rig),
        "most": MOST_OF_A_RIG,
        "ended": ended.order_by("-ended_at")[:ENDED_SHOWN],
        "names": sorted({thing.name for thing in layout.things.values()}),
        "doors": doors_with_places(layout),
        "not_aboard": NOT_ABOARD,
        "given": chosen_on(rig, request.POST),
        "fault": fault,
        "others": layouts_in_force().exclude(pk=rig.layout_id),
        "not_moved": not_moved,
    }
    status = 422 if fault or not_moved else 200
    return render(request, "rigs/own.html", context, status=status)
