"""Labels of a rig: chosen, made, printed, renewed; and what a scan of one tells."""

from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.labels import FORMATS
from drills.engine.layout import FACE_NAMES, Layout
from drills.engine.printing import printable
from drills.people.access import Request
from drills.people.models import Person
from drills.people.places import address_of
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_rig, scanned_label
from drills.rigs.forms import LabelForm
from drills.rigs.labels import (
    WHICH,
    code_of,
    labelled,
    level_for,
    places_of,
    printed,
    shown_by_label,
    told_by_label,
)
from drills.rigs.models import Place, PlaceLabel, Rig
from drills.rigs.models.labels import new_token
from drills.rigs.reading import layout_of

# A server takes some 4,000 letters of an address (gunicorn's own bound is 4,094).
LONGEST_QUERY = 3_500


@require_GET
def labels(request: Request, unit: str) -> HttpResponse:
    """Choose sheet and places; the labels there are, and those to take off."""
    rig = kept_rig(request.user, unit)
    return _desk(request, rig, QueryDict("sheet=a4-2x7&which=all&skip=0"))


@post_alone
def make_labels(request: Request, unit: str) -> HttpResponse:
    """Give the chosen places labels where they have none, then show the sheets."""
    rig = kept_rig(request.user, unit)
    form = LabelForm(request.POST, layout=layout_of(rig.revision))
    if not form.is_valid():
        return _desk(request, rig, request.POST, faults=_faults(form), status=422)
    query = _query(form)
    if len(query) > LONGEST_QUERY:
        fault = (
            f"{len(form.codes)} places are ticked, more than one address can name. Tick fewer, or "
            "print everything."
        )
        return _desk(request, rig, request.POST, faults=[fault], status=422)
    rows = rig.revision.compartments.filter(code__in=form.codes).select_related("place")
    places = [row.place for row in rows]
    try:
        new = actions.make_labels(rig, places, by=request.user, now=timezone.now())
    except ValueError:
        rig = kept_rig(request.user, unit)
        fault = f"Rig {unit} was refitted meanwhile. Choose again from the places it has now."
        return _desk(request, rig, request.POST, faults=[fault], status=422)
    if new:
        messages.success(request, f"{len(new)} new label{'' if len(new) == 1 else 's'} made.")
    return go_to(request, f"{reverse('rigs:label_sheets', args=[unit])}?{query}")


@require_GET
def label_sheets(request: Request, unit: str) -> HttpResponse:
    """The sheets as they are printed; places without a label are left out and counted."""
    rig = kept_rig(request.user, unit)
    layout = layout_of(rig.revision)
    form = LabelForm(request.GET, layout=layout)
    if not form.is_valid():
        return _desk(request, rig, request.GET, faults=_faults(form), status=422)
    there = labelled(rig, layout).here
    chosen = [(layout.by_code[code], there[code]) for code in form.codes if code in there]
    sheet = FORMATS[form.cleaned_data["sheet"]]
    context = {
        "rig": rig,
        "form": sheet,
        "count": len(chosen),
        "without": len(form.codes) - len(chosen),
        "sheets": printed(
            sheet,
            [(place, _address(request, label.token)) for place, label in chosen],
            unit=rig.unit,
            skip=form.cleaned_data["skip"],
        ),
    }
    return render(request, "rigs/label_sheets.html", context)


@post_alone
def renew_labels(request: Request, unit: str) -> HttpResponse:
    """End labels at once, of one place or of the whole rig, and make new ones to print."""
    rig = kept_rig(request.user, unit)
    places = None
    if "every" not in request.POST:
        key = request.POST.get("place", "")
        places = list(Place.objects.filter(layout=rig.layout, key=key))
    ended, made = actions.renew_labels(rig, places, by=request.user, now=timezone.now())
    if not ended:
        fault = "No label was chosen that is in force. Choose one of the list."
        return _desk(request, rig, QueryDict("which=all"), faults=[fault], status=422)
    many = "label is" if ended == 1 else "labels are"
    anew = f" Print {'the new one' if made == 1 else f'the {made} new ones'}." if made else ""
    messages.success(request, f"{ended} {many} dead from now on.{anew}")
    return go_to(request, reverse("rigs:labels", args=[unit]))


@login_not_required
@require_GET
def label(request: HttpRequest, token: str) -> HttpResponse:
    """What belongs in the place of a label. Nobody who is not signed in learns whether there is
    such a label; nothing is changed but the count of scans."""
    person, now = request.user, timezone.now()
    if not isinstance(person, Person):
        wait = actions.scan_of_stranger(address_of(request), now=now)
        query = urlencode({"next": request.path}, safe="/")
        return (
            _too_many(request, wait)
            if wait
            else go_to(request, f"{reverse('people:sign_in')}?{query}")
        )
    if wait := actions.scan_of_person(person, now=now):
        return _too_many(request, wait)
    scanned = scanned_label(person, token)
    if person.has_scan_prompt_at(now):
        return render(request, "rigs/label.html", {"answers": token})
    return _told(request, scanned)


def _told(request: HttpRequest, scanned: PlaceLabel) -> HttpResponse:
    rig = scanned.rig
    layout = layout_of(rig.revision)
    # A rig that was given another layout carries labels of the old one until they are off.
    key = scanned.place.key if scanned.place.layout_id == rig.layout_id else ""
    here = shown_by_label(layout, key)
    context: dict[str, Any] = {"rig": rig, "place": here}
    if here is not None:
        context |= {
            "path": layout.path(here.code) if here.inside else "",
            "face": FACE_NAMES[layout.face_of(here.code)],
            "door": layout.chain(here.code)[0],
            "is_locked": layout.is_locked(here.code),
            "places": told_by_label(rig, here.code),
        }
    return render(request, "rigs/label.html", context)


def _desk(
    request: Request,
    rig: Rig,
    given: QueryDict,
    *,
    faults: list[str] | None = None,
    status: int = 200,
) -> HttpResponse:
    layout = layout_of(rig.revision)
    there = labelled(rig, layout)
    example = _address(request, new_token())
    context = {
        "rig": rig,
        "faults": faults or [],
        "sheets": [
            (form, code_of(example, form, level_for(example, form))) for form in FORMATS.values()
        ],
        "chosen": given.get("sheet", ""),
        "kinds": [(key, name, _count(layout, key)) for key, name in WHICH.items()],
        "which": given.get("which", ""),
        "ticked": given.getlist("place"),
        "skip": given.get("skip") or "0",
        "places": [(each, there.here.get(each.code)) for each in printable(layout).compartments],
        "labels": there,
        "example": example,
    }
    return render(request, "rigs/labels.html", context, status=status)


def _count(layout: Layout, which: str) -> int:
    return len(places_of(layout, which))


def _query(form: LabelForm) -> str:
    given = form.cleaned_data
    pairs = [("sheet", given["sheet"]), ("which", given["which"]), ("skip", str(given["skip"]))]
    if given["which"] == "ticked":
        pairs += [("place", code) for code in given["place"]]
    return urlencode(pairs)


def _faults(form: LabelForm) -> list[str]:
    return [str(fault) for faults in form.errors.values() for fault in faults]


def _address(request: HttpRequest, token: str) -> str:
    return request.build_absolute_uri(reverse("rigs:label", args=[token]))


def _too_many(request: HttpRequest, wait: timedelta) -> HttpResponse:
    seconds = -(-wait // timedelta(seconds=1))
    response = render(request, "429.html", {"minutes": -(-seconds // 60)}, status=429)
    response["Retry-After"] = str(seconds)
    return response
