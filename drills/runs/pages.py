"""What the pages of a run show, without deciding anything."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drills.engine.drawing import FaceDrawing, faces, mark_cells
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, LOCATE
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.serving import prompts_left
from drills.engine.timing import CUT_OFF, IN_TIME, LATE, OVER_BASELINE, UNVERIFIED
from drills.rigs.reading import layout_of
from drills.runs.actions.serving import WARM_UPS, history_of, slots_of
from drills.runs.models import Presentation, PresentationState, Run, RunState
from drills.runs.told import Told, tell

_KIND_WORDS = {LOCATE: "Locate", CONTENTS: "Contents"}
TICK_SECONDS, CLOCK_BAR = 5, 280.0


@dataclass(frozen=True, slots=True)
class Clock:
    """The scale bar of a limit in seconds, and how much had gone when the page was made.

    `bar` and `ticks` are lengths in the drawing, which is `width` wide.
    """

    limit: float
    gone: float
    words: str
    bar: float
    ticks: tuple[float, ...]
    width: int = 366


@dataclass(frozen=True, slots=True)
class Missed:
    """One answer in the debrief, with its drawing."""

    presentation: Presentation
    told: Told
    drawings: tuple[FaceDrawing, ...]


def take_context(run: Run, *, now: datetime) -> dict[str, Any]:
    """Everything the page of a run needs; `state` says which of its faces it shows."""
    presentation = run.presentations.select_related("prompt").order_by("order").last()
    layout, over = layout_of(run.drill.revision), run.drill.recipe.limit_over_baseline_s
    context: dict[str, Any] = {
        "run": run,
        "recipe": run.drill.recipe,
        "revision": run.drill.revision,
        "planned": _planned(run),
        "state": _state(run, presentation, now),
        "presentation": presentation,
        "over": OVER_BASELINE if over is None else over,
        "faces": faces(layout, value_of=run.token_for),
    }
    if context["state"] == "prompt" and presentation is not None:
        context |= _prompt_context(run, presentation, layout, now)
    if context["state"] == "feedback" and presentation is not None:
        context |= {"missed": _missed(presentation, layout)}
    if context["state"] in {"away", "feedback"}:
        context["left"] = prompts_left(slots_of(run), history_of(run))
    return context


def debrief_context(run: Run) -> dict[str, Any]:
    """All answers of a run that counted, the misses drawn on the plan."""
    layout = layout_of(run.drill.revision)
    answered = [
        each
        for each in run.presentations.select_related("prompt", "run__drill").order_by("order")
        if each.prompt_id and each.state == PresentationState.ANSWERED
    ]
    first = [each for each in answered if not each.is_retry]
    missed = [_missed(each, layout) for each in first if each.outcome != RIGHT]
    return {
        "run": run,
        "recipe": run.drill.recipe,
        "revision": run.drill.revision,
        "first": first,
        "told": [(each, tell(each, layout)) for each in first],
        "missed": missed,
        "counts": {name: sum(each.outcome == name for each in first) for name in OUTCOMES},
        "in_time": sum(each.time_verdict == IN_TIME for each in first),
        "late": sum(each.time_verdict == LATE for each in first),
        "cut_off": sum(each.time_verdict == CUT_OFF for each in first),
        "unverified": sum(each.time_state == UNVERIFIED for each in first),
        "voided": run.presentations.filter(state=PresentationState.VOID).count(),
        "took": _minutes(sum(each.seconds or 0.0 for each in answered)),
        "retries": len(answered) - len(first),
    }


OUTCOMES = (RIGHT, PARTLY, WRONG)


def _minutes(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60:02} s" if whole >= 60 else f"{whole} s"


def _planned(run: Run) -> int:
    return run.drill.prompts.filter(is_spare=False).count()


def _state(run: Run, presentation: Presentation | None, now: datetime) -> str:
    if run.state == RunState.FINISHED:
        return "finished"
    if presentation is None:
        return "brief"
    if run.state == RunState.AWAY or presentation.is_left_alone(now):
        return "away"
    if presentation.state == PresentationState.OPEN:
        return "prompt"
    if presentation.state == PresentationState.ANSWERED and presentation.prompt_id:
        return "feedback" if run.is_practice else "between"
    return "between"


def _prompt_context(
    run: Run, presentation: Presentation, layout: Layout, now: datetime
) -> dict[str, Any]:
    """The question alone: nothing here may differ with the right answer."""
    prompt = presentation.prompt
    asks_place = prompt is None or prompt.kind == LOCATE
    return {
        "kind": _KIND_WORDS[prompt.kind] if prompt else "Warm-up",
        "ask": prompt.name if prompt else layout.path(presentation.subject),
        "text": prompt.text if prompt else "Tap it, then Send. It shows how fast you tap.",
        "number": _number(run, presentation),
        "of": WARM_UPS if prompt is None else _planned(run),
        "asks_place": asks_place,
        "category": "" if asks_place or prompt is None else prompt.category,
        "choices": []
        if prompt is None
        else [(run.token_for(key), layout.things[key].name) for key in prompt.choices],
        "clock": _clock(presentation, now),
    }


def _number(run: Run, presentation: Presentation) -> int:
    """Which prompt of the plan this is: answered ones before it, retries and warm-ups apart."""
    before = run.presentations.filter(
        state=PresentationState.ANSWERED,
        is_retry=False,
        prompt__isnull=presentation.is_warm_up,
    )
    return before.count() + (0 if presentation.is_retry else 1)


def _clock(presentation: Presentation, now: datetime) -> Clock | None:
    if presentation.limit_seconds is None:
        return None
    limit = round(presentation.limit_seconds, 1)
    gone = max((now - presentation.served_at).total_seconds(), 0.0)
    return Clock(
        limit=limit,
        gone=round(min(gone, limit), 1),
        words=f"{limit:g}",
        bar=CLOCK_BAR,
        ticks=tuple(
            round(CLOCK_BAR * tick / limit, 1)
            for tick in range(TICK_SECONDS, int(limit) + 1, TICK_SECONDS)
        ),
    )


def _missed(presentation: Presentation, layout: Layout) -> Missed:
    told = tell(presentation, layout)
    return Missed(presentation, told, _drawings(layout, told))


def _drawings(layout: Layout, told: Told) -> tuple[FaceDrawing, ...]:
    """The faces on which the right places and the person's own lie, marked."""
    found = {code: number for number, code in enumerate(told.codes, 1)}
    own = dict.fromkeys(set(told.own) - set(told.codes), 1)
    drawn = []
    for face in faces(layout, value_of=lambda key: key):
        marked = mark_cells(face, found=found, own=own)
        if any(cell.inner_marks and not cell.is_second for cell in marked.cells):
            drawn.append(marked)
    return tuple(drawn)
