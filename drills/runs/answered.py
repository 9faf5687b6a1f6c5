"""What was answered instead of what is right, by the answer that evidence names as its source."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from drills.engine.dosing import Slip, judge
from drills.engine.prompts import HAND_OVER
from drills.engine.recipes import NUMBER_KINDS, PLACE_KINDS
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.people.models import Cohort
from drills.rigs.models import Layout
from drills.rigs.reading import layout_of
from drills.runs.actions.serving import source_of
from drills.runs.models import Presentation, PresentationState
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
    said, prompt = presentation.answer, presentation.prompt
    if not said or prompt is None:
        return Went(UNKNOWN)
    if said[0] == HAND_OVER:
        return Went("handed over, though within their level")
    if presentation.above:
        return Went("worked out, though above their level")
    if presentation.outcome == WRONG:
        return Went("after the cut-off")
    slip = judge(problem_in(prompt.answer), figure_asked(prompt.answer), said[0]).slip
    return Went(f"{presentation.outcome}: {slip.words if slip else 'no named slip'}", slip)
