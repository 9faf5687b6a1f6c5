"""Changes to layouts and rigs, each with its check and its line in the audit.

`storing` may use nothing of the others, `drafting` uses it, `revisions` both.
"""

from drills.rigs.actions.absences import (
    as_layout_again,
    differs_here,
    held_pairs,
    layout_is_wrong,
    put_back,
    report_absence,
    see_answer,
)
from drills.rigs.actions.drafting import (
    DraftGoneError,
    NothingToUndoError,
    edit_draft,
    open_draft,
    undo_step,
)
from drills.rigs.actions.fleet import add_rig, move_rig, pick_rig, refit_rig
from drills.rigs.actions.labels import (
    make_labels,
    person_tally,
    renew_labels,
    scan_of_person,
    scan_of_stranger,
)
from drills.rigs.actions.motions import (
    MOTION_KEEPERS,
    motion_table,
    motions_as_ours,
    motions_in_force,
    take_over_motions,
)
from drills.rigs.actions.own import DifferenceError, end_difference, tell_difference
from drills.rigs.actions.packs import count_pack
from drills.rigs.actions.places import keep_places
from drills.rigs.actions.required import NotTakenError, take_list, tie_rows
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
    "MOTION_KEEPERS",
    "DifferenceError",
    "DraftGoneError",
    "NotTakenError",
    "NothingToUndoError",
    "add_rig",
    "as_layout_again",
    "bring_back_layout",
    "bring_in_force",
    "call_off_revision",
    "count_pack",
    "differs_here",
    "discard_draft",
    "edit_draft",
    "end_difference",
    "held_pairs",
    "import_layout",
    "is_due",
    "keep_places",
    "layout_is_wrong",
    "make_labels",
    "motion_table",
    "motions_as_ours",
    "motions_in_force",
    "move_rig",
    "open_draft",
    "person_tally",
    "pick_rig",
    "publish_revision",
    "put_back",
    "refit_rig",
    "renew_labels",
    "report_absence",
    "retire_layout",
    "scan_of_person",
    "scan_of_stranger",
    "see_answer",
    "take_list",
    "take_over_motions",
    "tell_difference",
    "tie_rows",
    "undo_step",
]
