"""Pages of the room."""

from drills.formulary.views.deciding import approve, draft, record, send_back, submit
from drills.formulary.views.looking import index, revision, revisions, rule, rule_in_force, signed

__all__ = [
    "approve",
    "draft",
    "index",
    "record",
    "revision",
    "revisions",
    "rule",
    "rule_in_force",
    "send_back",
    "signed",
    "submit",
]
