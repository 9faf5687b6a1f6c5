"""Workbooks coming in, and drafts until they are published or discarded."""

from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods

from drills.engine.layout import Layout
from drills.engine.workbook import Remark, read_workbook
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_revision, require_keeper
from drills.rigs.differences import asked_of, difference
from drills.rigs.forms import PublishForm, WorkbookForm
from drills.rigs.models import Revision, RevisionState

REMARKS_KEPT = 60
NO_RIG = "No rig rides it yet."


@require_http_methods(["GET", "HEAD", "POST"])
def import_(request: Request) -> HttpResponse:
    """Read a workbook: every problem at once, or the changes its draft would make."""
    require_keeper(request.user)
    if request.method != "POST":
        context = {"remarks": request.session.pop("import_remarks", [])}
        return _page(request, WorkbookForm(), context)
    form = WorkbookForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, {}, status=422)
    given: UploadedFile[bytes] = form.cleaned_data["workbook"]
    parsed = read_workbook(given.read(), name=given.name or "")
    if parsed.layout is None:
        return _page(request, form, {"parsed": parsed, "file": given.name}, status=422)
    return _store(request, parsed.layout, parsed.remarks)


@post_alone
def publish(request: Request, slug: str, number: int) -> HttpResponse:
    """Put a draft in force from a day on; one that is in force already stays as it is."""
    revision = kept_revision(request.user, slug, number)
    if revision.state not in (RevisionState.DRAFT, RevisionState.COMING):
        messages.info(request, f"{revision} is {revision.get_state_display()} already.")
        return go_to(request, reverse("rigs:layout", args=[slug]))
    form = PublishForm(request.POST)
    if not form.is_valid():
        return _not_published(request, revision, str(form.errors["effective_on"][0]))
    as_new = _counted_as_new(revision)
    try:
        revision = actions.publish_revision(
            revision,
            by=request.user,
            now=timezone.now(),
            refitted=request.POST.getlist("refitted") if "each" in request.POST else None,
            effective_on=form.cleaned_data["effective_on"],
            shown=request.POST.get("shown"),
        )
    except ValueError as refused:
        return _not_published(request, revision, str(refused))
    messages.success(request, f"{revision} is published. {_riding(revision)}{as_new}")
    return go_to(request, reverse("rigs:difference", args=[slug, number]))


def _counted_as_new(draft: Revision) -> str:
    """What is said when a draft is published whose keeper answered nothing."""
    count = len(asked_of(draft))
    if not count:
        return ""
    said = "1 place counts" if count == 1 else f"{count} places count"
    return f" {said} as new; what people know of the old ones is not carried over."


def _not_published(request: Request, revision: Revision, because: str) -> HttpResponse:
    """The page again, with the day that was asked for."""
    said = {
        "refused": because,
        "refused_of": revision.pk,
        "day": request.POST.get("effective_on", ""),
    }
    return _page(request, WorkbookForm(), said, status=422)


def _riding(revision: Revision) -> str:
    """How many rigs ride a revision from its day on, of those on its layout."""
    of = revision.layout.rigs.count()
    if revision.state == RevisionState.COMING and revision.effective_on:
        come = f"It comes in force on {date_format(revision.effective_on, 'j M Y')}"
        return f"{come}: then {len(revision.refits)} of {of} rigs ride it." if of else f"{come}."
    return f"{revision.rigs.count()} of {of} rigs ride it from now on." if of else NO_RIG


@post_alone
def keep_places(request: Request, slug: str, number: int) -> HttpResponse:
    """Take a keeper's word that places of a draft are places that are gone."""
    draft = kept_revision(request.user, slug, number)
    given = zip(request.POST.getlist("code"), request.POST.getlist("key"), strict=False)
    answers = {code: key for code, key in given if key}
    try:
        actions.keep_places(draft, answers, by=request.user, now=timezone.now())
    except ValueError as refused:
        chosen = {f"{code}/{key}" for code, key in answers.items()}
        said = {"not_kept": str(refused), "not_kept_of": draft.pk, "chosen": chosen}
        return _page(request, WorkbookForm(), said, status=422)
    if answers:
        messages.success(request, f"{_same(len(answers))} What people know of them stays.")
    else:
        messages.info(request, "Nothing was chosen, so all of them count as new.")
    return go_to(request, reverse("rigs:import"))


def _same(count: int) -> str:
    return "1 place is the same as before." if count == 1 else f"{count} places are the same."


@post_alone
def discard(request: Request, slug: str, number: int) -> HttpResponse:
    """Throw a draft away; a layout that never was anything else goes with it."""
    revision = kept_revision(request.user, slug, number)
    if revision.state != RevisionState.DRAFT:
        messages.info(request, f"{revision} is no draft, so it stays.")
        return go_to(request, reverse("rigs:import"))
    said = str(revision)
    actions.discard_draft(revision, by=request.user, now=timezone.now())
    messages.success(request, f"The draft {said} is discarded.")
    return go_to(request, reverse("rigs:import"))


def _store(request: Request, layout: Layout, remarks: tuple[Remark, ...]) -> HttpResponse:
    revision = actions.import_layout(layout, by=request.user, now=timezone.now())
    request.session["import_remarks"] = [str(each) for each in remarks[:REMARKS_KEPT]]
    if revision.state != RevisionState.DRAFT:
        messages.info(request, f"The workbook says what {revision} says. Nothing is changed.")
    return go_to(request, reverse("rigs:import"))


def _page(
    request: Request, form: WorkbookForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    waiting = Revision.objects.filter(state__in=(RevisionState.DRAFT, RevisionState.COMING))
    today = timezone.localdate()
    found = {
        each: difference(each.before, each, today=today)
        for each in waiting.select_related("layout")
    }
    context |= {
        "form": form,
        "drafts": [told for each, told in found.items() if each.state == RevisionState.DRAFT],
        "coming": [told for each, told in found.items() if each.state == RevisionState.COMING],
        "today": today,
    }
    return render(request, "rigs/import.html", context, status=status)
