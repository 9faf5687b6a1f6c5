"""Changes to layouts and rigs, each with its check and its line in the audit.

`storing` may use nothing of the others, `drafting` uses it, `revisions` both.
"""

from drills.rigs.actions.absences import answer_absence, held_pairs, report_absence
from drills.rigs.actions.drafting import NothingToUndoError, edit_draft, open_draft, undo_step
from drills.rigs.actions.fleet import add_rig, pick_rig, refit_rig
from drills.rigs.actions.revisions import discard_draft, import_layout, publish_revision

__all__ = [
    "NothingToUndoError",
    "add_rig",
    "answer_absence",
    "discard_draft",
    "edit_draft",
    "held_pairs",
    "import_layout",
    "open_draft",
    "pick_rig",
    "publish_revision",
    "refit_rig",
    "report_absence",
    "undo_step",
]
