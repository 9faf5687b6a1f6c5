"""What is done with the formulary: drafts made, discarded and submitted, sent back, approved and
recorded; and how the service works doses out."""

from drills.formulary.actions.approving import approve, record_signed
from drills.formulary.actions.discarding import discard
from drills.formulary.actions.drafting import draft_from, send_back, submit
from drills.formulary.actions.importing import import_formulary
from drills.formulary.actions.setting import SettingRefusedError, see_dosing, set_dosing
from drills.formulary.readiness import ApprovalRefusedError

__all__ = [
    "ApprovalRefusedError",
    "SettingRefusedError",
    "approve",
    "discard",
    "draft_from",
    "import_formulary",
    "record_signed",
    "see_dosing",
    "send_back",
    "set_dosing",
    "submit",
]
