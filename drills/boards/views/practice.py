"""Practice in figures: an exercise, its working, the next; and a sheet of them on paper."""

import re
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from drills.boards.forms import LONGEST_AMOUNT, PracticeForm
from drills.boards.practice import choices, exercise, rules_to_practise, sheet
from drills.boards.sitting import SHOWN, Sitting
from drills.engine.dosing import OUT_OF_TOLERANCE, RIGHT, UNREADABLE, judge
from drills.engine.exercises import SYRINGES_TOLD, Exercise
from drills.engine.medicines import SAFETY_WORDS, MedicineRule
from drills.engine.recipes import CannotApplyError
from drills.formulary.reports import dosing_settings
from drills.people.access import Request, closed_while_assessed
from drills.people.rendering import page_or_part
from drills.rigs.reports import todays_rig
from drills.runs.numbers import (
    Figure,
    figures_of,
    is_bare,
    said_once,
    sentences,
    syringes_of,
    told_once,
    units_of,
    unread,
    wanted,
)
from drills.runs.worked import Worked, worked
from drills.scenarios.tasks import exercise_answer, exercise_shown

SEEDS = 1_000_000
# A source ends with how sure it is; one that names two documents has such a mark within.
_BETWEEN_SOURCES = re.compile(r"(?<=\)); ")


@dataclass(frozen=True, slots=True)
class Told:
    """What was said of what was told, how it is judged and worked; nothing said is no verdict."""

    said: tuple[str, ...]
    dose: Worked
    outcome: str
    figures: tuple[Figure, ...]

    @property
    def sign(self) -> str:
        """The drawn sign of the verdict: right, partly or wrong."""
        return {RIGHT: "right", OUT_OF_TOLERANCE: "partly"}.get(self.outcome, "wrong")


@require_http_methods(["GET", "POST"])
def practice(request: Request) -> HttpResponse:
    """One exercise of a seed, and after an answer its working. Nothing is kept."""
    closed_while_assessed(request.user)
    rules, refusal = rules_to_practise(timezone.now())
    form = _form(request, rules)
    context: dict[str, Any] = {"form": form, "refusal": refusal, "safety_words": SAFETY_WORDS}
    if not form.is_asked or not form.is_valid():
        return _page(request, context)
    if form.cleaned_data["seed"] is None:
        return redirect(f"{reverse('boards:practice')}?{_query(form, _seed(), form.so_far)}")
    try:
        made, sitting = exercise(form.wish, rules, form.revision, form.so_far)
    except CannotApplyError as error:
        return _page(request, context | {"fault": str(error)})
    context |= _asked(made) | {
        "query": _query(form, form.wish.seed, form.so_far),
        "sitting": sitting,
        "begins_again": sitting != form.so_far,
    }
    return (
        _answered(request, context, made, form)
        if _is_answered(request)
        else _page(request, context)
    )


@require_GET
def practice_sheet(request: Request) -> HttpResponse:
    """So many exercises on paper, with their answers on a page of their own."""
    closed_while_assessed(request.user)
    rules, refusal = rules_to_practise(timezone.now())
    form = _form(request, rules)
    if not form.is_asked or not form.is_valid():
        context: dict[str, Any] = {"form": form, "refusal": refusal, "safety_words": SAFETY_WORDS}
        return _page(request, context)
    seed = form.cleaned_data["seed"]
    if seed is None:
        return redirect(f"{reverse('boards:practice_sheet')}?{_query(form, _seed(), Sitting())}")
    count = form.cleaned_data["count"]
    try:
        found = sheet(form.wish, rules, form.revision, count=count)
    except CannotApplyError as error:
        return _page(request, {"form": form, "refusal": refusal, "fault": str(error)})
    return render(
        request,
        "boards/practice_sheet.html",
        {
            "form": form,
            "wish": form.wish,
            "revision": form.revision,
            "safety_words": SAFETY_WORDS,
            "set_so": dosing_settings(),
            "fewer": count - len(found),
        }
        | _printed(found),
    )


