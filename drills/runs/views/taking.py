"""Pages of a run: start, take, answer, away, debrief."""

from collections.abc import Sequence
from datetime import datetime
from itertools import chain
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.moves import MoveError
from drills.engine.recipes import CannotApplyError
from drills.people.access import ClosedWhileAssessedError, Request, closed_while_assessed
from drills.people.kept import NOTHING_KEPT, Sent, keeps, kept_for, sent_in, take_kept
from drills.people.models import Person
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.rigs.models import Layout, Revision, Rig
from drills.rigs.reports import todays_rig
from drills.runs.access import open_runs, own_run, readable_run
from drills.runs.actions import (
    PRESSED_TWICE,
    AnsweredOtherwiseError,
    AnswerError,
    SettledSinceError,
    answer_prompt,
    begin,
    call_away,
    go_on,
    press_start,
    report_afterwards,
    report_not_there,
    serve_next,
)
from drills.runs.assigned import NONE_LEFT, given_with
from drills.runs.debriefing import debrief_context
from drills.runs.forms import AnswerForm, device_class_of
from drills.runs.kept import kept_context, recorded
from drills.runs.models import Run
from drills.runs.pages import in_parts, take_context
from drills.runs.served import UNREAD, Turn
from drills.scenarios.models import Mode, Recipe
from drills.scenarios.naming import left_out

TAKE, QUESTION = "runs/take.html", "question"
DOES_NOT_COUNT = (
    "This run does not count for what you were assigned, which is taken on the rig you ride: "
    "here a layout was named."
)
UNTIMED = (
    "Untimed practice: nothing is cut off, and it counts for nothing you were assigned. What is "
    "assessed is still to be started."
)
NO_ATTEMPT_LEFT = (
    "This run does not count for what you were assigned: you have made every attempt that you had."
)
GO_ON_WITH_IT = "This attempt is under way since {:%-d %b, %H:%M}, on {}. Go on with it."
OTHER_LAYOUT = (
    "This run does not count for what you were assigned: that was given for another layout than "
    "the one this rig rides."
)
NOTHING_CHOSEN = "Nothing chosen yet. Choose, or say under Cannot answer that you do not know."


@post_alone
def start(request: Request) -> HttpResponse:
    """Make a drill from a recipe on today's rig, or on a layout that is named.

    A recipe that comes as `untimed` is practised at once without limits, assessed or not.
    """
    closed_while_assessed(request.user)
    untimed, now = request.POST.get("untimed", ""), timezone.now()
    recipe = get_object_or_404(Recipe, slug=untimed or request.POST.get("recipe", ""))
    named, rig = _where(request, recipe)
    revision = _revision_of(named, rig)
    if revision is None:
        return _nowhere(request, named)
    try:
        run = press_start(
            request.user,
            recipe=recipe,
            revision=revision,
            rig=rig,
            now=now,
            as_practice=bool(untimed),
        )
    except CannotApplyError as error:
        messages.error(request, str(error))
        return redirect("boards:drills")
    if untimed:
        device = device_class_of(request.POST) or None
        begin(run, device_class=device, is_timed=False, now=now)
        messages.info(request, UNTIMED)
    elif run.started_at < now - PRESSED_TWICE:
        messages.info(request, _gone_on_with(run))
    else:
        _tell_what_counts_not(request, run, is_named=bool(named))
    if missing := left_out(run.drill):
        messages.info(request, missing)
    return go_to(request, reverse("runs:take", args=[run.pk]))


def _gone_on_with(run: Run) -> str:
    where = run.rig or run.drill.revision.layout
    return GO_ON_WITH_IT.format(timezone.localtime(run.started_at), where)


def _tell_what_counts_not(request: Request, run: Run, *, is_named: bool) -> None:
    """A run of what was assigned that does not count for it says so."""
    if run.assigned is not None:
        return
    given = given_with(run.drill.recipe, request.user, today=timezone.localdate())
    if any(each.is_to_do for each in given):
        messages.info(request, DOES_NOT_COUNT if is_named else OTHER_LAYOUT)
    elif any(each.state == NONE_LEFT for each in given):
        messages.info(request, NO_ATTEMPT_LEFT)


