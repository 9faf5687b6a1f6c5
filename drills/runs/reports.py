"""What became of runs, in counts."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count

from drills.runs.models import Presentation, PresentationState, Run, VoidReason
from drills.scenarios.models import DrillPrompt


@dataclass(frozen=True, slots=True)
class Tally:
    """How many prompts a run was to have, how many have a first answer, and how many are void."""

    planned: int
    answered: int
    called_away: int
    not_in_place: int
    left: int

    @property
    def is_complete(self) -> bool:
        """Whether every planned prompt, or a spare in its place, was answered.

        A run that is not complete meets no standard: what was voided was never judged.
        """
        return self.answered >= self.planned

    @property
    def voided(self) -> int:
        return self.called_away + self.not_in_place + self.left


def tally_of(run: Run) -> Tally:
    return tallies_of([run])[run.pk]


def with_tallies(runs: Iterable[Run]) -> list[tuple[Run, Tally]]:
    """Runs as lists show them, each with what became of it."""
    listed = list(runs)
    tallies = tallies_of(listed)
    return [(run, tallies[run.pk]) for run in listed]


def tallies_of(runs: Collection[Run]) -> dict[UUID, Tally]:
    """The tally of each run, warm-ups and retries left out, in two queries."""
    planned = dict(
        DrillPrompt.objects.filter(drill__in={run.drill_id for run in runs}, is_spare=False)
        .order_by()
        .values_list("drill")
        .annotate(Count("pk"))
    )
    rows = (
        Presentation.objects.filter(run__in=runs, is_retry=False)
        .exclude(prompt=None)
        .exclude(state=PresentationState.OPEN)
        .values_list("run", "void_reason")
    )
    found = Counter(rows)
    return {
        run.pk: Tally(
            planned=planned.get(run.drill_id, 0),
            answered=found[run.pk, ""],
            called_away=found[run.pk, VoidReason.CALLED_AWAY],
            not_in_place=found[run.pk, VoidReason.NOT_IN_PLACE],
            left=found[run.pk, VoidReason.LEFT],
        )
        for run in runs
    }
