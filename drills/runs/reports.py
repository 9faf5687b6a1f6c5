"""What became of runs, in counts."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil
from uuid import UUID

from django.db.models import Count, QuerySet

from drills.engine.dosing import UNSAFE
from drills.engine.recipes import STAGE
from drills.engine.scoring import RIGHT
from drills.engine.standards import Result
from drills.engine.timing import IN_TIME, spent
from drills.runs.models import Presentation, PresentationState, Run, VoidReason
from drills.runs.models.runs import LEFT_ALONE_AFTER
from drills.scenarios.models import DrillPrompt

A_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Tally:
    """How many prompts a run was to have, how many have a first answer, and how many are void.

    What was voided after a contest was asked for nothing: it counts in neither of the first two.
    """

    planned: int
    answered: int
    called_away: int
    not_in_place: int
    left: int
    contested: int

    @property
    def is_complete(self) -> bool:
        """Whether every planned prompt, or a spare in its place, was answered.

        A run that is not complete meets no standard: what was voided was never judged.
        """
        return self.answered >= self.planned

    @property
    def voided(self) -> int:
        return self.called_away + self.not_in_place + self.left + self.contested


def tally_of(run: Run) -> Tally:
    return tallies_of([run])[run.pk]


def with_tallies(runs: Iterable[Run]) -> list[tuple[Run, Tally]]:
    """Runs, each with what became of it."""
    listed = list(runs)
    tallies = tallies_of(listed)
    return [(run, tallies[run.pk]) for run in listed]


def with_minutes(runs: Iterable[Run]) -> list[tuple[Run, Tally, int]]:
    """Runs as lists show them, each with what became of it and the minutes that it took."""
    told = with_tallies(runs)
    minutes = minutes_spent([run for run, _ in told])
    return [(run, tally, minutes[run.pk]) for run, tally in told]


def minutes_spent(runs: Collection[Run]) -> dict[UUID, int]:
    """How long each run kept its person, in whole minutes rounded up, in one query: from the first
    prompt to the last answer, less what lay alone, such as a call or a night."""
    moments: dict[UUID, list[datetime]] = defaultdict(list)
    rows = Presentation.objects.filter(run__in=runs).order_by("order")
    for run, *both in rows.values_list("run", "served_at", "received_at"):
        moments[run] += filter(None, both)
    return {run.pk: ceil(spent(moments[run.pk], pause=LEFT_ALONE_AFTER) / A_MINUTE) for run in runs}


def tallies_of(runs: Collection[Run]) -> dict[UUID, Tally]:
    """The tally of each run, warm-ups and retries left out, in two queries."""
    planned = _planned(runs)
    found = Counter(_first(runs).values_list("run", "void_reason"))
    return {
        run.pk: Tally(
            planned=planned.get(run.drill_id, 0) - found[run.pk, VoidReason.CONTESTED],
            answered=found[run.pk, ""],
            called_away=found[run.pk, VoidReason.CALLED_AWAY],
            not_in_place=found[run.pk, VoidReason.NOT_IN_PLACE],
            left=found[run.pk, VoidReason.LEFT],
            contested=found[run.pk, VoidReason.CONTESTED],
        )
        for run in runs
    }


def results_of(runs: Collection[Run]) -> dict[UUID, Result]:
    """What became of each run for a standard to judge, in three queries."""
    planned = {run.pk: tally.planned for run, tally in with_tallies(runs)}
    rows: dict[UUID, list[dict[str, int]]] = defaultdict(list)
    answered = _first(runs).filter(state=PresentationState.ANSWERED)
    for run, *row in answered.values_list(
        "run", "prompt__kind", "outcome", "marks", "time_verdict", "limit_seconds", "missed"
    ):
        rows[run].append(_counted(*row))
    return {
        run.pk: Result(
            planned=planned[run.pk],
            answered=len(rows[run.pk]),
            is_timed=run.is_timed,
            **{name: sum(row[name] for row in rows[run.pk]) for name in _COUNTED},
        )
        for run in runs
    }


_COUNTED = ("marks_sum", "limited", "in_time", "unsafe", "kits_failed")


def _counted(
    kind: str, outcome: str, marks: int, verdict: str, limit: float | None, missed: list[str]
) -> dict[str, int]:
    """What one answer adds to each count of a result."""
    is_limited = outcome == RIGHT and limit is not None
    return {
        "marks_sum": marks,
        "limited": is_limited,
        "in_time": is_limited and verdict == IN_TIME,
        "unsafe": outcome == UNSAFE,
        "kits_failed": kind == STAGE and bool(missed),
    }


def _planned(runs: Collection[Run]) -> dict[int, int]:
    """How many prompts each drill of some runs was to have, in one query."""
    prompts = DrillPrompt.objects.filter(drill__in={run.drill_id for run in runs}, is_spare=False)
    return dict(prompts.order_by().values_list("drill").annotate(Count("pk")))


def _first(runs: Collection[Run]) -> QuerySet[Presentation]:
    """What is over of some runs, warm-ups and retries left out."""
    rows = Presentation.objects.filter(run__in=runs, is_retry=False).exclude(prompt=None)
    return rows.exclude(state=PresentationState.OPEN)
