"""What crews reported as not where the layout says, and what the keeper does about it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine import layout as engine
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_report, require_keeper
from drills.rigs.forms import NOT_ABOARD, AnswerForm
from drills.rigs.models import Absence, Answer, Layout, Reporting
from drills.rigs.own import own_about, own_of, taken_from, things_there
from drills.rigs.reading import layout_of
from drills.rigs.reports import done_about, reported_path
from drills.rigs.showing import doors_with_places
from drills.rigs.views.own import chosen_on, why_not_asked

ANSWERED_SHOWN = 20


@require_GET
def absences(request: Request) -> HttpResponse:
    """Open reports by rig and thing, and the last ones that were answered."""
    require_keeper(request.user)
    rows = Absence.objects.select_related(
        "rig__revision__layout", "revision__layout", "item", "place", "reported_by", "answered_by"
    ).prefetch_related("reportings__person")
    answered = rows.exclude(answered_at=None).order_by("-answered_at")[:ANSWERED_SHOWN]
    answered = answered.prefetch_related("differences__here", "differences__rig__revision__layout")
    waiting = rows.open().order_by("rig__unit", "item__name", "reported_at")
    context = {
        "waiting": [(row, reported_path(row)) for row in waiting],
        "answered": [(row, reported_path(row), done_about(row)) for row in answered],
        "put_back": Answer.PUT_BACK,
    }
    return render(request, "rigs/absences.html", context)


@require_GET
def absence(request: Request, number: int) -> HttpResponse:
    """One report, with the three things a keeper may do about it."""
    return _show(request, kept_report(request.user, number))


@post_alone
def answer_absence(request: Request, number: int) -> HttpResponse:
    """Do one of the three; a report that is answered stays as it was answered first."""
    report = kept_report(request.user, number)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        faults = [str(fault) for found in form.errors.values() for fault in found]
        return _show(request, report, fault=" ".join(faults))
    try:
        is_first = _answer(request, report, form)
    except ValueError as refused:
        return _show(request, report, fault=str(refused))
    if is_first:
        messages.success(request, _of_the_answer(report, form))
    else:
        messages.info(request, "That was answered already, and stays as it was.")
    return go_to(request, reverse("rigs:absences"))


@post_alone
def seen(request: Request, number: int) -> HttpResponse:
    """Whoever reported it has seen what became of it."""
    rows = Reporting.objects.select_related("absence__rig", "absence__item", "absence__place")
    reporting = rows.filter(absence=number, person=request.user).first()
    if reporting is None:
        raise Http404("You reported nothing of that number.")
    actions.see_answer(reporting, by=request.user, now=timezone.now())
    return go_to(request, reverse("boards:home"))


def _of_the_answer(report: Absence, form: AnswerForm) -> str:
    """What comes of an answer: whether the thing is drilled again, and what the layout needs."""
    rig = report.rig
    thing = report.item.key if report.item else form.cleaned_data["thing"]
    said = f"Answered. {why_not_asked(rig, thing) or f'It is drilled on {rig.unit} again.'}"
    is_wrong = form.cleaned_data["answer"] == Answer.LAYOUT_WRONG
    return f"{said} {_of_the_change(rig.layout)}" if is_wrong else said


def _of_the_change(layout: Layout) -> str:
    """Where the change is that the layout needs, once a report was answered that it is wrong."""
    if layout.draft:
        return f"The draft of {layout.name} has the change; publish it on Rigs."
    if layout.coming:
        return f"{layout.coming}, which is to come, says so already."
    return f"{layout.published} says so already; refit this rig on Rigs."


def _answer(request: Request, report: Absence, form: AnswerForm) -> bool:
    given = form.cleaned_data
    by, now, word = request.user, timezone.now(), given["word"]
    if given["answer"] == Answer.PUT_BACK:
        return actions.put_back(report, word=word, by=by, now=now)
    if given["answer"] == Answer.AS_LAYOUT:
        return actions.as_layout_again(report, word=word, by=by, now=now)
    where = form.where()
    if report.item:
        where["thing"] = report.item.key
    else:
        where["place"] = taken_from(report, where["thing"])
    if given["answer"] == Answer.DIFFERS:
        return actions.differs_here(report, **where, word=word, by=by, now=now)
    return actions.layout_is_wrong(report, **where, word=word, by=by, now=now)


def _show(request: Request, report: Absence, *, fault: str = "") -> HttpResponse:
    layout = layout_of(report.rig.revision)
    own, given = own_about(report), chosen_on(report.rig, request.POST)
    # One place of a thing that is in none of them was reported before the list said so.
    is_anywhere = not report.item_id or not report.place_id
    context = {
        **_of_the_thing(report, layout),
        "report": report,
        "path": reported_path(report, own_of(report.rig)),
        "own": own,
        "as_rig": any(is_anywhere or each.difference.here_id == report.place_id for each in own),
        "reporters": report.reportings.select_related("person"),
        "done": done_about(report) if report.answered_at else "",
        "doors": doors_with_places(layout),
        "not_aboard": NOT_ABOARD,
        "answers": Answer,
        "given": given,
        "fault": fault,
    }
    if "place" in given:
        context["place"] = given["place"]
    return render(request, "rigs/absence.html", context, status=422 if fault else 200)


def _of_the_thing(report: Absence, layout: engine.Layout) -> dict[str, Any]:
    """The thing and its places; where the contents of a place were reported, what is in there."""
    if report.item is None:
        return {"things": things_there(report)}
    thing = layout.things.get(report.item.key)
    return {
        "places": [(code, layout.path(code)) for code in thing.places] if thing else [],
        "place": taken_from(report, report.item.key),
    }
