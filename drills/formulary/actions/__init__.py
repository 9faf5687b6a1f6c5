"""What is done with the formulary: drafts made and submitted, sent back, approved and recorded."""

from drills.formulary.actions.approving import approve, record_signed
from drills.formulary.actions.drafting import draft_from, send_back, submit
from drills.formulary.actions.importing import import_formulary
from drills.formulary.readiness import ApprovalRefusedError

__all__ = [
    "ApprovalRefusedError",
    "approve",
    "draft_from",
    "import_formulary",
    "record_signed",
    "send_back",
    "submit",
]
