"""What the pages of a run show, without deciding anything."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from drills.engine.drawing import FaceDrawing, faces
from drills.engine.layout import Compartment, Layout
from drills.engine.moving import bags_alone, without_bags
from drills.engine.plan import PlanDrawing, plan_of
from drills.engine.prompts import BAG_SIGN, asked_as
from drills.engine.recipes import (
    ALLOCATE,
    ARRIVE,
    CONTENTS,
    DOSE,
    LOCATE,
    MOVED,
    NUMBER_KINDS,
    PLACE_KINDS,
    PLACELESS_KINDS,
    REACH,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import RIGHT
from drills.engine.serving import MOST_RETRIES, prompts_left
from drills.engine.study import study_walk
from drills.engine.timing import OVER_BASELINE
from drills.runs.access import open_runs
from drills.runs.actions.serving import CONTENTS_COUNTS_AS, WARM_UPS
from drills.runs.assigned import attempt_of
from drills.runs.debriefing import told_at_once
from drills.runs.labelled import NOT_PLACES, NOT_PRACTICE, no_scan_because
from drills.runs.models import Presentation, PresentationState, Run, RunState
from drills.runs.numbers import figures_of, is_bare, syringes_of, units_of
from drills.runs.served import UNREAD, Record, Turn, record_of
from drills.runs.targets import targets_before
from drills.scenarios.models import DrillPrompt, Mode
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import GIVES_NOTHING, figure_asked, problem_in

_KIND_WORDS = {
    LOCATE: "Locate",
    CONTENTS: "Contents",
    REACH: "Reach",
    STAGE: "Stage",
    DOSE: "Dose",
    SUPPLY: "Supply",
    TRIAGE: "Triage",
    ALLOCATE: "Allocate",
    ARRIVE: "Arrive",
    MOVED: "Moved",
}
TICK_SECONDS, CLOCK_BAR = 5, 280.0
MOST_IN_A_ROW = 3


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


def take_context(run: Run, *, now: datetime, turn: Turn = UNREAD) -> dict[str, Any]:
    """Everything the page of a run needs; `state` says which of its faces it shows.

    `turn` is where it stands, as far as that was read already.
    """
    presentation, record = _stands(run, turn)
    layout = layout_asked(run.drill)
    over = _over_baseline(run)
    board = Board(run, layout)
    context: dict[str, Any] = {
        "run": run,
        "revision": run.drill.revision,
        "planned": run.drill.planned,
        "is_figures_alone": run.drill.is_all_of(NUMBER_KINDS),
        "state": _state(run, presentation, now),
        "presentation": presentation,
        "over": over,
        "over_contents": over * CONTENTS_COUNTS_AS,
        "board": board,
        "most_retries": MOST_RETRIES,
    }
    if context["state"] == "brief":
        context |= _brief_context(run, layout)
    if context["state"] == "prompt" and presentation is not None:
        context |= _prompt_context(run, presentation, layout, record, now)
        context["door_face"] = board.face_of_warm_up(presentation)
    if context["state"] == "feedback" and presentation is not None:
        context |= {"missed": told_at_once(presentation, layout)}
    if context["state"] in {"away", "feedback", "prompt"}:
        context["left"] = prompts_left(run.drill.planned, record.history)
    return context | _repeats(run, presentation, record)


def _stands(run: Run, turn: Turn) -> tuple[Presentation | None, Record]:
    """The last presentation of a run, and what was served up to it."""
    shown, record = turn.presentation, turn.record or record_of(run)
    if shown is None or record.goes_past(shown.order):
        rows = Presentation.objects.filter(run=run).select_related("prompt")
        shown = rows.order_by("order").last()
    return shown, record


def _over_baseline(run: Run) -> float:
    """The seconds over the tapping that a thing may take."""
    over = run.drill.limit_over_baseline_s
    return OVER_BASELINE if over is None else over


class Board:
    """What a place is chosen from, drawn once a page asks for it: a fragment does not."""

    def __init__(self, run: Run, layout: Layout) -> None:
        self._run, self._layout = run, layout
        outline = run.drill.outline
        self._has_bags = any(
            each.kind == MOVED and each.subject.startswith(BAG_SIGN) for each in outline
        )

    @cached_property
    def faces(self) -> tuple[FaceDrawing, ...]:
        layout = without_bags(self._layout) if self._has_bags else self._layout
        return faces(layout, value_of=self._run.token_for)

    @property
    def plan(self) -> PlanDrawing:
        return plan_of(self.faces)

    @property
    def bags(self) -> list[tuple[str, str]]:
        """The bags by token, apart from the drawing, where one is asked for."""
        bags = bags_alone(self._layout) if self._has_bags else ()
        return [(self._run.token_for(code), name) for code, name in bags]

    def face_of_warm_up(self, presentation: Presentation) -> str:
        """Where the door to tap is drawn; of a prompt nothing is said."""
        if not presentation.is_warm_up:
            return ""
        return next((face.name for face in self.faces if presentation.subject in face.codes), "")


def _brief_context(run: Run, layout: Layout) -> dict[str, Any]:
    """What is said before the first prompt, by the kinds that come."""
    drill, no_scan = run.drill, no_scan_because(run)
    return {
        "is_anything_found": not drill.is_all_of(PLACELESS_KINDS),
        "is_sorted_by_tap": run.is_practice and _is_tapped(run),
        "targets": targets_before(run, layout),
        "no_scan": no_scan,
        "is_scan_offered": no_scan not in {NOT_PRACTICE, NOT_PLACES},
        "also_open": _also_open(run),
        "attempt": attempt_of(run),
    }


def _is_tapped(run: Run) -> bool:
    """Whether a category is sent by the tap alone, which takes no criterion beside it."""
    kinds = (asked_as(each.kind, each.subject) for each in run.drill.outline)
    return TRIAGE in kinds


def _also_open(run: Run) -> Run | None:
    """Before an assessed run, the practice that it would close while a prompt of it is open."""
    if run.is_practice or run.person is None:
        return None
    return open_runs(run.person, Mode.PRACTICE).select_related("drill__recipe").first()


def _repeats(run: Run, presentation: Presentation | None, record: Record) -> dict[str, Any]:
    """How often at most what was missed comes again after this, and whether this one does."""
    if presentation is None or not run.is_practice:
        return {}
    waiting = _waiting(record)
    shown = presentation.is_retry and presentation.state == PresentationState.OPEN
    position = presentation.prompt.position if presentation.prompt else None
    return {"repeats": sum(waiting.values()) - shown, "comes_back": position in waiting}


def _waiting(record: Record) -> dict[int, int]:
    """By position, how many times what was missed last may still come back."""
    answered = [each for each in record.history if not each.is_void]
    again = Counter(each.position for each in answered if each.is_retry)
    last = {each.position: each.outcome for each in answered}
    left = {position: MOST_RETRIES - again[position] for position in last}
    return {
        position: count for position, count in left.items() if count and last[position] != RIGHT
    }


def _state(run: Run, presentation: Presentation | None, now: datetime) -> str:
    if run.is_over:
        return "over"
    if presentation is None:
        return "brief"
    if run.state == RunState.AWAY or presentation.is_left_alone(now):
        return "away"
    if presentation.state == PresentationState.OPEN:
        return "prompt"
    return "feedback" if run.is_practice and _was_answered(presentation) else "between"


def _was_answered(presentation: Presentation) -> bool:
    return presentation.state == PresentationState.ANSWERED and not presentation.is_warm_up


def _prompt_context(
    run: Run, presentation: Presentation, layout: Layout, record: Record, now: datetime
) -> dict[str, Any]:
    """The question alone: nothing here may differ with the right answer."""
    prompt = presentation.prompt
    shown: dict[str, Any] = {
        "number": _number(presentation, record),
        "clock": _clock(presentation, now),
        "asks_place": prompt is None or prompt.kind in PLACE_KINDS,
    }
    if prompt is None:
        return shown | {
            "kind": "Warm-up",
            "ask": layout.path(presentation.subject),
            "text": "Tap it, then Send. It shows how fast you tap.",
            "of": WARM_UPS,
        }
    if prompt.kind in NUMBER_KINDS:
        shown |= {
            "figures": figures_of(prompt.shown),
            "units": units_of(prompt.shown),
            "is_bare": is_bare(problem_in(prompt.answer), figure_asked(prompt.answer)),
            "syringes": syringes_of(prompt.shown),
            "may_hand_over": _may_hand_over(prompt),
        }
    return shown | {
        "kind": _KIND_WORDS[prompt.kind],
        "ask": prompt.name,
        "text": prompt.text,
        "is_reach": prompt.kind == REACH,
        "category": prompt.category if prompt.kind in (CONTENTS, REACH) else "",
        "of": run.drill.planned,
        "choices": [(run.token_for(key), layout.things[key].name) for key in prompt.choices],
        "call": prompt.shown,
        "kit": kit_of(run, layout) if prompt.kind == STAGE else (),
        "sorts": _categories(run, prompt.shown),
        "groups": _groups(run, prompt.shown),
    }


def _may_hand_over(prompt: DrillPrompt) -> bool:
    """Where something is given; a prompt made before keeps the level that it is judged by."""
    kept = prompt.answer
    return prompt.kind == DOSE and (kept.get("asked") not in GIVES_NOTHING or bool(kept["level"]))


def _categories(run: Run, shown: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """The categories that a patient may be put in, by token, word and colour."""
    return [(run.token_for(key), *words) for key, *words in shown.get("categories", ())]


def _groups(run: Run, shown: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What is chosen in groups, each choice by its token, and what was said of it: nothing yet."""
    return [
        in_parts(
            group
            | {
                "name": group["key"],
                "choices": [
                    (run.token_for(key), words, note, "") for key, words, note in group["choices"]
                ],
            }
        )
        for group in shown.get("groups", ())
    ]