def _where(request: Request, recipe: Recipe) -> tuple[str, Rig | None]:
    """The key of the layout to drill on, or the rig of today; neither where none was picked."""
    if named := request.POST.get("layout", ""):
        return named, None
    rig = _rig_for(request.user, recipe)
    return ("" if rig else recipe.layout_key), rig


def _nowhere(request: Request, named: str) -> HttpResponse:
    if named:
        messages.error(request, f"{named} has no revision in force, so nothing is drilled on it.")
        return redirect("boards:drills")
    messages.error(request, "Choose today's rig first; a drill is made from it.")
    return redirect("rigs:index")


def _rig_for(person: Person, recipe: Recipe) -> Rig | None:
    """The rig of today, unless the recipe is drilled on another layout than that rides."""
    rig = todays_rig(person)
    is_there = rig is not None and recipe.layout_key in {"", rig.layout.slug}
    return rig if is_there else None


def _revision_of(named: str, rig: Rig | None) -> Revision | None:
    """The revision in force of a layout that is named, else the one that the rig rides."""
    if named:
        return get_object_or_404(Layout, slug=named).published
    return rig.revision if rig else None


@require_GET
def take(request: Request, run_id: UUID) -> HttpResponse:
    """The run as it stands: the brief, the open prompt, the feedback, or called away."""
    run = own_run(request.user, run_id)
    return _show(request, run, kept=kept_for(request, reverse("runs:answer", args=[run.pk])))


@post_alone
def proceed(request: Request, run_id: UUID) -> HttpResponse:
    """Begin, go on to the next prompt, or resume."""
    run = own_run(request.user, run_id)
    try:
        turn = begin(
            run,
            device_class=device_class_of(request.POST) or None,
            is_timed="untimed" not in request.POST,
            by_scan="scan" in request.POST,
            now=timezone.now(),
        )
    except (MoveError, ValueError) as refused:
        return _show(request, run, error=str(refused))
    return _after(request, run, turn)


@keeps("runs:take")
@post_alone
def answer(request: Request, run_id: UUID) -> HttpResponse:
    """Take the answer to the open prompt; the first one counts, from when it came first."""
    try:
        run = own_run(request.user, run_id)
    except ClosedWhileAssessedError:
        return _held(request, run_id)
    came = take_kept(request) or timezone.now()
    form = AnswerForm(request.POST)
    if not form.is_valid():
        faults = map(str, chain.from_iterable(form.errors.values()))
        return _show(request, run, error=" ".join(faults), form=form)
    if not form.says_something:
        return _show(request, run, error=NOTHING_CHOSEN)
    try:
        turn = _take(request, run, form, came)
    except AnsweredOtherwiseError as refused:
        return _show(request, run, noted=f"{refused} {recorded(refused.presentation)}")
    except AnswerError as error:
        return _show(request, run, error=str(error), form=form)
    return _after(request, run, turn)


def _take(request: Request, run: Run, form: AnswerForm, came: datetime) -> Turn:
    """Store an answer that came at a moment; where nothing is told of it, the next prompt comes."""
    # In one transaction: each costs what the disk takes to be sure of it.
    with transaction.atomic():
        answered = answer_prompt(
            run,
            token=form.cleaned_data["token"],
            tokens=form.tokens(),
            claim=form.claim(),
            order=form.order(),
            now=came,
        )
        if answered.is_warm_up or not run.is_practice:
            device = device_class_of(request.POST) or None
            return go_on(run, now=timezone.now(), device_class=device)
    return Turn(answered)


def _held(request: Request, run_id: UUID) -> HttpResponse:
    """An answer to practice that is closed now: nothing is taken or void, and it is given back to
    be sent again."""
    context = {
        "run_id": run_id,
        "kept": sent_in(request),
        "written": " ".join(AnswerForm(request.POST).dose()).strip(),
        "assessed": open_runs(request.user, Mode.ASSESSED).select_related("drill__recipe").first(),
    }
    return render(request, "runs/answer.html", context, status=403)


