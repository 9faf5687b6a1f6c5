"""First pages of the FTO and the educator: plain tables, counts beside every chance."""

from dataclasses import dataclass
from datetime import datetime

from drills.competency.reports import cohort_facts, overall_of
from drills.engine.facts import fact_words, facts_of
from drills.engine.memory import Estimate
from drills.people.models import Pairing, Person
from drills.rigs.models import Revision, RigPick
from drills.rigs.reading import layout_of
from drills.runs.models import Run, RunState
from drills.runs.reports import Tally, with_tallies

MOST_MISSED = 15


@dataclass(frozen=True, slots=True)
class TraineeRow:
    """One person of an FTO's: what they ride, and what their first answers say together."""

    person: Person
    rides: str
    estimate: Estimate
    last_run: Run | None
    last_tally: Tally | None
    has_simulated: bool = False


@dataclass(frozen=True, slots=True)
class MissedRow:
    """One fact and the cohort's first answers to it."""

    words: str
    people: int
    estimate: Estimate
    has_simulated: bool = False


def trainees_of(fto: Person, *, now: datetime) -> list[TraineeRow]:
    """The people paired with an FTO, by name."""
    paired = Pairing.objects.running(now).filter(fto=fto).values("crew")
    people = list(Person.objects.filter(pk__in=paired, is_active=True))
    overall = overall_of(people, now=now)
    rides = _rides_of(people)
    last = {
        run.person_id: run
        for run in Run.objects.filter(person__in=people, state=RunState.FINISHED)
        .select_related("drill__recipe")
        .order_by("started_at")
    }
    tallies = {run.person_id: tally for run, tally in with_tallies(last.values())}
    return [
        TraineeRow(
            person,
            rides.get(person.pk, ""),
            overall[person.pk].estimate,
            last.get(person.pk),
            tallies.get(person.pk),
            overall[person.pk].has_simulated,
        )
        for person in people
    ]


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


def _rides_of(people: list[Person]) -> dict[int, str]:
    picks = RigPick.objects.filter(person__in=people).select_related("rig__revision")
    return {
        pick.person_id: f"{pick.rig.unit}, {pick.rig.revision}" for pick in picks.order_by("id")
    }
