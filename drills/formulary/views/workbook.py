"""Workbooks of the formulary: read and looked at, stored as a draft, and given out."""

import binascii
from base64 import b64decode, b64encode
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.formulary_workbook import (
    Book,
    ReadBook,
    blank_book,
    read_book,
    to_xlsx,
    to_zip,
)
from drills.engine.medicines import SAFETY_WORDS
from drills.formulary import actions
from drills.formulary.access import require_importer, require_reader, revision_for_reader
from drills.formulary.forms import StoreForm
from drills.formulary.models import FormularyRevision
from drills.formulary.workbook.preview import preview_of
from drills.formulary.workbook.remarks import passing, rule_of, stopping
from drills.formulary.workbook.rows import RenamedError
from drills.formulary.workbook.told import book_of, known
from drills.people.access import Request
from drills.people.rendering import as_file, go_to, post_alone
from drills.rigs.forms import WorkbookForm

WRITERS = {"xlsx": to_xlsx, "zip": to_zip}


@require_http_methods(["GET", "HEAD", "POST"])
def import_(request: Request) -> HttpResponse:
    """Read a workbook: every problem at once, or what it would change; nothing is stored yet."""
    require_importer(request.user)
    if request.method != "POST":
        return _page(request, WorkbookForm(), {})
    form = WorkbookForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, {}, status=422)
    given: UploadedFile[bytes] = form.cleaned_data["workbook"]
    parsed = read_book(given.read(), known(), name=given.name or "")
    if parsed.book is None:
        return _page(request, form, {"parsed": parsed, "file": given.name}, status=422)
    return _looked_at(request, parsed.book, parsed, file=given.name or "")


@post_alone
def store(request: Request) -> HttpResponse:
    """Store the workbook that was looked at; it is read again, since it came from outside again.

    Where another revision has come in force since, it is shown once more against that.
    """
    require_importer(request.user)
    form = StoreForm(request.POST)
    parsed = read_book(_content(form), known(), name="formulary.zip")
    if parsed.book is None:
        return _page(request, WorkbookForm(), {"parsed": parsed, "file": "the page"}, status=422)
    now = timezone.now()
    before = preview_of(parsed.book, now).before
    if (before.number if before else None) != form.seen:
        fault = "Another revision has come in force since you looked. Look at it again."
        return _looked_at(request, parsed.book, parsed, fault=fault)
    try:
        revision = actions.import_formulary(parsed.book, by=request.user, now=now)
    except RenamedError as refused:
        return _looked_at(request, parsed.book, parsed, fault=str(refused))
    messages.success(request, f"{revision} says what the workbook says.")
    return go_to(request, reverse("formulary:revision", args=[revision.number]))


def _content(form: StoreForm) -> bytes:
    try:
        return b64decode(form.data.get("book", ""), validate=True)
    except (binascii.Error, ValueError):
        return b""


def _looked_at(
    request: Request, book: Book, parsed: ReadBook, *, file: str = "", fault: str = ""
) -> HttpResponse:
    preview = preview_of(book, timezone.now())
    context = {
        "preview": preview,
        "parsed": parsed,
        "file": file,
        "name": book.name,
        "fault": fault,
        "book": b64encode(to_zip(book)).decode(),
    }
    return _page(request, WorkbookForm(), context, status=422 if fault else 200)


def _page(
    request: Request, form: WorkbookForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    context |= {"form": form, "safety_words": SAFETY_WORDS}
    if parsed := context.get("parsed"):
        faults = context["preview"].faults if "preview" in context else []
        context |= {"stopping": stopping(parsed, faults), "passing": passing(parsed)}
        context["problems"] = [(each, rule_of(parsed, each)) for each in parsed.problems]
    return render(request, "formulary/import.html", context, status=status)


@require_GET
def export(request: Request, number: int, kind: str) -> HttpResponse:
    """A revision as a workbook."""
    revision = revision_for_reader(request.user, number)
    return _file(book_of(revision), f"formulary-rev-{number}", kind)


@require_GET
def start_workbook(request: Request, which: str) -> HttpResponse:
    """An empty workbook, or that of the demonstration formulary."""
    require_reader(request.user)
    if which == "blank":
        return as_file(blank_book(), "formulary-blank.xlsx")
    sample = FormularyRevision.objects.filter(is_demo=True).first()
    if which != "sample" or sample is None:
        raise Http404("There is a blank workbook, and a sample where the demonstration is loaded.")
    return _file(book_of(sample), "formulary-sample", "xlsx")


def _file(book: Book, name: str, kind: str) -> HttpResponse:
    if kind not in WRITERS:
        raise Http404("A formulary is exported as .xlsx or as .zip.")
    return as_file(WRITERS[kind](book), f"{name}.{kind}")