def _form(request: Request, rules: tuple[MedicineRule, ...]) -> PracticeForm:
    return PracticeForm(request.GET, groups=choices(rules), rig=todays_rig(request.user))


def _is_answered(request: Request) -> bool:
    """An answer is posted, or stands in the address."""
    return request.method == "POST" or bool(request.GET.keys() & {"amount", "unknown"})


def _seed() -> int:
    return secrets.randbelow(SEEDS)


def _query(form: PracticeForm, seed: int, sitting: Sitting) -> str:
    so_far = {"sitting": str(sitting)} if sitting.is_begun else {}
    return urlencode(form.asked() | {"seed": seed} | so_far)


def _asked(made: Exercise) -> dict[str, Any]:
    """What the page of an exercise may show."""
    shown = exercise_shown(made)
    return {
        "exercise": made,
        "call": shown,
        "figures": figures_of(shown),
        "units": units_of(shown),
        "is_bare": is_bare(made.problem, made.asked),
        "syringes": syringes_of(shown),
    }


def _printed(found: list[Exercise]) -> dict[str, Any]:
    """Exercises for the sheet, which draws no syringe; what many of them say stands there once."""
    told = [figures_of(exercise_shown(each), are_syringes_drawn=False) for each in found]
    syringes, told_besides = told_once(told, SYRINGES_TOLD)
    lines, figures = said_once(told_besides)
    answers = [_told(each, ()) for each in found]
    return {
        "notices": _notices(found),
        "lines": lines,
        "syringes": syringes,
        "rules": _numbered([] if each.is_rule_shown else sentences(each.rule) for each in found),
        "sources": _numbered(_BETWEEN_SOURCES.split(each.source) for each in found),
        "exercises": [
            {"exercise": made, "figures": of, "worked": each}
            for made, of, each in zip(found, figures, answers, strict=True)
        ],
    }


def _notices(found: list[Exercise]) -> list[str]:
    """What the rules that are asked say of themselves, each once."""
    return [words for words in dict.fromkeys(each.notice for each in found) if words]


def _numbered(told: Iterable[Iterable[str]]) -> dict[str, list[int]]:
    """What is told of problems, each once with the numbers of those it is told of."""
    found: dict[str, list[int]] = {}
    for number, each in enumerate(told, 1):
        for words in dict.fromkeys(each):
            found.setdefault(words, []).append(number)
    return found


def _answered(
    request: Request, context: dict[str, Any], made: Exercise, form: PracticeForm
) -> HttpResponse:
    """An answer becomes part of the address, so that reading it again keeps it and its tally."""
    given = request.POST if request.method == "POST" else request.GET
    amount, unit = (given.get(name, "").strip() for name in ("amount", "unit"))
    said = f"{amount[:LONGEST_AMOUNT]} {unit}".strip()
    context["written"] = (amount[:LONGEST_AMOUNT], unit)
    if "unknown" in given:
        told = Told((), _told(made, ()), "", context["figures"])
    else:
        judged = judge(made.problem, made.asked, said)
        if judged.verdict == UNREADABLE:
            asks = wanted(made.problem, made.asked, context["units"])
            error = unread(said, context["units"], asks)
            return _page(request, context | {"error": error}, status=422)
        told = Told((said,), _told(made, (said,)), judged.verdict, context["figures"])
    if request.method == "POST":
        answer = dict(zip(("amount", "unit"), context["written"], strict=True))
        query = urlencode({"unknown": "1"} if "unknown" in given else answer)
        return redirect(f"{reverse('boards:practice')}?{context['query']}&{query}")
    sitting = context["sitting"].after(made, told.outcome or SHOWN)
    return _page(
        request,
        context
        | {"answered": told, "sitting": sitting, "next_query": _query(form, _seed(), sitting)},
    )


def _told(made: Exercise, said: tuple[str, ...]) -> Worked:
    return worked(exercise_answer(made), said, notice=made.notice)


def _page(request: Request, context: dict[str, Any], *, status: int = 200) -> HttpResponse:
    return page_or_part(request, "boards/practice.html", "practice", context, status=status)
