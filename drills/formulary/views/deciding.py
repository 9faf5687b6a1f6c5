"""What is done with a revision: a draft is made, submitted, sent back, approved or recorded."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.formulary import actions
from drills.formulary.access import revision_of_role
from drills.formulary.actions.discarding import alone_in, is_overtaken
from drills.formulary.forms import ApprovalForm, ReasonForm, SignedForm
from drills.formulary.models import FormularyRevision, FormularyState
from drills.formulary.views.looking import page_of
from drills.formulary.waiting import ended_by
from drills.people.access import Request
from drills.people.models import Role
from drills.people.rendering import go_to, post_alone

IN_FORCE = "Dose drills ask about it from now on."


@post_alone
def draft(request: Request, number: int) -> HttpResponse:
    """A new draft with all that this revision says."""
    source = revision_of_role(request.user, number, Role.EDUCATOR)
    made = actions.draft_from(source, by=request.user, now=timezone.now())
    messages.success(request, f"{made} is a draft with all that {source} says.")
    return go_to(request, reverse("formulary:revision", args=[made.number]))


@require_http_methods(["GET", "HEAD", "POST"])
def discard(request: Request, number: int) -> HttpResponse:
    """Ask whether a draft is to be discarded, and discard it."""
    revision = revision_of_role(request.user, number, Role.EDUCATOR)
    if request.method == "POST":
        try:
            actions.discard(revision, by=request.user, now=timezone.now())
        except actions.ApprovalRefusedError as error:
            return page_of(request, revision, fault=str(error), of="discard")
        messages.success(request, f"{revision} is discarded. Its number is not given again.")
        return go_to(request, reverse("formulary:revisions"))
    is_draft = revision.state == FormularyState.DRAFT and not revision.is_demo
    if not is_draft and not is_overtaken(revision):
        raise Http404("Only a draft is discarded, or what a later revision overtook.")
    context = {"revision": revision, "count": revision.rules.count(), "alone": alone_in(revision)}
    return render(request, "formulary/discard.html", context)


@post_alone
def submit(request: Request, number: int) -> HttpResponse:
    """Give a draft to the medical director."""
    revision = revision_of_role(request.user, number, Role.EDUCATOR)
    try:
        actions.submit(revision, by=request.user, now=timezone.now())
    except actions.ApprovalRefusedError as error:
        return page_of(request, revision, fault=str(error), of="submit")
    return _done(request, revision, f"{revision} is with the medical director.")


@post_alone
def send_back(request: Request, number: int) -> HttpResponse:
    """Make a submitted revision a draft again, with the reason."""
    revision = revision_of_role(request.user, number, Role.DIRECTOR)
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return page_of(request, revision, fault=_first(form), of="send_back")
    because: str = form.cleaned_data["because"]
    try:
        actions.send_back(revision, by=request.user, because=because, now=timezone.now())
    except actions.ApprovalRefusedError as error:
        return page_of(request, revision, fault=str(error), of="send_back")
    return _done(request, revision, f"{revision} is a draft again.")


@post_alone
def approve(request: Request, number: int) -> HttpResponse:
    """Put a submitted revision in force, or say what stands against it."""
    revision = revision_of_role(request.user, number, Role.DIRECTOR)
    form = ApprovalForm(request.POST)
    if not form.is_valid():
        return page_of(request, revision, fault=_first(form), of="approve")
    ends = ended_by(revision)
    try:
        actions.approve(
            revision,
            by=request.user,
            document=form.cleaned_data["document"],
            contradictions=form.looked_at,
            meant=request.POST.getlist("meant"),
            now=timezone.now(),
        )
    except actions.ApprovalRefusedError as error:
        return page_of(request, revision, fault=str(error), of="approve")
    return _done(request, revision, f"{revision} is approved. {IN_FORCE}{_ended(ends)}")


@post_alone
def record(request: Request, number: int) -> HttpResponse:
    """Put a revision in force that was signed on paper, and keep the paper."""
    revision = revision_of_role(request.user, number, Role.EDUCATOR)
    form = SignedForm(request.POST, request.FILES)
    if not form.is_valid():
        return page_of(request, revision, fault=_first(form), of="record")
    ends = ended_by(revision)
    try:
        actions.record_signed(
            revision,
            by=request.user,
            signature=form.signature,
            contradictions=form.looked_at,
            meant=request.POST.getlist("meant"),
            now=timezone.now(),
        )
    except actions.ApprovalRefusedError as error:
        return page_of(request, revision, fault=str(error), of="record")
    return _done(
        request,
        revision,
        f"{revision} is approved, and the paper is kept. {IN_FORCE}{_ended(ends)}",
    )


def _ended(ends: list[FormularyRevision]) -> str:
    return "".join(f" {each} can be approved no more; its educator is told." for each in ends)


def _first(form: forms.Form) -> str:
    return str(next(iter(form.errors.values()))[0])


def _done(request: Request, revision: FormularyRevision, words: str) -> HttpResponse:
    messages.success(request, words)
    return go_to(request, reverse("formulary:revision", args=[revision.number]))
