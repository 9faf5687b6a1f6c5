"""Changes to layouts and rigs, each with its check and its line in the audit.

`storing` may use nothing of the others, `drafting` uses it, `revisions` both.
"""

from drills.rigs.actions.absences import answer_absence, held_pairs, report_absence
from drills.rigs.actions.drafting import NothingToUndoError, edit_draft, open_draft, undo_step
from drills.rigs.actions.fleet import add_rig, pick_rig, refit_rig
from drills.rigs.actions.places import keep_places
from drills.rigs.actions.revisions import (
    bring_back_layout,
    bring_in_force,
    call_off_revision,
    discard_draft,
    import_layout,
    is_due,
    publish_revision,
    retire_layout,
)

__all__ = [
    "NothingToUndoError",
    "add_rig",
    "answer_absence",
    "bring_back_layout",
    "bring_in_force",
    "call_off_revision",
    "discard_draft",
    "edit_draft",
    "held_pairs",
    "import_layout",
    "is_due",
    "keep_places",
    "open_draft",
    "pick_rig",
    "publish_revision",
    "refit_rig",
    "report_absence",
    "retire_layout",
    "undo_step",
]
