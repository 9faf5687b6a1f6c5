"""One row of a call type at a time, and its review."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from drills.engine.calls_workbook import ABOUT, NEEDS, READERS, cells_of
from drills.people.access import Request
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.rigs.models import Need
from drills.scenarios import actions
from drills.scenarios.access import call_for_editor
from drills.scenarios.fields import LISTS_LENGTH, TITLES, Field, fields_of, filled
from drills.scenarios.forms import ReviewForm, RowForm
from drills.scenarios.kept import known, mark_of, row_of
from drills.scenarios.models import CallType, Problem
from drills.scenarios.views.looking import page_of


@require_http_methods(["GET", "HEAD", "POST"])
def row(request: Request, slug: str, sheet: str, number: int = 0) -> HttpResponse:
    """One row to change, the first being number 1, or a new one; nothing that was typed is lost."""
    call = call_for_editor(request.user, slug)
    at = None if not number else number - 1
    if sheet not in READERS or (sheet == ABOUT and number):
        raise Http404("A call type has what it is, phrases, patients and needs.")
    if at is not None and row_of(call, sheet, at) is None:
        raise Http404("There is no such row.")
    fields = fields_of(sheet, call, known())
    if request.method != "POST":
        return _page(request, call, sheet, at, fields)
    form, typed = RowForm(request.POST), _typed(request, fields)
    seen = form.cleaned_data["seen"] if form.is_valid() else ""
    who: dict[str, Any] = {"seen": seen, "by": request.user, "now": timezone.now()}
    try:
        if at is not None and form.cleaned_data.get("removes"):
            actions.remove_row(call, sheet, at, **who)
        else:
            actions.change_row(call, sheet, at, typed, **who)
    except actions.CallRefusedError as refused:
        return _page(request, call, sheet, at, fields, typed=typed, refused=refused)
    messages.success(request, f"{call.name} is kept.")
    return go_to(request, f"{reverse('scenarios:call', args=[slug])}#{sheet}")


def _typed(request: Request, fields: tuple[Field, ...]) -> dict[str, str]:
    return {each.name: request.POST.get(each.name, "")[: LISTS_LENGTH * 4] for each in fields}


def _page(
    request: Request,
    call: CallType,
    sheet: str,
    at: int | None,
    fields: tuple[Field, ...],
    *,
    typed: dict[str, str] | None = None,
    refused: actions.CallRefusedError | None = None,
) -> HttpResponse:
    """The form, with what was typed where it was refused, and the row as it is kept beside it."""
    call.refresh_from_db()
    kept = row_of(call, sheet, at)
    cells = cells_of(sheet, kept) if kept is not None else {}
    faults = refused.faults if isinstance(refused, actions.RowRefusedError) else {}
    context = {
        "call": call,
        "of": sheet,
        "title": TITLES[sheet],
        "at": at,
        "number": None if at is None else at + 1,
        "fields": filled(fields, cells if typed is None else typed, faults),
        "kept": filled(fields, cells, {}) if typed is not None and cells != typed else [],
        "fault": str(refused) if refused else "",
        "mark": mark_of(call, sheet, at),
        "needs": Need.objects.order_by("name_us") if sheet == NEEDS else (),
        "problems": Problem.objects.all(),
    }
    status = 422 if refused else 200
    return page_or_part(request, "scenarios/row.html", "row", context, status=status)


@post_alone
def review(request: Request, slug: str) -> HttpResponse:
    """Keep who reviewed a call type."""
    call = call_for_editor(request.user, slug)
    form = ReviewForm(request.POST)
    if not form.is_valid():
        return page_of(request, call, fault=str(next(iter(form.errors.values()))[0]))
    try:
        call = actions.review_call(
            call,
            reviewer=form.cleaned_data["reviewer"],
            version=form.cleaned_data["version"] or 0,
            by=request.user,
            now=timezone.now(),
        )
    except actions.CallRefusedError as refused:
        return page_of(request, call, fault=str(refused))
    messages.success(request, f"{call.name} is reviewed by {call.reviewed_by}.")
    return go_to(request, reverse("scenarios:call", args=[slug]))
