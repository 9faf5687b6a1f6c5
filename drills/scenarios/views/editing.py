"""One row of a call type at a time, and its review."""

from dataclasses import dataclass

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
from drills.scenarios.fields import (
    LISTS_LENGTH,
    TITLES,
    VOCABULARIES,
    Field,
    Filled,
    fields_of,
    filled,
)
from drills.scenarios.forms import ReviewForm, RowForm
from drills.scenarios.kept import known, mark_of, row_of
from drills.scenarios.models import CallType, Problem
from drills.scenarios.views.looking import page_of

MOST_TYPED = 4 * LISTS_LENGTH


@dataclass(frozen=True, slots=True)
class Asked:
    """The row that a page is of: `at` is where it stands in its sheet, None for a new one."""

    call: CallType
    sheet: str
    at: int | None
    fields: tuple[Field, ...]

    @property
    def number(self) -> int | None:
        return None if self.at is None else self.at + 1

    @property
    def cells(self) -> dict[str, str]:
        """What it says as it is kept; nothing for a new one."""
        kept = row_of(self.call, self.sheet, self.at)
        return cells_of(self.sheet, kept) if kept is not None else {}


@require_http_methods(["GET", "HEAD", "POST"])
def row(request: Request, slug: str, sheet: str, number: int) -> HttpResponse:
    """One row to change, the first being number 1; nothing that was typed is lost."""
    if not number:
        raise Http404("There is no such row.")
    return _written(request, slug, sheet, number)


@require_http_methods(["GET", "HEAD", "POST"])
def add_row(request: Request, slug: str, sheet: str) -> HttpResponse:
    """A new row, or what the call type says of itself; nothing that was typed is lost."""
    return _written(request, slug, sheet, 0)


def _written(request: Request, slug: str, sheet: str, number: int) -> HttpResponse:
    asked = _asked(call_for_editor(request.user, slug), sheet, number)
    if request.method != "POST":
        return _page(request, asked)
    typed = {each.name: request.POST.get(each.name, "")[:MOST_TYPED] for each in asked.fields}
    try:
        _keep(request, asked, typed)
    except actions.CallRefusedError as refused:
        return _page(request, asked, typed=typed, refused=refused)
    messages.success(request, f"{asked.call.name} is kept.")
    return go_to(request, f"{reverse('scenarios:call', args=[slug])}#{sheet}")


def _asked(call: CallType, sheet: str, number: int) -> Asked:
    at = None if not number else number - 1
    if sheet not in READERS or (sheet == ABOUT and number):
        raise Http404("A call type has what it is, phrases, patients and needs.")
    if at is not None and row_of(call, sheet, at) is None:
        raise Http404("There is no such row.")
    return Asked(call, sheet, at, fields_of(sheet, call, known()))


def _keep(request: Request, asked: Asked, typed: dict[str, str]) -> None:
    """Write the row, or take it out; raises `CallRefusedError`."""
    form = RowForm(request.POST)
    seen = form.cleaned_data["seen"] if form.is_valid() else ""
    by, now = request.user, timezone.now()
    if asked.at is not None and form.cleaned_data.get("removes"):
        actions.remove_row(asked.call, asked.sheet, asked.at, seen=seen, by=by, now=now)
    else:
        actions.change_row(asked.call, asked.sheet, asked.at, typed, seen=seen, by=by, now=now)


def _page(
    request: Request,
    asked: Asked,
    *,
    typed: dict[str, str] | None = None,
    refused: actions.CallRefusedError | None = None,
) -> HttpResponse:
    """The form, with what was typed where it was refused, and the row as it is kept beside it."""
    asked.call.refresh_from_db()
    cells, faults = asked.cells, getattr(refused, "faults", {})
    context = {
        "call": asked.call,
        "of": asked.sheet,
        "title": TITLES[asked.sheet],
        "number": asked.number,
        "fields": filled(asked.fields, cells if typed is None else typed, faults),
        "kept": _otherwise(asked.fields, cells, typed) if typed else [],
        "fault": str(refused or ""),
        "mark": mark_of(asked.call, asked.sheet, asked.at),
        "needs": Need.objects.order_by("name_us") if asked.sheet == NEEDS else (),
        "problems": Problem.objects.all(),
        "vocabularies": VOCABULARIES if asked.sheet == ABOUT else (),
    }
    status = 422 if refused else 200
    return page_or_part(request, "scenarios/row.html", "row", context, status=status)


def _otherwise(
    fields: tuple[Field, ...], cells: dict[str, str], typed: dict[str, str]
) -> list[Filled]:
    """What is kept where something else was typed; nothing of a row that is new."""
    kept = filled(fields, cells, {}) if cells else []
    return [each for each in kept if each.value != typed[each.field.name]]


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
            patients=form.cleaned_data["patients"],
            by=request.user,
            now=timezone.now(),
        )
    except actions.CallRefusedError as refused:
        return page_of(request, call, fault=str(refused))
    messages.success(request, f"{call.name} is reviewed by {call.reviewed_by}.")
    return go_to(request, reverse("scenarios:call", args=[slug]))
