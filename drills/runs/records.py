"""What this room keeps about one person: runs, answers, what was assigned, and sign-offs."""

from datetime import datetime
from typing import Any

from django.db.models import Model, QuerySet
from django.utils import timezone

from drills.competency.records import HELD_BACK
from drills.people.models import Person
from drills.runs import signing_records
from drills.runs.actions import lines_of, parts_of
from drills.runs.models import (
    Assigned,
    Assignment,
    CalendarFeed,
    Contest,
    Presentation,
    ReminderAddress,
    Run,
    Series,
    Sheet,
    SheetContest,
    TappingBaseline,
)
from drills.runs.reports import minutes_spent
from drills.runs.told import tell
from drills.scenarios.models import Drill, Mode
from drills.scenarios.reading import layout_asked


def record_of(person: Person) -> dict[str, Any]:
    """Runs with each answer, what was assigned and given to others, and tapping baselines."""
    runs = person.runs.select_related("drill__recipe", "drill__revision__layout", "rig")
    assigned = person.assigned.select_related("assignment__recipe")
    given = Assignment.objects.select_related("recipe").filter(given_by=person)
    return {
        "runs": [_run(each) for each in runs.order_by("started_at")],
        "assigned": [
            {
                "what": str(each.assignment),
                "given": each.assignment.given_at,
                "note": each.assignment.note,
                "attempts": each.assignment.attempts,
                "withdrawn": each.assignment.withdrawn_at,
                "excused": each.excused_at,
                "because": each.excused_because,
            }
            for each in assigned.order_by("assignment__given_at")
        ],
        "assignments given": [
            {"what": str(each), "given": each.given_at, "note": each.note} for each in given
        ],
        "series given": [
            {"what": str(each), "given": each.given_at, "note": each.note}
            for each in person.series_given.all()
        ],
        "seen at the rig": [_sheet(each) for each in person.sheets.select_related("rig", "drill")],
        "watched at the rig": person.sheets_kept.count(),
        "calendar made": CalendarFeed.objects.filter(person=person)
        .values_list("made_at", flat=True)
        .first(),
        "reminders": [
            {"to": each.address, "confirmed": each.confirmed_at, "last": each.told_on}
            for each in ReminderAddress.objects.filter(person=person)
        ],
        "tapping baselines": [
            {"device": each.device_class, "seconds": each.seconds, "measured": each.measured_at}
            for each in person.baselines.order_by("measured_at")
        ],
        **signing_records.record_of(person),
    }


def held_since(person: Person) -> datetime | None:
    """When the oldest assessed run of the person began that is open still."""
    still_open = Run.objects.under_way(timezone.now()).filter(person=person, mode=Mode.ASSESSED)
    oldest = still_open.order_by("started_at").first()
    return oldest.started_at if oldest else None


def erase(person: Person, *, now: datetime) -> tuple[dict[str, int], dict[str, int], list[str]]:
    """What goes and what stays without them, in rows of each kind, and what the law holds.

    The weights of a drill are what its first rider was thought to miss, so a drill that others
    rode too stays without weights. What the person gave to others, or excused them from, stays.
    """
    went = {
        "answers": Presentation.objects.filter(run__person=person).count(),
        "contests": Contest.objects.filter(presentation__run__person=person).count()
        + SheetContest.objects.filter(sheet__person=person).count(),
        "runs": person.runs.count(),
    }
    signed, given_signed, held = signing_records.erase(person, now=now)
    drills = list(person.runs.values_list("drill", flat=True))
    drills += person.sheets.values_list("drill", flat=True)
    given = list(person.assigned.values_list("assignment", flat=True))
    person.runs.all().delete()
    went["sheets of what was seen at the rig"] = _delete(person.sheets.all(), Sheet)
    unridden = Drill.objects.filter(pk__in=drills, runs=None, sheets=None)
    went["drills nobody else rode"] = _delete(unridden, Drill)
    went["assigned to them"] = _delete(person.assigned.all(), Assigned)
    unheld = Assignment.objects.filter(pk__in=given, assigned=None)
    went["assignments to nobody else"] = _delete(unheld, Assignment)
    went["series to nobody else"] = _delete(Series.objects.filter(assignments=None), Series)
    went["calendars"] = _delete(CalendarFeed.objects.filter(person=person), CalendarFeed)
    went["addresses for reminders"] = _delete(
        ReminderAddress.objects.filter(person=person), ReminderAddress
    )
    went["tapping baselines"] = _delete(person.baselines.all(), TappingBaseline)
    stays = {
        "drills that others rode": Drill.objects.filter(pk__in=drills).update(weights={}),
        "assignments given": Assignment.objects.filter(given_by=person).count(),
        "series given": person.series_given.count(),
        "excused by them": Assigned.objects.filter(excused_by=person).count(),
        "sheets they kept of others": person.sheets_kept.count(),
        "contests they decided": Contest.objects.filter(decided_by=person).count()
        + SheetContest.objects.filter(decided_by=person).count(),
    }
    return went | signed, stays | given_signed, held


