"""Medicines, revisions of the formulary, how medicines come, and dose rules as printed."""

from drills.formulary.models.medicines import Container, Medicine, Presentation
from drills.formulary.models.revisions import (
    FormularyRevision,
    FormularyState,
    RuleIsKeptError,
    SignedDocument,
)
from drills.formulary.models.rules import NO_PAGE, Basis, DoseRule, RuleStatus
from drills.formulary.models.texts import SHORT_LENGTH, TEXT_LENGTH

__all__ = [
    "NO_PAGE",
    "SHORT_LENGTH",
    "TEXT_LENGTH",
    "Basis",
    "Container",
    "DoseRule",
    "FormularyRevision",
    "FormularyState",
    "Medicine",
    "Presentation",
    "RuleIsKeptError",
    "RuleStatus",
    "SignedDocument",
]
