"""The formulary in force, every revision, one rule, and the paper that was signed."""

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from drills.engine.medicines import SAFETY_WORDS
from drills.formulary.aboard import aboard_alone
from drills.formulary.access import (
    IMPORTERS,
    READERS,
    readable_revision,
    require_reader,
    signed_paper,
)
from drills.formulary.finding import grouped, ruled_by, rules_found
from drills.formulary.forms import FindRuleForm
from drills.formulary.models import DoseRule, FormularyRevision
from drills.formulary.reports import (
    dosing_settings,
    revision_in_force,
    rules_of,
    sorted_out,
)
from drills.formulary.showing import shown_of
from drills.formulary.views.working import worked_for
from drills.formulary.waiting import all_that_waits, set_anew
from drills.people.access import Request, closed_while_assessed
from drills.people.models import CertificationLevel, Role
from drills.people.rendering import page_or_part
from drills.rigs.reports import todays_rig


@require_GET
def index(request: Request) -> HttpResponse:
    """What is in force: its medicines, or the rules that are looked for."""
    closed_while_assessed(request.user)
    revision, waits = revision_in_force(timezone.now()), all_that_waits(request.user)
    context: dict[str, Any] = {
        "revision": revision,
        "safety_words": SAFETY_WORDS,
        "is_reader": request.user.holds(*READERS),
        "is_director": request.user.holds(Role.DIRECTOR),
        "imports": request.user.holds(*IMPORTERS),
        "set_so": dosing_settings(),
        "waits": waits,
        "set_anew": set_anew(request.user),
        "is_waiting": any(each.is_submitted for each in waits),
        **(_looked_for(request, revision) if revision else {}),
    }
    return page_or_part(request, "formulary/index.html", "rules", context)


def _looked_for(request: Request, revision: FormularyRevision) -> dict[str, Any]:
    form = FindRuleForm(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {}
    rules = rules_of(revision)
    drilled, left_out = sorted_out(rules)
    found = rules_found(rules, wanted.get("find", ""), wanted.get("medicine", ""))
    rig, medicines = todays_rig(request.user), grouped(rules)
    is_aboard_alone = bool(rig and wanted.get("aboard"))
    return {
        "rig": rig,
        "is_aboard_alone": is_aboard_alone,
        "medicines": aboard_alone(medicines, rig) if rig and is_aboard_alone else medicines,
        "find": wanted.get("find", ""),
        "medicine": next((each.medicine for each in found if wanted.get("medicine")), None),
        "is_looked_for": bool(wanted.get("find") or wanted.get("medicine")),
        "found": found,
        "count": len(rules),
        "drilled": len(drilled),
        "left_out": left_out,
    }


@require_GET
def rule_in_force(request: Request, code: str) -> HttpResponse:
    """A rule of what is in force, wherever that is."""
    closed_while_assessed(request.user)
    revision = revision_in_force(timezone.now())
    if revision is None:
        raise Http404("No formulary is in force.")
    _rule_of(revision, code)
    return redirect("formulary:rule", number=revision.number, code=code)


@require_GET
def rule(request: Request, number: int, code: str) -> HttpResponse:
    """One rule with all it says, where it is from, and what it replaces."""
    revision = _readable(request, number)
    found = _rule_of(revision, code)
    left_out = sorted_out([found])[1]
    in_force = revision_in_force(timezone.now())
    levels = dict(CertificationLevel.objects.values_list("key", "name"))
    context = {
        "revision": revision,
        "rule": found,
        "level": levels.get(found.level, found.level),
        "reason": left_out[0].reason if left_out else "",
        "is_in_force": bool(in_force and in_force.pk == revision.pk),
        "safety_words": SAFETY_WORDS,
        "ruled": ruled_by(found),
        "is_reader": request.user.holds(*READERS),
        **worked_for(request, found),
    }
    status = 422 if context.get("worked_fault") else 200
    return page_or_part(request, "formulary/rule.html", "worked", context, status=status)


def _rule_of(revision: FormularyRevision, code: str) -> DoseRule:
    found = next((each for each in rules_of(revision) if each.code == code), None)
    if found is None:
        raise Http404(f"{revision} has no rule {code}.")
    return found


@require_GET
def revisions(request: Request) -> HttpResponse:
    """Every revision with its state, the newest first."""
    require_reader(request.user)
    context = {
        "revisions": _listed(FormularyRevision.objects.order_by("-number")),
        "in_force": revision_in_force(timezone.now()),
        "is_educator": request.user.holds(Role.EDUCATOR),
        "imports": request.user.holds(*IMPORTERS),
    }
    return render(request, "formulary/revisions.html", context)


@dataclass(frozen=True, slots=True)
class Listed:
    """A revision and how many rules it has."""

    revision: FormularyRevision
    rules: int


def _listed(revisions: QuerySet[FormularyRevision]) -> list[Listed]:
    rows = revisions.select_related("submitted_by", "sent_back_by").prefetch_related("rules")
    return [Listed(each, len(each.rules.all())) for each in rows]


@require_GET
def revision(request: Request, number: int) -> HttpResponse:
    """One revision: what it changes, what in it disagrees, and what may be done with it."""
    return page_of(request, _readable(request, number))


def page_of(
    request: Request, revision: FormularyRevision, *, fault: str = "", of: str = ""
) -> HttpResponse:
    """A revision for who may read it. `fault` is why `of`, the name of an action, was refused."""
    context = shown_of(revision) | {
        "is_reader": request.user.holds(*READERS),
        "is_educator": request.user.holds(Role.EDUCATOR),
        "is_director": request.user.holds(Role.DIRECTOR),
        "fault": fault,
        "refused": of,
        "typed": request.POST,
        "ticked": request.POST.getlist("meant"),
    }
    return render(request, "formulary/revision.html", context, status=422 if fault else 200)


def _readable(request: Request, number: int) -> FormularyRevision:
    in_force = revision_in_force(timezone.now())
    return readable_revision(request.user, number, in_force=in_force)


@require_GET
def signed(request: Request, number: int) -> HttpResponse:
    """The signed paper as it was sent in, to be kept and not to be run."""
    paper = signed_paper(request.user, number)
    response = HttpResponse(bytes(paper.content), content_type=paper.content_type)
    ending = paper.content_type.partition("/")[2]
    response["Content-Disposition"] = f'attachment; filename="formulary-{number}-signed.{ending}"'
    response["X-Content-Type-Options"] = "nosniff"
    return response
