"""What stands against the approval of a revision of the formulary."""

import re
from collections.abc import Collection, Iterator

from drills.engine.concentrations import written_strength, written_volume
from drills.engine.quantities import QuantityError
from drills.formulary.models import (
    DoseRule,
    FormularyRevision,
    FormularyState,
    Presentation,
    RuleStatus,
)

IS_DEMONSTRATION = (
    "This is the demonstration formulary. It is not for patient care and is never approved."
)
DOCUMENT_ACCEPTED = (
    "a name with a word of at least four letters, and a number or a date of its edition, such as "
    "Patient care protocols, edition 7"
)
_NAME, _EDITION = re.compile(r"[^\W\d_]{4}"), re.compile(r"\d")

# What a rule says, whatever it is called and however sure it is.
_SAID = (
    *("medicine_id", "indication", "population", "route", "basis", "dose", "dose_high"),
    *("minimum", "maximum", "age_from_y", "age_below_y", "weight_from_kg", "weight_below_kg"),
)


class ApprovalRefusedError(ValueError):
    """A revision that cannot be approved as it stands; the text says why."""


def refuse_document(document: str) -> None:
    """Raise `ApprovalRefusedError` for words that nobody finds a document by: a name has a word of
    several letters, and its edition a number or a date."""
    if not document:
        raise ApprovalRefusedError(
            f"Name the document you approve it by: nothing came in; it takes {DOCUMENT_ACCEPTED}."
        )
    if not _NAME.search(document) or not _EDITION.search(document):
        raise ApprovalRefusedError(
            f"Name the document you approve it by, so that it is found again: {document!r} came "
            f"in; it takes {DOCUMENT_ACCEPTED}."
        )


def refuse_unfit(revision: FormularyRevision, rules: Collection[DoseRule]) -> None:
    """Raise `ApprovalRefusedError` for the first thing that stands against what a revision says,
    whoever would submit or approve it."""
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    if approved and revision.is_older_than(approved):
        raise ApprovalRefusedError(
            f"{revision} is older than {approved}, which is approved: putting it in force would "
            "take that back. Bring it in again under the next number."
        )
    if not rules:
        raise ApprovalRefusedError(f"{revision} has no rules, so there is nothing to approve.")
    if faults := list(faults_of(rules)):
        raise ApprovalRefusedError(
            f"Every rule needs its source and what it comes as. {'; '.join(faults)}."
        )
    if not revision.written_from.strip() and (copied := copied_from_demonstration(rules)):
        raise ApprovalRefusedError(
            f"{len(copied)} of its rules say what the demonstration says, such as "
            f"{copied[0].code}, and no document is named that they were written from. Name yours "
            "as document in the first sheet of the workbook, and bring it in again."
        )
    if unread := list(_unread(revision.presentations.all())):
        raise ApprovalRefusedError(f"How a medicine comes must read. {' '.join(unread)}")


def faults_of(rules: Collection[DoseRule]) -> Iterator[str]:
    """Each rule that no document stands behind, or that does not say what it is drawn from."""
    for rule in rules:
        if fault := fault_of(rule):
            yield f"{rule.code} {fault}"


def copied_from_demonstration(rules: Collection[DoseRule]) -> list[DoseRule]:
    """The rules that give what the demonstration gives for the same use, under whatever code."""
    said = set(DoseRule.objects.filter(revision__is_demo=True).values_list(*_SAID))
    return [rule for rule in rules if tuple(getattr(rule, name) for name in _SAID) in said]


def fault_of(rule: DoseRule) -> str:
    """Why a rule cannot be approved, to follow its code; empty where it can."""
    if rule.status == RuleStatus.DEMONSTRATION:
        return "is a demonstration value"
    if rule.status == RuleStatus.FROM_MEMORY:
        return "is from memory: no document was read"
    if rule.lacking:
        return f"has no {' and no '.join(rule.lacking)}"
    unknown = set(rule.presentations) - {each.key for each in rule.comes_as}
    if unknown:
        return f"comes as {', '.join(sorted(unknown))}, which this revision has not"
    if rule.is_mixed and not rule.final_strength:
        return "is mixed to a strength that is not given"
    return ""


def _unread(presentations: Collection[Presentation]) -> Iterator[str]:
    for each in presentations:
        try:
            _ = each.strength and written_strength(each.strength)
            _ = each.volume and written_volume(each.volume)
        except QuantityError as error:
            yield f"{each.key}: {error}"
