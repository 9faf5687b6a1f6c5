"""The first page of the educator: what the cohort misses."""

from dataclasses import dataclass
from datetime import datetime

from drills.competency.reports import cohort_facts
from drills.engine.facts import fact_words, facts_of
from drills.engine.memory import Estimate
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of

MOST_MISSED = 15


@dataclass(frozen=True, slots=True)
class MissedRow:
    """One fact and the cohort's first answers to it."""

    words: str
    people: int
    estimate: Estimate
    has_simulated: bool = False


def most_missed(revision: Revision, *, now: datetime) -> list[MissedRow]:
    """Facts of a revision that a first answer missed, those with enough evidence first, then
    the surest misses."""
    layout = layout_of(revision)
    current = set(facts_of(layout))
    missed = [
        MissedRow(fact_words(layout, row.fact), row.people, row.estimate, row.has_simulated)
        for row in cohort_facts(revision.layout, now=now)
        if row.fact in current and row.estimate.right < row.estimate.first_answers
    ]
    return sorted(missed, key=_surest_first)[:MOST_MISSED]


def _surest_first(row: MissedRow) -> tuple[bool, float, str]:
    return not row.estimate.is_enough, row.estimate.high, row.words
