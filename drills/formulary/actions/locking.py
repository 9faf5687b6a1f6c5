"""Revisions changed one after another, and only in the state they must be in."""

from drills.formulary.models import FormularyRevision
from drills.formulary.readiness import ApprovalRefusedError


def locked(revision: FormularyRevision) -> FormularyRevision:
    """The revision as it is now; all are held, so that two approvals at once are in turn."""
    rows = FormularyRevision.objects.select_for_update().order_by("pk")
    return {each.pk: each for each in rows}[revision.pk]


def refuse_state(revision: FormularyRevision, wanted: str, way: str) -> None:
    """Raise `ApprovalRefusedError` for a revision in another state than the one it takes."""
    if revision.state == wanted:
        return
    state = revision.get_state_display()
    words = f"a draft: {way}" if state == "draft" else f"{state} already"
    raise ApprovalRefusedError(f"{revision} is {words}.")
