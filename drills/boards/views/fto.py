"""The people of an FTO, and the page of one person."""

from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.boards.offers import offers_to
from drills.boards.officers import missed_by_several, trainees_of
from drills.boards.records import misses_of, skills_shown
from drills.competency.reports import has_history
from drills.formulary.waiting import set_anew, waits_for
from drills.people.access import (
    Request,
    closed_while_assessed,
    may_give_code,
    require_role,
    visible_person,
)
from drills.people.models import Person, Role
from drills.rigs.models import Absence
from drills.rigs.reports import heard_by, reported_path, todays_rig
from drills.runs.access import contests_waiting, readable_assignments
from drills.runs.assigned import as_listed, assigned_to, running
from drills.runs.models import Run
from drills.runs.reports import with_minutes
from drills.runs.series import running_days, series_listed, series_to, singles
from drills.runs.sheets import closed_sheets
from drills.runs.signed import lapsing_of, on_layouts

RUNS_SHOWN = 10


@require_GET
def fto(request: Request) -> HttpResponse:
    """The people paired with an FTO, and what waits for the FTO."""
    closed_while_assessed(request.user)
    person = require_role(request.user, Role.FTO)
    now, today = timezone.now(), timezone.localdate()
    rows, given = trainees_of(person, now=now), readable_assignments(person)
    absences = Absence.objects.open().select_related("rig", "revision__layout", "item", "place")
    context = {
        "rows": rows,
        "has_skills": any(row.has_missed_skills for row in rows),
        "unsafe": sum(row.is_unsafe for row in rows),
        "overdue": sum(row.overdue for row in rows),
        "own": _own(person, today),
        "several": missed_by_several(rows),
        "running": as_listed(
            running(given.filter(series=None), today=today), viewer=person, today=today
        ),
        "series": series_listed(
            running_days(given.exclude(series=None), today=today), viewer=person, today=today
        ),
        "lapsing": lapsing_of([row.person for row in rows], now=now),
        "offers": offers_to(person, now=now),
        "contests": contests_waiting(person),
        "reports": absences.count(),
        "heard": heard_by(person, now=now),
        "waits": waits_for(person),
        "set_anew": set_anew(person),
        "absences": [(each, reported_path(each)) for each in absences[:RUNS_SHOWN]],
    }
    return render(request, "boards/fto.html", context)


def _own(officer: Person, today: date) -> dict[str, object]:
    """What an officer has to do themselves."""
    assigned = singles(assigned_to(officer, today=today))
    return {
        "assigned": [each for each in assigned if each.is_to_do],
        "series": [each for each in series_to(officer, today=today) if each.next],
    }


@require_GET
def person(request: Request, employee_number: str) -> HttpResponse:
    """What one person still misses on each layout they were asked about, and their runs."""
    closed_while_assessed(request.user)
    seen = visible_person(request.user, employee_number)
    runs = Run.objects.that_tell(seen).select_related("drill__recipe", "rig")
    context = {
        "seen": seen,
        "may_give_code": may_give_code(request.user, seen),
        "may_give": seen != request.user and request.user.holds(Role.FTO, Role.EDUCATOR),
        "rig": todays_rig(seen),
        "layouts": misses_of(seen, viewer=request.user, now=timezone.now()),
        "skills": skills_shown(seen, viewer=request.user, now=timezone.now()),
        "runs": with_minutes(runs[:RUNS_SHOWN]),
        "has_history": has_history(seen),
        "sheets": closed_sheets(seen)[:RUNS_SHOWN],
        "signed": on_layouts(seen, now=timezone.now()),
    }
    return render(request, "boards/person.html", context)
