"""Kits at the open doors: opening a sheet, and what its officer does with it."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.observing import SEEN_ALONE, SheetError
from drills.engine.recipes import LOCATE
from drills.people.access import Request, paired_with
from drills.people.models import Person
from drills.people.rendering import post_alone
from drills.rigs.models import Rig
from drills.rigs.reports import todays_rig, todays_rigs
from drills.runs.access import kept_sheet, may_assign, readable_sheet
from drills.runs.actions import (
    answer_thing,
    close_sheet,
    leave_sheet,
    open_sheet,
    start_thing,
    start_watch,
    stop_watch,
)
from drills.runs.models import Sheet, SheetState
from drills.runs.sheet_forms import OpenSheetForm, read_ago, read_back, read_thing, read_watched
from drills.runs.sheets import sheet_context
from drills.runs.signed import signed_context
from drills.scenarios.models import CallType, Recipe

CLOSED_SHOWN = 12
# Who is mostly told, of a rig in service and of one that is not; and how many of one's own last.
TOLD, TOLD_SHOWN = ("Dispatch", "Shift lead"), 4


@require_http_methods(["GET", "POST"])
def hands_on(request: Request) -> HttpResponse:
    """Open a sheet for somebody at a rig; the officer's own that are open, and were closed."""
    officer, now = may_assign(request.user), timezone.now()
    if request.method == "GET":
        return _show_form(request, now)
    people = _people(officer)
    form = OpenSheetForm(request.POST, people=people, rigs=_rigs(), things=_recipes_of_things())
    if not form.is_valid():
        return _show_form(request, now, form.faults)
    given: dict[str, Any] = form.cleaned_data
    try:
        sheet = open_sheet(
            given["person"],
            officer=officer,
            rig=given["rig"],
            call_type=given["call_type"],
            things=given["things"],
            in_service=form.is_in_service,
            told=given["told"],
            now=now,
        )
    except SheetError as error:
        return _show_form(request, now, [str(error)])
    return redirect("runs:sheet", sheet.pk)


def _people(officer: Person) -> Any:
    """Whoever is in the service but the officer: who is on a shift is nowhere else to be read."""
    return Person.objects.filter(is_active=True).exclude(pk=officer.pk).order_by("name")


def _rigs() -> Any:
    return Rig.objects.filter(revision__isnull=False).select_related("revision__layout")


def _recipes_of_things() -> Any:
    """The recipes of places alone: their things can be laid a hand on, one by one."""
    return (
        Recipe.objects.in_use().filter(kinds__regex=rf"^\s*{LOCATE}:[0-9]+[\s;]*$").order_by("name")
    )


def _told_lately(officer: Person) -> list[str]:
    """Whom an officer told of late, each once, and then whom one tells as a rule."""
    last = officer.sheets_kept.order_by("-opened_at").values_list("told", flat=True)
    found: dict[str, str] = {}
    for told in (*last[:CLOSED_SHOWN], *TOLD):
        found.setdefault(told.strip().casefold(), told.strip())
    return list(found.values())[:TOLD_SHOWN]


def _rig_of(number: str, officer: Person, riding: Mapping[int, Rig]) -> str:
    """The unit that the person of a number rides; without a number the one that the officer and
    theirs all ride. None where that is not one, so that it is chosen."""
    if number:
        person = _people(officer).filter(employee_number=number).first()
        rig = todays_rig(person) if person else None
        return rig.unit if rig else ""
    units = {rig.unit for rig in riding.values()}
    return units.pop() if len(units) == 1 else ""


def _show_form(request: Request, now: datetime, faults: Sequence[str] = ()) -> HttpResponse:
    officer = request.user
    given = request.POST if request.method == "POST" else request.GET
    paired = paired_with(officer, now=now).filter(is_active=True)
    riding = todays_rigs([officer, *paired])
    kept = officer.sheets_kept.select_related("person", "rig", "drill__recipe")
    context = {
        "paired": [(each, riding.get(each.pk)) for each in paired],
        "others": _people(officer).exclude(pk__in=paired.values("pk")),
        "rigs": _rigs(),
        "call_types": CallType.objects.filter(retired_on=None).order_by("name"),
        "recipes": _recipes_of_things(),
        "given": given,
        "told": _told_lately(officer),
        "rig": given.get("rig") or _rig_of(given.get("person", ""), officer, riding),
        "faults": faults,
        "open_ones": kept.exclude(state=SheetState.CLOSED),
        "closed": kept.filter(state=SheetState.CLOSED)[:CLOSED_SHOWN],
    }
    return render(request, "runs/hands_on.html", context, status=422 if faults else 200)


@require_GET
def sheet(request: Request, sheet_id: UUID) -> HttpResponse:
    """One sheet: to be kept by its officer, and to be read once it is closed."""
    found = readable_sheet(request.user, sheet_id)
    context = sheet_context(found, viewer=request.user)
    if not found.is_open:
        context |= signed_context(found, viewer=request.user, now=timezone.now())
    return render(request, "runs/sheet.html", context)


@post_alone
def deed(request: Request, sheet_id: UUID) -> HttpResponse:
    """Start, stop, be called away, or close."""
    found, now = kept_sheet(request.user, sheet_id), timezone.now()
    deeds = _DEEDS_OF_THINGS if found.is_of_single_things else _DEEDS
    do = deeds.get(request.POST.get("deed", ""))
    try:
        if do is None:
            raise SheetError(f"No deed came in. {', '.join(deeds)} are accepted.")
        done = do(found, request, now)
    except SheetError as error:
        context = sheet_context(found, viewer=request.user) | {"fault": str(error)}
        return render(request, "runs/sheet.html", context, status=422)
    if not done.is_open:
        messages.success(request, "Closed.")
    return redirect("runs:sheet", found.pk)


def _answer(sheet: Sheet, request: Request, now: datetime) -> Sheet:
    watched = read_watched(request.POST)
    return answer_thing(
        sheet,
        read_thing(request.POST),
        request.POST["deed"],
        wrong_places=watched.wrong_doors,
        now=now,
        claim=watched.claim,
        ago=watched.ago,
        comment=watched.comment,
    )


def _start_one(sheet: Sheet, request: Request, now: datetime) -> Sheet:
    number, ago = read_thing(request.POST), read_ago(request.POST)
    return start_thing(sheet, number, now=now, ago=ago)


_Deed = Callable[[Sheet, Request, datetime], Sheet]
_DEEDS: dict[str, _Deed] = {
    "start": lambda sheet, request, now: start_watch(sheet, now=now, ago=read_ago(request.POST)),
    "stop": lambda sheet, request, now: stop_watch(sheet, read_watched(request.POST), now=now),
    "away": lambda sheet, _request, now: leave_sheet(sheet, now=now),
    "close": lambda sheet, request, now: close_sheet(sheet, back=read_back(request.POST), now=now),
}
_DEEDS_OF_THINGS: dict[str, _Deed] = {
    "start": _start_one,
    **dict.fromkeys(SEEN_ALONE, _answer),
    "away": _DEEDS["away"],
    "close": _DEEDS["close"],
}
