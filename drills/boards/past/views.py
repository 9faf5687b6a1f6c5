"""The page of past records: a file to look at, taking it, and taking it back."""

import base64
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.boards.past import accepted
from drills.boards.past.forms import RecordsAgainForm, RecordsForm, TakeBackForm
from drills.competency.alone import UnderWayError
from drills.competency.past.planning import Plan, plan_records
from drills.competency.past.taking import NotTakenError, take_records
from drills.competency.past.taking_back import (
    File,
    NotTakenBackError,
    files_taken_in,
    take_back,
)
from drills.engine.headed import write_headed
from drills.engine.past_records import COLUMNS, EXAMPLE, NEEDED, OUTCOMES, write_records
from drills.people.access import Request, closed_while_assessed, require_role
from drills.people.models import AuditEntry, Role
from drills.people.rendering import go_to, page_or_part, post_alone

# A page tells the first so many records, and so many problems or remarks; the others are counted.
RECORDS_SHOWN, SHOWN = 20, 200
FILES_SHOWN = 5
NOT_WHOLE = "The file did not come whole. Choose it again."
CHANGED = (
    "What is here has changed since this was shown, so nothing is stored. What the file would add "
    "now stands below; look at it once more."
)


@require_http_methods(["GET", "HEAD", "POST"])
def past_records(request: Request) -> HttpResponse:
    """How a file is made; or what one that was sent would add, with nothing stored.

    A refusal tells where things lie, so it is closed while an assessed prompt is open.
    """
    _let_in(request)
    if request.method != "POST":
        return _page(request, RecordsForm(), {})
    form = RecordsForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, {}, status=422)
    data, name = form.cleaned_data["records"], request.FILES.getlist("records")[0].name or ""
    plan = plan_records(data, by=request.user, now=timezone.now())
    return _planned(request, data, name, plan)


@post_alone
def take_past_records(request: Request) -> HttpResponse:
    """Store what was shown; if it would be something else by now, show that instead."""
    _let_in(request)
    form = RecordsAgainForm(request.POST)
    if not form.is_valid():
        return _page(request, RecordsForm(), {"fault": NOT_WHOLE}, status=422)
    data, seen, name = (form.cleaned_data[each] for each in ("content", "seen", "name"))
    try:
        plan = take_records(data, seen=seen, by=request.user, now=timezone.now(), name=name)
    except NotTakenError as refused:
        return _planned(request, data, name, refused.plan, fault=CHANGED)
    except UnderWayError as error:
        plan = plan_records(data, by=request.user, now=timezone.now())
        fault = f"{error} Nothing is stored; store it after that."
        return _planned(request, data, name, plan, fault=fault)
    counts = f"{len(plan.records)} of {len(plan.of_people)} people"
    messages.success(request, f"Past records are stored: {counts}. The next refit reads them.")
    return go_to(request, reverse("boards:past_records"))


@post_alone
def take_back_past_records(request: Request, number: int) -> HttpResponse:
    """Take back what came in with one file."""
    _let_in(request)
    form = TakeBackForm(request.POST)
    if not form.is_valid():
        return _not_taken_back(request, number, str(form.errors["because"][0]))
    now, because = timezone.now(), form.cleaned_data["because"]
    try:
        file = take_back(number, because=because, by=request.user, now=now)
    except AuditEntry.DoesNotExist as error:
        raise Http404("No file of that number was taken in.") from error
    except NotTakenBackError as refused:
        return _not_taken_back(request, number, str(refused))
    counts = f"{file.standing} records of {file.people} people"
    messages.success(request, f"Taken back: {counts}. The next refit leaves them out.")
    return go_to(request, reverse("boards:past_records"))


def _not_taken_back(request: Request, number: int, fault: str) -> HttpResponse:
    context = {"not_taken_back": number, "why_not": fault}
    return _page(request, RecordsForm(), context, status=422)


@require_GET
def blank_past_records(request: Request) -> HttpResponse:
    """An empty file with a row as an example."""
    _let_in(request)
    response = HttpResponse(write_records([EXAMPLE]), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="past-records-blank.csv"'
    return response


@require_GET
def accepted_names(request: Request) -> HttpResponse:
    """Every name that a file may use of what is in force today, as a file for a spreadsheet."""
    _let_in(request)
    content = write_headed(accepted.HEADER, accepted.rows())
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="past-records-names.csv"'
    return response


def _let_in(request: Request) -> None:
    require_role(request.user, Role.EDUCATOR, Role.ADMIN)
    closed_while_assessed(request.user)


def _planned(
    request: Request, data: bytes, name: str, plan: Plan, *, fault: str = ""
) -> HttpResponse:
    content = base64.b64encode(data).decode()
    context = {
        "plan": plan,
        "again": {"content": content, "seen": plan.fingerprint, "name": name},
        "fault": fault,
        "shown": SHOWN,
        "records_shown": RECORDS_SHOWN,
    }
    status = 422 if plan.problems or fault else 200
    return _page(request, RecordsForm(), context, status=status)


def _page(
    request: Request, form: RecordsForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    context |= {"form": form, "columns": COLUMNS, "needed": NEEDED, "outcomes": tuple(OUTCOMES)}
    if "plan" not in context:
        files = files_taken_in()
        context["layouts"] = accepted.layouts()
        context |= {"files": files[:FILES_SHOWN], "by_month": _by_month(files[FILES_SHOWN:])}
    return page_or_part(request, "boards/past_records.html", "sheet", context, status=status)


@dataclass(frozen=True, slots=True)
class Month:
    """The files of one month by the agency's clock, the newest first."""

    first: datetime
    files: list[File]

    @property
    def standing(self) -> int:
        """How many of their records stand."""
        return sum(each.standing for each in self.files)

    @property
    def numbers(self) -> set[int]:
        """By which they are taken back."""
        return {each.line.pk for each in self.files}


def _by_month(files: Iterable[File]) -> list[Month]:
    def month(file: File) -> datetime:
        at = timezone.localtime(file.line.at)
        return at.replace(day=1, hour=0, minute=0, second=0, microsecond=0)

    return [Month(first, list(of)) for first, of in groupby(files, month)]
