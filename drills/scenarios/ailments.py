"""Problems as their pages show and change them: rows, marks, samples, and who draws on them."""

from dataclasses import replace
from hashlib import sha256
from json import dumps
from typing import Any

from drills.engine.calls import CallType, CallWorld, Phrase, Profile
from drills.engine.calls import Problem as Ailment
from drills.engine.calls_workbook import Kept
from drills.engine.calls_workbook.problem_rows import problem_cells
from drills.engine.chance import drawn_evenly, seeded
from drills.engine.dispatch import make_call
from drills.scenarios.models import CallType as CallTypeRow
from drills.scenarios.models import Problem
from drills.scenarios.tasks import call_shown


def problem_row(problem: Problem, sheet: str, at: int | None) -> Kept | None:
    """The row that stands at a place; None for a new one."""
    rows: list[Kept] = getattr(problem, sheet)
    return rows[at] if at is not None and at < len(rows) else None


def problem_mark(problem: Problem, sheet: str, at: int | None) -> str:
    """What names a row as it stands, so that nobody changes another one by mistake."""
    row = problem_row(problem, sheet, at)
    cells = problem_cells(sheet, row) if row is not None else {}
    return sha256(dumps(cells, sort_keys=True).encode()).hexdigest()[:16]


def sample_of(ailment: Ailment, world: CallWorld, seed: int) -> list[dict[str, Any]]:
    """Somebody of each way that a problem looks, at one of its ages, as a drill shows them."""
    random = seeded(f"problem:{ailment.key}:{seed}")
    shown: list[dict[str, Any]] = []
    for state in ailment.states:
        bands = [each for each in state.age_bands if each in world.bands]
        if bands:
            alone = replace(ailment, states=(state,))
            patient = _one(alone, world, drawn_evenly(bands, random), seed)
            shown.append(patient | {"number": len(shown) + 1})
    return shown


def _one(ailment: Ailment, world: CallWorld, band: str, seed: int) -> dict[str, Any]:
    (state,) = ailment.states
    profile = Profile(ailment.key, {band: 1}, (None, None), 0.5, True, 1, (state.severity,))
    call = CallType("sample", "", 1, 1, (), (Phrase("{patient}."),), (profile,), ())
    here = replace(world, problems={ailment.key: ailment})
    made = make_call(call, here, seeded(f"{seed}:{state.findings}:{band}"))
    (patient,) = call_shown(made)["patients"]
    return dict(patient)


def spoken_of(problem: Problem) -> str:
    """Why it cannot be deleted, as a sentence; empty where no call type speaks of it."""
    for call in CallTypeRow.objects.order_by("name"):
        of_phrases = {key for each in call.phrases for key in each["problems"]}
        of_needs = {each["problem"] for each in call.needs}
        if problem.slug in {*call.problems, *of_phrases, *of_needs}:
            return f"The call type {call.name} speaks of it."
    return ""


def patients_mark(call: CallTypeRow) -> str:
    """What names the patients of a call type as they look, so that nobody reviews others."""
    rows = Problem.objects.filter(slug__in=call.problems).order_by("slug")
    told = list(rows.values_list("slug", "states", "vitals"))
    return sha256(dumps(told, sort_keys=True).encode()).hexdigest()[:16]
