"""The call types there are, and one of them with a sample of its calls."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from drills.engine.coverage import STATES, missing_most
from drills.engine.points import transports
from drills.people.access import Request
from drills.people.rendering import page_or_part, wants_part
from drills.rigs.access import KEEPERS
from drills.rigs.reading import layout_of
from drills.scenarios.access import EDITORS, SETTERS, call_for_reader, require_reader
from drills.scenarios.ailments import patients_mark
from drills.scenarios.coverage import published, rigged
from drills.scenarios.forms import SampleForm
from drills.scenarios.kept import kept_by
from drills.scenarios.models import CallType
from drills.scenarios.showing import listed, sample, served, shown_call


@require_GET
def calls(request: Request) -> HttpResponse:
    """Every call type: whether it is reviewed, and which layouts cannot serve it."""
    require_reader(request.user)
    found = listed(CallType.objects.filter(retired_on=None).order_by("name"), rigged(published()))
    context = {
        "calls": found,
        "retired": CallType.objects.exclude(retired_on=None).order_by("name"),
        "unreviewed": sum(not each.call.reviewed_by for each in found),
        "is_editor": request.user.holds(*EDITORS),
        "is_setter": request.user.holds(*SETTERS),
    }
    return render(request, "scenarios/calls.html", context)


@require_GET
def on_layout(request: Request, slug: str) -> HttpResponse:
    """How far the revision in force of a layout serves each call type, and what it lacks."""
    require_reader(request.user)
    revision = next((each for each in published() if each.layout.slug == slug), None)
    if revision is None:
        raise Http404("There is no published layout of that name.")
    found = served(revision)
    context = {
        "revision": revision,
        "found": found,
        "counts": [(words, sum(each.state == words for _, each in found)) for words in STATES],
        "missing": missing_most(each for _, each in found),
        "transports": transports(layout_of(revision)),
        "untied": revision.untied.count() if request.user.holds(*KEEPERS) else 0,
    }
    return render(request, "scenarios/on_layout.html", context)


@require_GET
def call(request: Request, slug: str) -> HttpResponse:
    """One call type; with a seed in the address another sample."""
    return page_of(request, call_for_reader(request.user, slug))


def page_of(request: Request, found: CallType, *, fault: str = "") -> HttpResponse:
    """The page of a call type; `fault` is why a review was refused."""
    context: dict[str, Any] = {
        "call": found,
        "sample": sample(found, SampleForm(request.GET).wanted),
    }
    if not wants_part(request) or fault:
        context |= shown_call(found, rigged(published()))
        is_editor = request.user.holds(*EDITORS)
        context |= {"is_editor": is_editor, "fault": fault}
        context |= {"kept_by": kept_by(found), "patients_mark": patients_mark(found)}
    status = 422 if fault else 200
    if fault:
        return render(request, "scenarios/call.html", context, status=status)
    return page_or_part(request, "scenarios/call.html", "sample", context, status=status)
