"""Rigs by station, and which one a person rides today."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.db.models import Count, Prefetch, Q
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import JUDGES, KEEPERS, kept_layout, require_keeper
from drills.rigs.forms import RigForm
from drills.rigs.models import Absence, Layout, Revision, RevisionState, Rig, Station
from drills.rigs.postings import stations_of
from drills.rigs.reports import todays_rig


@require_GET
def index(request: Request) -> HttpResponse:
    """Every rig by station with its layout, and the layouts."""
    return render(request, "rigs/index.html", index_context(request))


@post_alone
def pick(request: Request, unit: str) -> HttpResponse:
    """Make a rig the one the person rides today; picking it twice changes nothing."""
    rig = Rig.objects.select_related("revision").filter(unit=unit).first()
    if rig is None:
        raise Http404("There is no rig of that number.")
    last = request.user.rig_picks.first()
    if last is None or (last.rig_id, last.revision_id) != (rig.pk, rig.revision_id):
        actions.pick_rig(request.user, rig, now=timezone.now())
    messages.success(request, f"You ride {rig.unit} today.")
    return go_to(request, reverse("rigs:index"))


@post_alone
def refit(request: Request, unit: str) -> HttpResponse:
    """Let a rig ride the published revision of its layout."""
    require_keeper(request.user)
    rig = Rig.objects.filter(unit=unit).first()
    if rig is None:
        raise Http404("There is no rig of that number.")
    rig = actions.refit_rig(rig, by=request.user, now=timezone.now())
    messages.success(request, f"{rig} rides {rig.revision} from now on.")
    return go_to(request, reverse("rigs:index"))


@post_alone
def add_rig(request: Request, slug: str) -> HttpResponse:
    """Put a rig on the published revision of a layout."""
    layout = kept_layout(request.user, slug)
    form = RigForm(request.POST)
    if form.is_valid():
        try:
            rig = actions.add_rig(
                form.cleaned_data["unit"],
                layout=layout,
                station=form.cleaned_data["station"],
                by=request.user,
                now=timezone.now(),
            )
        except ValueError as refused:
            form.add_error("unit", str(refused))
        else:
            messages.success(request, f"{rig} rides {layout.name} from now on.")
            return go_to(request, reverse("rigs:index"))
    context = {**index_context(request), "refused": slug, "refused_form": form}
    return render(request, "rigs/index.html", context, status=422)


def index_context(request: Request) -> dict[str, Any]:
    """What the page of all rigs shows."""
    rigs = Rig.objects.select_related("station", "revision", "layout").order_by(
        "station__name", "unit"
    )
    rigs = rigs.annotate(differs=Count("differences", filter=Q(differences__ended_at=None)))
    is_keeper = request.user.holds(*KEEPERS)
    revisions = Revision.objects.exclude(state=RevisionState.RETIRED).order_by("number")
    if not is_keeper:
        revisions = revisions.exclude(state=RevisionState.DRAFT)
    shown = Prefetch("revisions", revisions, to_attr="current")
    layouts = Layout.objects.filter(revisions__in=revisions).distinct().prefetch_related(shown)
    coming = _becomes(each for layout in layouts for each in layout.current)
    own = stations_of([request.user], today=timezone.localdate()).get(request.user.pk)
    stations = [
        (station, [(rig, coming.get((rig.layout_id, rig.unit))) for rig in group])
        for station, group in groupby(rigs, key=lambda rig: rig.station)
    ]
    return {
        "stations": sorted(stations, key=lambda each: own is None or each[0] != own),
        "layouts": layouts,
        "today": todays_rig(request.user),
        "judges": request.user.holds(*JUDGES),
        "is_keeper": is_keeper,
        "sets_motions": request.user.holds(*actions.MOTION_KEEPERS),
        **(_for_keepers() if is_keeper else {}),
    }


def _for_keepers() -> dict[str, Any]:
    retired = Layout.objects.filter(revisions__state=RevisionState.RETIRED)
    return {
        "retired": retired.exclude(revisions__state=RevisionState.PUBLISHED).distinct(),
        "choices": Station.objects.all(),
        "reports": Absence.objects.open().count(),
    }


def _becomes(revisions: Iterable[Revision]) -> dict[tuple[int, str], Revision]:
    """The revision to come that a rig changes to, by its layout and unit number."""
    coming = (each for each in revisions if each.state == RevisionState.COMING)
    return {(each.layout_id, unit): each for each in coming for unit in each.refits}
