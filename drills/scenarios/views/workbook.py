"""Workbooks of call types: read and looked at, stored, and given out."""

from base64 import b64encode
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.calls_workbook import ReadCalls, read_calls, to_xlsx, to_zip
from drills.people.access import Request
from drills.people.rendering import as_file, go_to, post_alone
from drills.rigs.forms import WorkbookForm
from drills.scenarios import actions
from drills.scenarios.access import require_editor, require_reader
from drills.scenarios.actions.calls import unfit_of
from drills.scenarios.fields import guide
from drills.scenarios.forms import StoreCallsForm
from drills.scenarios.kept import changes_of, digest_of, known, told_of
from drills.scenarios.models import CallType

WRITERS = {"xlsx": to_xlsx, "zip": to_zip}


@require_http_methods(["GET", "HEAD", "POST"])
def import_(request: Request) -> HttpResponse:
    """Read a workbook: every problem at once, or what it would change; nothing is stored yet."""
    require_editor(request.user)
    if request.method != "POST":
        return _page(request, WorkbookForm(), {})
    form = WorkbookForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, {}, status=422)
    given: UploadedFile[bytes] = form.cleaned_data["workbook"]
    return _looked_at(request, read_calls(given.read(), known(), name=given.name or ""), given.name)


@post_alone
def store(request: Request) -> HttpResponse:
    """Store the workbook that was looked at; it is read again, since it came from outside again."""
    require_editor(request.user)
    form = StoreCallsForm(request.POST)
    content = form.cleaned_data["content"] if form.is_valid() else b""
    parsed = read_calls(content, known(), name="calls.zip")
    if parsed.problems:
        return _looked_at(request, parsed, "the page")
    seen = form.cleaned_data["seen"]
    try:
        new, changed = actions.import_calls(
            parsed.calls, seen=seen, by=request.user, now=timezone.now()
        )
    except actions.CallRefusedError as refused:
        return _looked_at(request, parsed, "the page", fault=str(refused))
    messages.success(request, f"{new} new and {changed} changed.")
    return go_to(request, reverse("scenarios:calls"))


def _looked_at(
    request: Request, parsed: ReadCalls, file: str | None, *, fault: str = ""
) -> HttpResponse:
    """What is wrong with a workbook, or what it would change."""
    unfit = unfit_of(parsed.calls)
    changes = changes_of(parsed.calls)
    context = {
        "parsed": parsed,
        "file": file,
        "fault": fault,
        "unfit": unfit,
        "changes": [each for each in changes if not each.is_same],
        "same": sum(each.is_same for each in changes),
        "content": b64encode(to_zip(parsed.calls)).decode(),
        "seen": digest_of(parsed.calls),
    }
    is_refused = bool(parsed.problems or unfit or fault)
    return _page(request, WorkbookForm(), context, status=422 if is_refused else 200)


def _page(
    request: Request, form: WorkbookForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    context |= {"form": form} if "parsed" in context else {"form": form, "guide": guide(known())}
    return render(request, "scenarios/import.html", context, status=status)


@require_GET
def export(request: Request, kind: str) -> HttpResponse:
    """Every call type as a workbook, or the one that the address names."""
    require_reader(request.user)
    if kind not in WRITERS:
        raise Http404("Call types are exported as .xlsx or as .zip.")
    rows = CallType.objects.order_by("slug")
    if slug := request.GET.get("call", ""):
        rows = rows.filter(slug=slug)
    if not rows:
        raise Http404("There is no such call type.")
    name = f"calls-{rows[0].slug}" if slug else "calls"
    return as_file(WRITERS[kind]({each.slug: told_of(each) for each in rows}), f"{name}.{kind}")
