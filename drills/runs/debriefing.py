"""What is shown of answers that were given: each miss, on the plan, and all of them together."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from django.utils import timezone

from drills.engine.dosing import OUT_OF_TOLERANCE, UNSAFE
from drills.engine.drawing import FaceDrawing
from drills.engine.layout import Layout
from drills.engine.recipes import PLACELESS_KINDS
from drills.engine.scoring import RIGHT, WRONG
from drills.engine.standards import in_words, shortfalls
from drills.engine.timing import UNVERIFIED
from drills.rigs.photographed import ShownPhoto, each_once, photos_by_code
from drills.rigs.showing import marked_faces
from drills.runs.actions.reporting import may_report_afterwards
from drills.runs.bringing import Bringing, bringings
from drills.runs.models import Presentation, PresentationState, Run, VoidReason
from drills.runs.onward import onward
from drills.runs.reports import results_of, tally_of
from drills.runs.sorting import sorting_of
from drills.runs.steps import next_step
from drills.runs.targets import targets_beside
from drills.runs.told import Told, tell
from drills.runs.whole import whole_of
from drills.scenarios.reading import layout_asked

# Of the same outcome what was asked first stands first.
OPEN_AT_FIRST = 3
DRAWN_AT_FIRST = 1
_WORST_FIRST = {UNSAFE: -2, WRONG: -1}


@dataclass(frozen=True, slots=True)
class Missed:
    """One answer in words and drawn: where it is, and the place that was said.

    `again` is what came of asking again: the outcomes, each with the number that was given.
    `number` is its place among the misses. `is_folded` when its title alone stands,
    `is_open` when its working is not folded, `is_drawn_open` when its drawings are not.
    """

    presentation: Presentation
    told: Told
    drawings: tuple[FaceDrawing, ...]
    again: tuple[str, ...] = ()
    number: int = 1
    is_folded: bool = False
    is_open: bool = False
    is_drawn_open: bool = False
    photos: tuple[ShownPhoto, ...] = ()
    bringing: Bringing | None = None


def debrief_context(run: Run) -> dict[str, Any]:
    """All answers of a run that counted, the misses drawn on the plan."""
    layout = layout_asked(run.drill)
    rows = run.presentations.select_related("prompt").filter(prompt__isnull=False)
    rows = rows.select_related("contest__decided_by").order_by("order")
    answered = list(rows.filter(state=PresentationState.ANSWERED))
    first = [each for each in answered if not each.is_retry]
    misses = _missed(answered, layout)
    given = Counter(each.outcome for each in first)
    told = [(each, tell(each, layout)) for each in first]
    kits = bringings(first, layout)
    return (
        {
            "run": run,
            "recipe": run.drill.recipe,
            "revision": run.drill.revision,
            "reportable": _reportable(run, first),
            "told": told,
            "right": _first_right(told),
            "missed": _pictured(misses, kits, run, layout),
            "whole": whole_of(_not_right(told), layout),
            "brought": _right(kits),
            "targets": targets_beside(first, kits),
            "contested": [
                (each, tell(each, layout))
                for each in rows.filter(void_reason=VoidReason.CONTESTED, is_retry=False)
            ],
            "outcomes": Counter(each.sign for each in first),
            "times": Counter(
                each.time_verdict.replace(" ", "_") for each in first if each.outcome == RIGHT
            ),
            "unverified": [each.time_state for each in first].count(UNVERIFIED),
            "unsafe": given[UNSAFE],
            "beyond": given[OUT_OF_TOLERANCE],
            "tally": tally_of(run),
            "sorted": sorting_of(first),
            "retries": len(answered) - len(first),
        }
        | _times(answered)
        | _judged(run, misses)
        | _of_numbers(told)
    )


def _right(kits: list[Bringing]) -> list[Bringing]:
    return [each for each in kits if each.presentation.outcome == RIGHT]


def _first_right(told: list[tuple[Presentation, Told]]) -> list[tuple[Presentation, Told]]:
    return [(each, words) for each, words in told if each.outcome == RIGHT]


def _not_right(told: list[tuple[Presentation, Told]]) -> list[Told]:
    return [words for each, words in told if each.outcome != RIGHT]


def _of_numbers(told: list[tuple[Presentation, Told]]) -> dict[str, Any]:
    """What stands once on the page where doses or supplies were asked."""
    doses = [each.dose for _, each in told if each.dose]
    return {
        "has_numbers": bool(doses),
        "notices": sorted({each.notice for each in doses if each.notice}),
    }


def _reportable(run: Run, answered: list[Presentation]) -> list[tuple[str, str]]:
    """What can be told as not where the layout says: token and name, by name, each once."""
    if not may_report_afterwards(run):
        return []
    tokens = {
        each.prompt.name: each.token
        for each in answered
        if each.prompt and each.prompt.kind not in PLACELESS_KINDS
    }
    return [(tokens[name], name) for name in sorted(tokens, key=str.casefold)]


def _judged(run: Run, missed: list[Missed]) -> dict[str, Any]:
    """What was asked of the run, by who assigned it or by its drill, where it falls short, and
    what is next."""
    standard = run.assigned.assignment.standard if run.assigned else run.drill.standard
    result = results_of([run])[run.pk]
    short, step = shortfalls(standard, result), next_step(run, result)
    return {
        "asks": in_words(standard),
        "shortfalls": short,
        "is_voided": result.is_voided,
        "step": step,
        "onward": onward(
            run,
            [each.presentation for each in missed],
            falls_short=bool(short) and not result.is_voided,
            step=step,
            now=timezone.now(),
        ),
    }


def _missed(answered: list[Presentation], layout: Layout) -> list[Missed]:
    """Each first answer that was not right, the worst first, with what came of asking again."""
    again: dict[int | None, list[str]] = defaultdict(list)
    for each in answered:
        if each.is_retry:
            again[each.prompt_id].append(_came_of(each, layout))
    worst_first = sorted(answered, key=lambda each: _WORST_FIRST.get(each.outcome, 0))
    missed = [each for each in worst_first if each.outcome != RIGHT and not each.is_retry]
    return [
        _placed(missed_answer(each, layout), number, tuple(again[each.prompt_id]))
        for number, each in enumerate(missed, 1)
    ]


def _placed(missed: Missed, number: int, again: tuple[str, ...]) -> Missed:
    """A miss with its place among them; of the first ones more stands open."""
    outcome, is_first = missed.presentation.outcome, number <= OPEN_AT_FIRST
    return replace(
        missed,
        again=again,
        number=number,
        is_folded=not is_first and outcome != UNSAFE,
        is_open=outcome == UNSAFE or (is_first and outcome in _WORST_FIRST),
    )


def _came_of(presentation: Presentation, layout: Layout) -> str:
    """An outcome; of a number what was written too."""
    told = tell(presentation, layout)
    if told.dose is None or not told.said:
        return presentation.outcome
    return f"{told.said[0]} ({presentation.outcome})"


def _pictured(missed: list[Missed], kits: list[Bringing], run: Run, layout: Layout) -> list[Missed]:
    """Each miss with the photos of the places that it is in, and a kit with the quickest way."""
    quickest = {each.presentation.pk: each for each in kits}
    codes = {code for each in missed for code in each.told.codes}
    found = photos_by_code(run.drill.revision, sorted(codes), layout=layout)
    drawn = [each.presentation.pk for each in missed if each.drawings][:DRAWN_AT_FIRST]
    return [
        replace(
            each,
            is_drawn_open=each.presentation.pk in drawn,
            photos=tuple(each_once(found.get(code) for code in each.told.codes)),
            bringing=quickest.get(each.presentation.pk),
        )
        for each in missed
    ]


def missed_answer(presentation: Presentation, layout: Layout) -> Missed:
    """An answer in words, and on the faces where the right places and the one said lie."""
    told = tell(presentation, layout)
    found = {code: number for number, code in enumerate(told.codes, 1)}
    # Beside the place, and as deep as was asked: nothing of it is wrong.
    is_right = presentation.outcome == RIGHT
    own = {} if is_right else dict.fromkeys(set(told.own) - set(told.codes), 1)
    return Missed(presentation, told, marked_faces(layout, found=found, own=own))


def told_at_once(presentation: Presentation, layout: Layout) -> Missed:
    """An answer as practice tells it; a kit with the quickest way to bring it."""
    found = missed_answer(presentation, layout)
    kits = bringings([presentation], layout)
    return replace(found, bringing=kits[0]) if kits else found


def _times(answered: list[Presentation]) -> dict[str, str]:
    """What answering took: all of it, and its two parts, which add up to it."""
    first = _seconds(each for each in answered if not each.is_retry)
    again = _seconds(each for each in answered if each.is_retry)
    return {
        "took": _minutes(first + again),
        "took_at_first": _minutes(first),
        "took_again": _minutes(again),
    }


def _seconds(answered: Iterable[Presentation]) -> int:
    return round(sum(each.seconds or 0.0 for each in answered))


def _minutes(seconds: int) -> str:
    return f"{seconds // 60} min {seconds % 60:02} s" if seconds >= 60 else f"{seconds} s"