def _delete(rows: QuerySet[Any], kind: type[Model]) -> int:
    """Delete rows; how many there were of the kind itself, what hangs on them not counted."""
    return rows.delete()[1].get(kind._meta.label, 0)


def _sheet(sheet: Sheet) -> dict[str, Any]:
    """What an officer saw; of an open sheet that it is open."""
    if sheet.is_open:
        return {"rig": sheet.rig.unit, "opened": sheet.opened_at, "state": sheet.state}
    return {
        "rig": sheet.rig.unit,
        "opened": sheet.opened_at,
        "closed": sheet.closed_at,
        "outcome": sheet.outcome,
        "seconds": sheet.seconds,
        "of each thing": sheet.timed,
        "lines": {
            line.name: sheet.seen.get(str(number), "")
            for number, line in enumerate(lines_of(sheet))
        },
        "missed": sheet.missed,
        "chance of all of it thought beforehand": sheet.thought,
        "thought by": sheet.thought_by,
        "all of it in time": sheet.came_off,
        "wrong doors": sheet.wrong_doors,
        "comment": sheet.comment,
        "contested": [
            {"what": parts_of(sheet)[each.part], **_contested(each)}
            for each in sheet.contests.all()
        ],
        "voided": sheet.voided,
        "simulated": sheet.is_simulated,
    }


def _run(run: Run) -> dict[str, Any]:
    shown = run.presentations.select_related("prompt", "run__person", "contest").order_by("order")
    for_later = run.mode == Mode.ASSESSED and not run.is_over
    return {
        "drill": run.drill.recipe.name,
        "layout": str(run.drill.revision),
        "rig": run.rig.unit if run.rig else None,
        "mode": run.get_mode_display(),
        "state": run.told_state,
        "started": run.started_at,
        "finished": run.finished_at,
        "minutes spent": minutes_spent([run])[run.pk],
        "timed": run.is_timed,
        "by scan": run.by_scan,
        "allowance": run.allowance,
        "simulated": run.is_simulated,
        "asked more of": run.drill.weights,
        "answers": [_shown(each, run, for_later=for_later) for each in shown],
    }


def _shown(presentation: Presentation, run: Run, *, for_later: bool) -> dict[str, Any]:
    prompt = presentation.prompt
    asked = f"{prompt.name} {prompt.text}".strip() if prompt else "warm-up tap"
    return {
        "asked": asked,
        "state": presentation.void_reason or presentation.get_state_display(),
        "asked again": presentation.is_retry,
        "served": presentation.served_at,
        "received": presentation.received_at,
        "device": presentation.device_class,
        "seconds": presentation.seconds,
        "seconds are": presentation.time_state,
        "seconds by the server": presentation.server_seconds,
        "seconds by the browser": presentation.client_elapsed,
        "seconds until sent": presentation.client_gap,
        "seconds out of sight": presentation.client_hidden,
        "limit in seconds": presentation.limit_seconds,
        "cut-off in seconds": presentation.cut_off_seconds,
        "in time": presentation.time_verdict,
        **_judged(presentation, run, for_later=for_later),
        **_contested(getattr(presentation, "contest", None)),
    }


def _judged(presentation: Presentation, run: Run, *, for_later: bool) -> dict[str, Any]:
    """What was said and what is right; of an assessed run only once it is finished."""
    if presentation.prompt is None or not presentation.outcome:
        return {}
    if for_later:
        return {"outcome": HELD_BACK}
    told = tell(presentation, layout_asked(run.drill))
    return {
        "outcome": presentation.outcome,
        "said": list(told.said),
        "taken from, in order": presentation.taken_order,
        "right": list(told.right_places),
        "missed": list(told.missed),
        "not there": list(told.not_there),
        "near": told.near,
        "depth reached": told.depth_reached,
    }


def _contested(contest: Contest | SheetContest | None) -> dict[str, Any]:
    if contest is None:
        return {}
    return {
        "contested": contest.made_at,
        "because": contest.because,
        "decided": contest.decided_at,
        "verdict": contest.get_verdict_display(),
        "answered with": contest.answer,
    }
