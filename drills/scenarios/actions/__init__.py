"""What is done here: drills are made, call types changed, reviewed and brought in."""

from drills.scenarios.actions.calls import (
    CallRefusedError,
    RowRefusedError,
    change_row,
    import_calls,
    remove_row,
    review_call,
)
from drills.scenarios.actions.making import make_drill

__all__ = [
    "CallRefusedError",
    "RowRefusedError",
    "change_row",
    "import_calls",
    "make_drill",
    "remove_row",
    "review_call",
]
