"""Required lists: what there is, a file to look at and take, and tying rows to needs."""

import base64
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.db.models import Count, Q
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.engine.required_file import COLUMNS
from drills.engine.suggestions import Suggestion
from drills.people.access import Request, closed_while_assessed
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.rigs import actions
from drills.rigs.access import KEEPERS, require_keeper
from drills.rigs.forms import RequiredListForm, TakeListForm
from drills.rigs.models import Need, RequiredList, RequiredRow, Revision, RevisionState
from drills.rigs.required import list_file
from drills.rigs.requiring import (
    Alike,
    ListPlan,
    RowAnswers,
    alike,
    likest_needs,
    plan_list,
    read_row_answers,
)
from drills.rigs.tying import LATER, NONE, OTHER

# A page sends four fields for each row, and stays short enough to read.
WAITING_SHOWN = 40
CHANGED = (
    "Somebody changed the list since this was shown, so nothing is stored. What the file would "
    "change now stands below; look at it once more."
)


@dataclass(frozen=True, slots=True)
class Question:
    """Rows to decide on together, with the needs they may be and what came in for them."""

    alike: Alike
    suggestions: list[tuple[Suggestion, Need]]
    given: dict[str, str]
    fault: str = ""

    @property
    def first(self) -> RequiredRow:
        return self.alike.first


@dataclass
class Desk:
    """Everything the page of one list is made from, read once."""

    of: RequiredList
    again: str = ""
    posted: QueryDict = field(default_factory=QueryDict)
    answers: RowAnswers = field(default_factory=RowAnswers)

    def __post_init__(self) -> None:
        self.needs: list[Need] = list(Need.objects.order_by("name_us", "key"))
        rows = self.of.rows.select_related("of", "decided_by")
        self.rows: list[Alike] = alike(rows)

    @property
    def waiting(self) -> list[Alike]:
        """What nobody has decided on."""
        return [each for each in self.rows if each.first.decided_at is None]

    @property
    def asked(self) -> list[Alike]:
        """What is to be decided again, then all that waits."""
        return [each for each in self.rows if self._is_again(each)] + self.waiting

    def _is_again(self, each: Alike) -> bool:
        came_in = {*self.answers.decided, *self.answers.faults}
        wanted = str(each.first.pk) == self.again or each.first.pk in came_in
        return each.first.decided_at is not None and wanted


@require_http_methods(["GET", "HEAD", "POST"])
def required(request: Request) -> HttpResponse:
    """The lists there are; or what a file that was sent would make of one, nothing stored."""
    closed_while_assessed(request.user)
    if request.method != "POST":
        return _lists(request, RequiredListForm(), {})
    require_keeper(request.user)
    form = RequiredListForm(request.POST, request.FILES)
    if not form.is_valid():
        return _lists(request, form, {}, status=422)
    data: bytes = form.cleaned_data["rows"]
    return _planned(request, form, plan_list(form.cleaned_data["name"], data), data)


@post_alone
def take_required(request: Request) -> HttpResponse:
    """Store the list that was shown; if it would be something else by now, show that instead."""
    require_keeper(request.user)
    form = TakeListForm(request.POST)
    if not form.is_valid():
        fault = next(iter(form.errors.values()))[0]
        return _lists(request, RequiredListForm(), {"fault": fault}, status=422)
    name, data = form.cleaned_data["name"], form.cleaned_data["content"]
    seen, now = form.cleaned_data["seen"], timezone.now()
    try:
        plan = actions.take_list(name, data, seen=seen, by=request.user, now=now)
    except actions.NotTakenError as refused:
        return _planned(request, RequiredListForm(), refused.plan, data, fault=CHANGED)
    messages.success(request, f"{plan.name} is stored: {len(plan.file.rows)} rows.")
    return go_to(request, reverse("rigs:required_list", args=[plan.slug]))


@require_http_methods(["GET", "HEAD", "POST"])
def required_list(request: Request, listed: str) -> HttpResponse:
    """One list: the rows that wait with suggestions, many decided at once; and what is tied."""
    require_keeper(request.user)
    desk = Desk(_list(listed), again=request.GET.get("again", ""))
    if request.method != "POST":
        return _desk(request, desk)
    if desk.of.is_sample:
        return _desk(request, desk, fault="A sample is tied as it came. Nothing is stored.")
    desk.posted = request.POST
    desk.answers = read_row_answers(request.POST.dict(), desk.rows, desk.needs)
    if fault := desk.answers.fault:
        return _desk(request, desk, fault=fault)
    new = actions.tie_rows(desk.answers.decided, desk.rows, by=request.user, now=timezone.now())
    messages.success(request, f"{new} row{'' if new == 1 else 's'} decided.")
    return go_to(request, reverse("rigs:required_list", args=[listed]))


@require_GET
def required_file(request: Request, listed: str) -> HttpResponse:
    """A list with its ties as a file, to load again under this name or another."""
    require_keeper(request.user)
    response = HttpResponse(list_file(_list(listed)), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="required-{listed}.csv"'
    return response


def _list(slug: str) -> RequiredList:
    found = RequiredList.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no required list of that name.")
    return found


def _lists(
    request: Request, form: RequiredListForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    is_keeper = request.user.holds(*KEEPERS)
    shown = Q(state__in=(RevisionState.PUBLISHED, RevisionState.COMING))
    if is_keeper:
        shown |= Q(state=RevisionState.DRAFT)
    context |= {
        "form": form,
        "is_keeper": is_keeper,
        "columns": COLUMNS,
        "lists": RequiredList.objects.annotate(
            count=Count("rows"), waiting=Count("rows", filter=Q(rows__decided_at=None))
        ),
        "revisions": Revision.objects.filter(shown).select_related("layout"),
    }
    return page_or_part(request, "rigs/required.html", "sheet", context, status=status)


def _planned(
    request: Request, form: RequiredListForm, plan: ListPlan, data: bytes, *, fault: str = ""
) -> HttpResponse:
    context = {"plan": plan, "content": base64.b64encode(data).decode(), "fault": fault}
    return _lists(request, form, context, status=422 if plan.file.problems or fault else 200)


def _desk(request: Request, desk: Desk, *, fault: str = "") -> HttpResponse:
    asked = [] if desk.of.is_sample else desk.asked
    context = {
        "list": desk.of,
        "needs": desk.needs,
        "waiting": sum(len(each.rows) for each in desk.waiting),
        "more": max(0, len(asked) - WAITING_SHOWN),
        "questions": _questions(desk, asked[:WAITING_SHOWN]),
        "decided": [each for each in desk.rows if each.first.decided_at],
        "fault": fault,
        "answers": desk.answers,
        "later": LATER,
        "other": OTHER,
        "none": NONE,
    }
    return render(request, "rigs/required_list.html", context, status=422 if fault else 200)


def _questions(desk: Desk, rows: list[Alike]) -> list[Question]:
    by_key = {need.key: need for need in desk.needs}
    likest = likest_needs(rows, desk.needs)
    return [
        Question(
            each,
            [(found, by_key[found.need]) for found in likest[each.first.pk]],
            {
                name: desk.posted.get(f"{name}-{each.first.pk}", "")
                for name in ("tie", "need", "holds", "note")
            },
            desk.answers.faults.get(each.first.pk, ""),
        )
        for each in rows
    ]
