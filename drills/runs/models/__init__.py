"""Tables of the room. Within it `runs` may use `assignments`, and `contests` may use `runs`;
`hands_on` stands alone."""

from drills.runs.models.assignments import Assigned, Assignment
from drills.runs.models.contests import Contest, Verdict
from drills.runs.models.hands_on import Sheet, SheetState
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
    "Sheet",
    "SheetState",
    "TappingBaseline",
    "Verdict",
    "VoidReason",
    "new_token",
]
