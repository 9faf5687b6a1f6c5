"""Pages of the room: taking a run, and giving drills to people."""

from drills.runs.views.assignments import (
    assign,
    assignment,
    assignments,
    excuse,
    withdraw,
)
from drills.runs.views.contests import contest, contests, decide
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
    "contest",
    "contests",
    "debrief",
    "decide",
    "excuse",
    "not_there",
    "proceed",
    "report",
    "start",
    "take",
    "withdraw",
]
