"""Workbooks coming in, and drafts until they are published or discarded."""

from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.layout import Layout
from drills.engine.workbook import Remark, read_workbook
from drills.people.access import Request
from drills.people.rendering import go_to, post_alone
from drills.rigs import actions
from drills.rigs.access import kept_revision, require_keeper
from drills.rigs.differences import difference
from drills.rigs.forms import WorkbookForm
from drills.rigs.models import Revision, RevisionState

REMARKS_KEPT = 60


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
    """Put a draft in force; one that is in force already stays as it is."""
    revision = kept_revision(request.user, slug, number)
    if revision.state != RevisionState.DRAFT:
        messages.info(request, f"{revision} is {revision.get_state_display()} already.")
        return go_to(request, reverse("rigs:layout", args=[slug]))
    refitted = request.POST.getlist("refitted") if "each" in request.POST else None
    try:
        actions.publish_revision(revision, by=request.user, now=timezone.now(), refitted=refitted)
    except ValueError as refused:
        return _page(request, WorkbookForm(), {"refused": str(refused)}, status=422)
    messages.success(request, f"{revision} is published. {_riding(revision)}")
    return go_to(request, reverse("rigs:layout", args=[slug]))


def _riding(revision: Revision) -> str:
    """How many rigs ride a revision from now on, of those on its layout."""
    count, of = revision.rigs.count(), revision.layout.rigs.count()
    return f"{count} of {of} rigs ride it from now on." if of else "No rig rides it yet."


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
    drafts = Revision.objects.filter(state=RevisionState.DRAFT).select_related("layout")
    today = timezone.localdate()
    found = [difference(draft.before, draft, today=today) for draft in drafts]
    return render(
        request, "rigs/import.html", context | {"form": form, "drafts": found}, status=status
    )
