"""What is done with the formulary: drafts made and submitted, sent back, approved and recorded."""

from drills.formulary.actions.approving import (
    ApprovalRefusedError,
    Signature,
    approve,
    record_signed,
)
from drills.formulary.actions.drafting import draft_from, send_back, submit

__all__ = [
    "ApprovalRefusedError",
    "Signature",
    "approve",
    "draft_from",
    "record_signed",
    "send_back",
    "submit",
]
