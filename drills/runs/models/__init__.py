"""Tables of the room. Within it `runs` may use `assignments`."""

from drills.runs.models.assignments import Assigned, Assignment
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
    "Presentation",
    "PresentationState",
    "Run",
    "RunState",
    "TappingBaseline",
    "VoidReason",
    "new_token",
]
