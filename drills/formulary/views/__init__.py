"""Pages of the room."""

from drills.formulary.views.deciding import approve, discard, draft, record, send_back, submit
from drills.formulary.views.looking import index, revision, revisions, rule, rule_in_force, signed
from drills.formulary.views.setting import settings, settings_seen
from drills.formulary.views.workbook import export, import_, start_workbook, store

__all__ = [
    "approve",
    "discard",
    "draft",
    "export",
    "import_",
    "index",
    "record",
    "revision",
    "revisions",
    "rule",
    "rule_in_force",
    "send_back",
    "settings",
    "settings_seen",
    "signed",
    "start_workbook",
    "store",
    "submit",
]
