"""The page of the roster: who is here, a file to look at, and taking it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.boards.roster.forms import RosterForm, TakeForm, sent_again
from drills.boards.roster.planning import Choices, Plan, plan_roster
from drills.boards.roster.present import Names, Present, as_file, present, told_apart
from drills.boards.roster.taking import NotTakenError, take_roster
from drills.engine.roster import COLUMNS, EXAMPLE, write_roster
from drills.people.access import Request, require_role
from drills.people.models import Role, SignInCode
from drills.people.rendering import go_to, page_or_part, post_alone
from drills.people.reports import Waiting, waiting_for_slips

CHANGED = (
    "Somebody changed who is here since this was shown, so nothing is stored. What the file would "
    "change now stands below; look at it once more."
)


@dataclass(frozen=True, slots=True)
class Row:
    """One who is here: the columns in words, and how they get in: by a password, by a slip that
    is good until a moment, or not yet."""

    number: str
    told: dict[str, str]
    has_password: bool
    slip_until: datetime | None


@require_http_methods(["GET", "HEAD", "POST"])
def roster(request: Request) -> HttpResponse:
    """Who is here; or what a file that was sent would change, with nothing stored."""
    require_role(request.user, Role.ADMIN)
    if request.method != "POST":
        return _page(request, RosterForm(), {})
    form = RosterForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, {}, status=422)
    return _planned(request, form, form.cleaned_data["roster"], form.choices)


@post_alone
def take_file(request: Request) -> HttpResponse:
    """Store what was shown; if it would be something else by now, show that instead."""
    require_role(request.user, Role.ADMIN)
    form = TakeForm(request.POST)
    if not form.is_valid():
        return _page(request, RosterForm(), {"fault": "The file did not come whole."}, status=422)
    data, choices = form.cleaned_data["content"], form.choices
    try:
        plan = take_roster(
            data,
            choices=choices,
            seen=form.cleaned_data["seen"],
            by=request.user,
            now=timezone.now(),
        )
    except NotTakenError as refused:
        if not (refused.plan.problems or refused.plan.people):
            messages.info(request, "Everything in the file is so already. Nothing is stored.")
            return go_to(request, reverse("boards:roster"))
        return _planned(request, RosterForm(), data, choices, plan=refused.plan, fault=CHANGED)
    counts = f"{len(plan.added)} added, {len(plan.changed)} changed, {len(plan.leavers)} left"
    messages.success(request, f"The roster is stored: {counts}.")
    return go_to(request, reverse("boards:roster"))


@require_GET
def roster_file(request: Request, which: str) -> HttpResponse:
    """Everybody who is here as a file, or an empty one with a row as an example."""
    require_role(request.user, Role.ADMIN)
    if which not in ("present", "blank"):
        raise Http404("There is the present roster and a blank one, and no other.")
    is_blank = which == "blank"
    content = write_roster([EXAMPLE]) if is_blank else as_file(present(now=timezone.now()))
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="roster-{which}.csv"'
    return response


def _planned(
    request: Request,
    form: RosterForm,
    data: bytes,
    choices: Choices,
    *,
    plan: Plan | None = None,
    fault: str = "",
) -> HttpResponse:
    found = plan or plan_roster(data, choices=choices, by=request.user, now=timezone.now())
    again = sent_again(data, choices, found.fingerprint)
    context = {"plan": found, "again": again, "choices": choices, "fault": fault}
    return _page(request, form, context, status=422 if found.problems or fault else 200)


def _page(
    request: Request, form: RosterForm, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    now, find = timezone.now(), request.GET.get("find", "").strip()
    here = present(now=now)
    waiting = waiting_for_slips(now=now)
    rows = _rows(here, waiting, find.casefold())
    left = sum(not each.is_active for each in here.people.values())
    context |= {"form": form, "columns": COLUMNS, "waiting": waiting}
    context |= {"rows": rows, "find": find, "left": left}
    return page_or_part(request, "boards/roster.html", "sheet", context, status=status)


def _rows(here: Present, waiting: Waiting, find: str) -> list[Row]:
    """Everybody who is here, by name; with words to find, those who have them in number or name."""
    levels, stations, cohorts = map(told_apart, (here.levels, here.stations, here.cohorts))
    names = Names(levels, stations, cohorts, here.people)
    until = dict(SignInCode.objects.values_list("person__employee_number", "lapses_at"))
    unused = {person.employee_number for person in waiting.unused}
    without = {person.employee_number for person in waiting.without} | unused
    return [
        Row(
            number,
            names.told(each),
            number not in without,
            until[number] if number in unused else None,
        )
        for number, each in sorted(here.people.items(), key=lambda pair: (pair[1].name, pair[0]))
        if each.is_active and find in f"{number} {each.name}".casefold()
    ]
