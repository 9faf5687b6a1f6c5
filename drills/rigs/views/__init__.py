"""Pages of the room, one file for each noun."""

from drills.rigs.views.absences import absence, absences, answer_absence, seen
from drills.rigs.views.drafts import discard, import_, keep_places, publish
from drills.rigs.views.editor import draft, edit, open_draft, undo
from drills.rigs.views.judgements import judgement, judgement_file
from drills.rigs.views.labels import label, label_sheets, labels, make_labels, renew_labels
from drills.rigs.views.lapses import lapses
from drills.rigs.views.layouts import difference, export, layout, revision
from drills.rigs.views.needs import add_need, need, needs
from drills.rigs.views.own import end_difference, move_rig, own
from drills.rigs.views.paper import paper
from drills.rigs.views.photos import photo, place_photo
from drills.rigs.views.publishing import bring_back, call_off, retire
from drills.rigs.views.required import (
    required,
    required_file,
    required_list,
    take_required,
)
from drills.rigs.views.ties import ties
from drills.rigs.views.units import add_rig, index, pick, refit
from drills.rigs.views.walk import walk
from drills.rigs.views.workbook import start_workbook, workbook

__all__ = [
    "absence",
    "absences",
    "add_need",
    "add_rig",
    "answer_absence",
    "bring_back",
    "call_off",
    "difference",
    "discard",
    "draft",
    "edit",
    "end_difference",
    "export",
    "import_",
    "index",
    "judgement",
    "judgement_file",
    "keep_places",
    "label",
    "label_sheets",
    "labels",
    "lapses",
    "layout",
    "make_labels",
    "move_rig",
    "need",
    "needs",
    "open_draft",
    "own",
    "paper",
    "photo",
    "pick",
    "place_photo",
    "publish",
    "refit",
    "renew_labels",
    "required",
    "required_file",
    "required_list",
    "retire",
    "revision",
    "seen",
    "start_workbook",
    "take_required",
    "ties",
    "undo",
    "walk",
    "workbook",
]
