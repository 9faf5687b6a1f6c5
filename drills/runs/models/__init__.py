"""Tables of the room. Within it `runs` may use `assignments`, and `contests` may use `runs`."""

from drills.runs.models.assignments import Assigned, Assignment
from drills.runs.models.contests import Contest, Verdict
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

__all__ = [
    "LEFT_ALONE_AFTER",
    "Assigned",
    "Assignment",
    "Contest",
    "Presentation",
    "PresentationState",
    "Run",
    "RunState",
    "TappingBaseline",
    "Verdict",
    "VoidReason",
    "new_token",
]
