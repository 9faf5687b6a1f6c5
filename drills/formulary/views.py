"""The formulary in force, and its approval."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.medicines import SAFETY_WORDS
from drills.formulary import actions
from drills.formulary.access import revision_to_approve
from drills.formulary.differences import Differences, differences
from drills.formulary.forms import ApprovalForm
from drills.formulary.models import DoseRule, FormularyRevision, FormularyState
from drills.formulary.reports import LeftOut, revision_in_force, rules_of, sorted_out
from drills.people.access import Request, closed_while_assessed
from drills.people.models import CertificationLevel, Role
from drills.people.rendering import go_to, post_alone


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A draft as a medical director reads it: its rules, what it changes against the revision that
    is approved, if any, and why it was refused."""

    draft: FormularyRevision
    schedule: dict[str, Any]
    approved: FormularyRevision | None
    is_older: bool
    differences: Differences
    fault: str


@require_GET
def index(request: Request) -> HttpResponse:
    """What is in force, with its rules; for a medical director also what waits for approval."""
    closed_while_assessed(request.user)
    return _page(request)


@post_alone
def approve(request: Request, number: int) -> HttpResponse:
    """Put a draft in force, or say what stands against it."""
    revision = revision_to_approve(request.user, number)
    form = ApprovalForm(request.POST)
    if not form.is_valid():
        return _page(request, refused=revision, fault=str(form.errors["document"][0]))
    document: str = form.cleaned_data["document"]
    try:
        actions.approve(revision, by=request.user, document=document, now=timezone.now())
    except actions.ApprovalRefusedError as error:
        return _page(request, refused=revision, fault=str(error))
    messages.success(request, f"{revision} is approved. Dose drills ask about it from now on.")
    return go_to(request, reverse("formulary:index"))


def _page(
    request: Request, *, refused: FormularyRevision | None = None, fault: str = ""
) -> HttpResponse:
    revision = revision_in_force(timezone.now())
    is_director = request.user.holds(Role.DIRECTOR)
    drafts = FormularyRevision.objects.filter(state=FormularyState.DRAFT, is_demo=False)
    context = {
        "revision": revision,
        "schedule": _schedule(revision) if revision else None,
        "drafts": _waiting(drafts, refused, fault) if is_director else [],
        "is_fault_of_draft": refused in drafts,
        "is_director": is_director,
        "safety_words": SAFETY_WORDS,
        "fault": fault,
        "document": request.POST.get("document", ""),
    }
    return render(request, "formulary/index.html", context, status=422 if fault else 200)


def _waiting(
    drafts: Iterable[FormularyRevision], refused: FormularyRevision | None, fault: str
) -> list[Waiting]:
    approved = FormularyRevision.objects.filter(state=FormularyState.APPROVED).first()
    rules = rules_of(approved) if approved else []
    return [
        Waiting(
            draft=draft,
            schedule=_schedule(draft),
            approved=approved,
            is_older=approved is not None and draft.is_older_than(approved),
            differences=differences(rules, rules_of(draft)),
            fault=fault if draft == refused else "",
        )
        for draft in drafts
    ]


def _schedule(revision: FormularyRevision) -> dict[str, Any]:
    """The rules of a revision as its page shows them, and those that cannot be drilled yet."""
    rows: list[DoseRule] = rules_of(revision)
    rules, left_out = sorted_out(rows)
    reasons: dict[str, LeftOut] = {each.code: each for each in left_out}
    levels = dict(CertificationLevel.objects.values_list("key", "name"))
    return {
        "rows": [(row, levels.get(row.level, row.level), reasons.get(row.code)) for row in rows],
        "drilled": len(rules),
        "left_out": left_out,
    }
