"""Medicines, revisions of the formulary, how medicines come, and dose rules as printed."""

from drills.formulary.models.medicines import Container, Medicine, Presentation
from drills.formulary.models.revisions import (
    NOT_APPROVED,
    FormularyRevision,
    FormularyState,
    RuleIsKeptError,
    SignedDocument,
)
from drills.formulary.models.rules import NO_PAGE, Basis, DoseRule, RuleStatus
from drills.formulary.models.settings import MOST_OFF, POUNDS, ROUNDING, THE_ONE, DosingSettings
from drills.formulary.models.texts import SHORT_LENGTH, TEXT_LENGTH

__all__ = [
    "MOST_OFF",
    "NOT_APPROVED",
    "NO_PAGE",
    "POUNDS",
    "ROUNDING",
    "SHORT_LENGTH",
    "TEXT_LENGTH",
    "THE_ONE",
    "Basis",
    "Container",
    "DoseRule",
    "DosingSettings",
    "FormularyRevision",
    "FormularyState",
    "Medicine",
    "Presentation",
    "RuleIsKeptError",
    "RuleStatus",
    "SignedDocument",
]
