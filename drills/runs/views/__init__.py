"""Pages of the room: taking a run, giving drills to people, kits at the open doors, sign-offs."""

from drills.runs.views.assignments import (
    assign,
    assignment,
    assignments,
    excuse,
    withdraw,
)
from drills.runs.views.contests import (
    contest,
    contest_written,
    contests,
    decide,
    decide_sheet,
)
from drills.runs.views.due import calendar, confirm_address, due, make_calendar, revoke_calendar
from drills.runs.views.motions import motions
from drills.runs.views.no_signal import no_signal, without_signal
from drills.runs.views.observing import deed, hands_on, sheet
from drills.runs.views.phases import (
    drop_phase,
    note,
    phase,
    phases,
    place,
    show_item,
    training,
)
from drills.runs.views.scanning import scan
from drills.runs.views.series import change_series, excuse_series, series, withdraw_series
from drills.runs.views.signing import lapsing, sign, sign_offs, signing, withdraw_sign_off
from drills.runs.views.taking import (
    answer,
    away,
    debrief,
    not_there,
    proceed,
    report,
    start,
    take,
)

__all__ = [
    "answer",
    "assign",
    "assignment",
    "assignments",
    "away",
    "calendar",
    "change_series",
    "confirm_address",
    "contest",
    "contest_written",
    "contests",
    "debrief",
    "decide",
    "decide_sheet",
    "deed",
    "drop_phase",
    "due",
    "excuse",
    "excuse_series",
    "hands_on",
    "lapsing",
    "make_calendar",
    "motions",
    "no_signal",
    "not_there",
    "note",
    "phase",
    "phases",
    "place",
    "proceed",
    "report",
    "revoke_calendar",
    "scan",
    "series",
    "sheet",
    "show_item",
    "sign",
    "sign_offs",
    "signing",
    "start",
    "take",
    "training",
    "withdraw",
    "withdraw_series",
    "withdraw_sign_off",
    "without_signal",
]
