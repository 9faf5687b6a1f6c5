"""Tables of the room. Within it `runs` may use `assignments`, and `contests` may use `runs`
and `hands_on`, `signing` may use `hands_on`; that, `phases` and `reminders` stand alone."""

from drills.runs.models.assignments import Assigned, Assignment, Series
from drills.runs.models.contests import Contest, SheetContest, Verdict
from drills.runs.models.hands_on import DOORS, TIME, Sheet, SheetState
from drills.runs.models.phases import DailyNote, ItemShown, Phase, PhaseItem, PhaseSpell
from drills.runs.models.reminders import CalendarFeed, ReminderAddress
from drills.runs.models.runs import (
    LEFT_ALONE_AFTER,
    Presentation,
    PresentationState,
    Run,
    RunState,
    TappingBaseline,
    VoidReason,
    new_token,
)
from drills.runs.models.signing import SigningSettings, SignOff

__all__ = [
    "DOORS",
    "LEFT_ALONE_AFTER",
    "TIME",
    "Assigned",
    "Assignment",
    "CalendarFeed",
    "Contest",
    "DailyNote",
    "ItemShown",
    "Phase",
    "PhaseItem",
    "PhaseSpell",
    "Presentation",
    "PresentationState",
    "ReminderAddress",
    "Run",
    "RunState",
    "Series",
    "Sheet",
    "SheetContest",
    "SheetState",
    "SignOff",
    "SigningSettings",
    "TappingBaseline",
    "Verdict",
    "VoidReason",
    "new_token",
]
