"""The page of one revision, as it is read and as it comes back when something was refused."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render

from drills.formulary.access import READERS
from drills.formulary.contradicting import contradicting
from drills.formulary.differences import differences
from drills.formulary.finding import grouped
from drills.formulary.models import FormularyRevision, FormularyState, SignedDocument
from drills.formulary.readiness import fault_of
from drills.formulary.reports import rules_of, sorted_out
from drills.people.access import Request
from drills.people.models import Role


def page_of(
    request: Request, revision: FormularyRevision, *, fault: str = "", of: str = ""
) -> HttpResponse:
    """A revision for who may read it. `fault` is why `of`, the name of an action, was refused."""
    rules = rules_of(revision)
    before = _before(revision)
    context: dict[str, Any] = {
        "revision": revision,
        "before": before,
        "is_older": bool(before and revision.is_older_than(before)),
        "differences": differences(rules_of(before) if before else [], rules),
        "packings": _packings(before, revision),
        "pairs": contradicting(rules),
        "faults": [(rule, told) for rule in rules if (told := fault_of(rule))],
        "medicines": grouped(rules),
        "count": len(rules),
        "drilled": len(sorted_out(rules)[0]),
        "signed": SignedDocument.objects.filter(revision=revision).defer("content").first(),
        "is_reader": request.user.holds(*READERS),
        "is_educator": request.user.holds(Role.EDUCATOR),
        "is_director": request.user.holds(Role.DIRECTOR),
        "fault": fault,
        "refused": of,
        "typed": request.POST,
    }
    return render(request, "formulary/whole_revision.html", context, status=422 if fault else 200)


def _before(revision: FormularyRevision) -> FormularyRevision | None:
    """What it is held against: the approved one, or of that and older ones the one before."""
    rows = FormularyRevision.objects.exclude(pk=revision.pk)
    if revision.state in (FormularyState.DRAFT, FormularyState.SUBMITTED):
        return rows.filter(state=FormularyState.APPROVED).first()
    return rows.filter(number__lt=revision.number, state=FormularyState.SUPERSEDED).last()


def _packings(before: FormularyRevision | None, after: FormularyRevision) -> list[str]:
    """How medicines come otherwise than in the revision before, in words."""
    if before is None:
        return []
    old, new = (
        {each.key: str(each) for each in of.presentations.select_related("medicine")}
        for of in (before, after)
    )
    return [
        f"{key}: was {old.get(key, 'nothing')}, becomes {new.get(key, 'nothing')}"
        for key in sorted(old.keys() | new.keys())
        if old.get(key) != new.get(key)
    ]