@post_alone
def away(request: Request, run_id: UUID) -> HttpResponse:
    """A real call: void the open prompt and keep the rest."""
    run = own_run(request.user, run_id)
    try:
        call_away(run, now=timezone.now())
    except MoveError as refused:
        return _show(request, run, error=str(refused))
    return _after(request, run)


@post_alone
def not_there(request: Request, run_id: UUID) -> HttpResponse:
    """Not where the layout says: void the prompt and tell the keeper."""
    run, now = own_run(request.user, run_id), timezone.now()
    token = request.POST.get("token", "")
    try:
        reported = report_not_there(run, token=token, by=request.user, now=now)
    except MoveError as refused:
        return _show(request, run, error=str(refused))
    if reported is None:
        return _show(request, run, error="That prompt can no longer be reported.")
    told = "Reported to the layout keeper." if run.rig else "No rig, so nobody was told."
    messages.info(request, f"{told} That prompt counts for nothing.")
    serve_next(run, now=now)
    return _after(request, run)


@require_GET
def debrief(request: Request, run_id: UUID) -> HttpResponse:
    """After a run: what was missed, and where it is."""
    run = readable_run(request.user, run_id)
    if not run.is_over:
        return (
            redirect("runs:take", run.pk) if run.person == request.user else redirect("boards:home")
        )
    return render(request, "runs/debrief.html", debrief_context(run))


@post_alone
def report(request: Request, run_id: UUID) -> HttpResponse:
    """From the debrief: one thing of a practice run was not where the layout says."""
    closed_while_assessed(request.user)
    run = own_run(request.user, run_id)
    token, now = request.POST.get("token", ""), timezone.now()
    try:
        name = report_afterwards(run, token=token, by=request.user, now=now)
    except SettledSinceError as refused:
        messages.error(request, str(refused))
        return go_to(request, reverse("runs:debrief", args=[run.pk]))
    if name:
        messages.info(request, f"{name}: reported to the layout keeper, who answers on Today.")
    else:
        messages.error(request, "Nothing was reported. Choose a thing that this run asked for.")
    return go_to(request, reverse("runs:debrief", args=[run.pk]))


def _after(request: HttpRequest, run: Run, turn: Turn = UNREAD) -> HttpResponse:
    """After an act: a browser is sent to the page again, htmx gets the question alone.

    `turn` is what the act ended with, as far as that is known.
    """
    if request.headers.get("HX-Request"):
        return _show(request, run, turn=turn)
    if run.is_over:
        return go_to(request, reverse("runs:debrief", args=[run.pk]))
    return redirect("runs:take", run.pk)


def _said_before(groups: Sequence[dict[str, Any]], form: AnswerForm | None) -> dict[str, Any]:
    """What a refused form said, so that nobody says it twice."""
    if form is None:
        return {"written": ("", "")}
    kept = [
        in_parts(
            group | {"choices": [(*each[:-1], form.said_of(each[0])) for each in group["choices"]]}
        )
        for group in groups
    ]
    return {"written": form.dose(), "groups": kept}


def _show(
    request: HttpRequest,
    run: Run,
    *,
    error: str = "",
    noted: str = "",
    form: AnswerForm | None = None,
    kept: Sent = NOTHING_KEPT,
    turn: Turn = UNREAD,
) -> HttpResponse:
    """The run as it is now; after a refusal with what was written and chosen.

    `noted` is why an answer was not taken that is not to be mended: it has nothing to do with what
    stands there now.
    `kept` is an answer that could not be taken, for the prompt that is open if it is that one's.
    """
    refused = error or noted
    context = take_context(run, now=timezone.now(), turn=turn)
    if context["state"] == "over":
        if refused:
            messages.error(request, refused)
        return go_to(request, reverse("runs:debrief", args=[run.pk]))
    response = page_or_part(
        request,
        TAKE,
        QUESTION,
        {
            **context,
            **kept_context(context, kept),
            "error": error,
            "noted": noted,
            **_said_before(context.get("groups", ()), form),
        },
        status=422 if refused else 200,
    )
    if error and "units" in context:
        # What is wrong stands at the field, which takes the focus: the page stays where it is.
        response["HX-Reswap"] = "innerHTML"
    return response
