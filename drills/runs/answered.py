"""What was answered instead of what is right, by the answer that evidence names as its source."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction
from math import inf
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from drills.engine.dosing import Judgement, Slip, judge
from drills.engine.dosing.saying import off, slips_told
from drills.engine.prompts import HAND_OVER
from drills.engine.recipes import NUMBER_KINDS, PLACE_KINDS
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.people.models import Cohort
from drills.rigs.models import Layout
from drills.rigs.reading import layout_of
from drills.runs.actions.serving import source_of
from drills.runs.models import Presentation, PresentationState
from drills.scenarios.models import DrillPrompt
from drills.scenarios.tasks import figure_asked, problem_in

UNKNOWN = "did not know"


@dataclass(frozen=True, slots=True)
class Look:
    """A first look that went wrong: what kind of wrong place it was, and the key of that place.

    Without a place nothing was said in time.
    """

    near: str
    place: str


@dataclass(frozen=True, slots=True)
class Went:
    """How a number that was not right went wrong, in words, and the slip where one is named."""

    words: str
    slip: Slip | None = None


@dataclass(frozen=True, slots=True)
class Wrote:
    """A dose or supply that was not right: what was asked, written and right, and how far off.

    `became` says what was no matter of figures, such as a dose above their level. `times` is how
    many times too much or too little, whichever it was; `debrief` is the run, once it is over, and
    `position` that of the prompt, which its debrief has an anchor for.
    Two that read the same are equal, whenever they were answered.
    """

    asked: str
    written: str
    right: str
    became: str
    at: datetime | None = field(compare=False)
    debrief: UUID | None = field(compare=False)
    position: int = field(compare=False)
    off: str = ""
    slip: str = ""
    times: float = 1.0


def wrong_looks(
    layout: Layout,
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> dict[str, Look]:
    """The wrong first answers to *where is it*, by source. One query, and the revisions."""
    rows = _first_answers(layout, PLACE_KINDS, cohort, since, until).filter(outcome=WRONG)
    read = list(rows.values_list("token", "near", "answer", "run__drill__revision_id"))
    keys = _place_keys(layout, {revision for *_, revision in read})
    return {
        source_of(token): Look(near, keys[revision][answer[0]]) if near else Look(UNKNOWN, "")
        for token, near, answer, revision in read
    }


def dose_slips(
    layout: Layout,
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> dict[str, Went]:
    """How each first answer to a dose or supply went wrong, by source, in one query.

    A right number that was written badly is half right, and no slip.
    """
    rows = _first_answers(layout, NUMBER_KINDS, cohort, since, until)
    rows = rows.exclude(outcome__in=(RIGHT, PARTLY))
    return {source_of(each.token): _how(each) for each in rows.select_related("prompt")}


def wrong_numbers(sources: Collection[str]) -> dict[str, Wrote]:
    """Of answers, by source, the doses and supplies that were not right. One query."""
    if not sources:
        return {}
    rows = Presentation.objects.filter(
        prompt__kind__in=NUMBER_KINDS, token__in=[each.split()[-1] for each in sources]
    )
    rows = rows.exclude(outcome=RIGHT).select_related("prompt", "run")
    return {source_of(each.token): _wrote(each, each.prompt) for each in rows if each.prompt}


def _first_answers(
    layout: Layout,
    kinds: Collection[str],
    cohort: Cohort | None,
    since: datetime | None,
    until: datetime | None,
) -> QuerySet[Presentation]:
    rows = Presentation.objects.filter(
        run__drill__revision__layout=layout,
        prompt__kind__in=kinds,
        state=PresentationState.ANSWERED,
        is_retry=False,
    )
    if cohort is not None:
        rows = rows.filter(run__person__cohorts=cohort)
    if since is not None:
        rows = rows.filter(received_at__gte=since)
    if until is not None:
        rows = rows.filter(received_at__lt=until)
    return rows.order_by()


def _place_keys(layout: Layout, revisions: Collection[int]) -> dict[int, dict[str, str]]:
    """The key of each place by revision and code: codes may change from one to the next."""
    rows = layout.revisions.select_related("layout").in_bulk(revisions)
    return {
        number: {code: each.key for code, each in layout_of(revision).by_code.items()}
        for number, revision in rows.items()
    }


def _how(presentation: Presentation) -> Went:
    """What became of a number that was wrong: the slip that made it where one is named."""
    otherwise, prompt = _otherwise(presentation), presentation.prompt
    if otherwise or prompt is None:
        return Went(otherwise)
    slip = _judged(prompt.answer, presentation.answer).slip
    return Went(f"{presentation.outcome}: {slip.words if slip else 'no named slip'}", slip)


def _otherwise(presentation: Presentation) -> str:
    """How it went wrong where that was no matter of figures; else nothing."""
    said = presentation.answer
    if not said:
        return UNKNOWN
    if said[0] == HAND_OVER:
        return "handed over, though within their level"
    if presentation.above:
        return "worked out, though above their level"
    of_outcomes = {WRONG: "after the cut-off", PARTLY: "the right figure, written unsafely"}
    return of_outcomes.get(presentation.outcome, "")


def _judged(kept: Mapping[str, Any], said: Sequence[str]) -> Judgement:
    return judge(problem_in(kept), figure_asked(kept), said[0])


def _wrote(presentation: Presentation, prompt: DrillPrompt) -> Wrote:
    said, kept, run = presentation.answer, prompt.answer, presentation.run
    wrote = Wrote(
        asked=prompt.name,
        written="" if [*said] in ([], [HAND_OVER]) else said[0],
        right=problem_in(kept).solve().results[figure_asked(kept)].answer,
        became=_otherwise(presentation),
        at=presentation.received_at,
        debrief=run.pk if run.is_over else None,
        position=prompt.position,
    )
    judged = None if wrote.became else _judged(kept, said)
    if judged is None or judged.ratio is None:
        return wrote
    return replace(
        wrote,
        off=off(judged),
        slip=slips_told(judged.slips),
        times=_times(judged.ratio),
    )


def _times(ratio: Fraction) -> float:
    """How many times too much or too little; nothing at all is further off than anything."""
    return float(max(ratio, 1 / ratio)) if ratio > 0 else inf