def in_parts(group: dict[str, Any]) -> dict[str, Any]:
    """A group with its choices as they are laid out: title, choices, and whether one was said."""
    left, parts = list(group["choices"]), []
    for title, count in (*group.get("parts", ()), ("", len(left))):
        own, left = left[:count], left[count:]
        parts += [(title, own, any(said for *_, said in own))] if own else []
    return group | {"laid_out": parts}


@dataclass(frozen=True, slots=True)
class KitLine:
    """A stock line that can be brought: its token, and how many; above three by a number."""

    token: str
    name: str
    words: str
    counts: range
    most: int


@dataclass(frozen=True, slots=True)
class KitPlace:
    """A place with what can be brought from it; `bag` is its token where it comes whole."""

    path: str
    bag: str
    lines: tuple[KitLine, ...]


@dataclass(frozen=True, slots=True)
class KitDoor:
    """A door of the rig by its code and its name, and the places behind it."""

    code: str
    path: str
    places: tuple[KitPlace, ...]

    @property
    def things(self) -> int:
        """How many kinds of things are behind it."""
        return sum(len(place.lines) for place in self.places)


def kit_of(run: Run, layout: Layout) -> tuple[KitDoor, ...]:
    """The whole rig door by door, each thing with its other names to search by."""
    return tuple(
        KitDoor(
            top.code,
            layout.path(top.code),
            tuple(
                _kit_place(run, layout, each)
                for each in _with_all_inside(layout, top)
                if each.is_bag or each.code in layout.lines_in
            ),
        )
        for top in study_walk(layout)
    )


def _kit_place(run: Run, layout: Layout, place: Compartment) -> KitPlace:
    return KitPlace(
        path=layout.path(place.code),
        bag=run.token_for(place.code) if place.is_bag else "",
        lines=tuple(
            KitLine(
                run.token_for(f"{line.compartment} {line.key}"),
                line.item,
                " ".join((line.item, *line.aliases)).casefold(),
                range(line.par + 1 if line.par <= MOST_IN_A_ROW else 0),
                line.par,
            )
            for line in layout.lines_in.get(place.code, ())
        ),
    )


def _with_all_inside(layout: Layout, compartment: Compartment) -> Iterator[Compartment]:
    yield compartment
    for inner in layout.children.get(compartment.code, ()):
        yield from _with_all_inside(layout, inner)


def _number(presentation: Presentation, record: Record) -> int:
    """Which prompt of the plan this is: answered ones before it, retries and warm-ups apart.

    Of warm-ups, which of the present three: each kind of device takes three of its own.
    """
    if presentation.is_warm_up:
        return record.warm_ups(presentation.device_class) % WARM_UPS + 1
    return record.first_answers() + (0 if presentation.is_retry else 1)


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
