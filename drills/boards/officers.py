"""First pages of the FTO and the educator: plain tables, counts beside every chance."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from drills.competency.models import Evidence
from drills.engine.facts import ITEM, Fact, fact_words, facts_of
from drills.engine.layout import Layout
from drills.engine.memory import Estimate, Observation, estimate
from drills.people.models import Pairing, Person
from drills.rigs.models import Revision, RigPick
from drills.rigs.reading import layout_of
from drills.runs.models import Run, RunState

MOST_MISSED = 15


@dataclass(frozen=True, slots=True)
class TraineeRow:
    """One person of an FTO's: what they ride, and what their first answers say together."""

    person: Person
    rides: str
    estimate: Estimate
    last_run: Run | None


@dataclass(frozen=True, slots=True)
class MissedRow:
    """One fact and the cohort's first answers to it."""

    words: str
    people: int
    estimate: Estimate


def trainees_of(fto: Person, *, now: datetime) -> list[TraineeRow]:
    """The people paired with an FTO, by name."""
    paired = Pairing.objects.running(now).filter(fto=fto).values("crew")
    people = list(Person.objects.filter(pk__in=paired, is_active=True))
    seen = _observations_by_person(people)
    rides = _rides_of(people)
    last = {
        run.person_id: run
        for run in Run.objects.filter(person__in=people, state=RunState.FINISHED)
        .select_related("drill__recipe")
        .order_by("started_at")
    }
    return [
        TraineeRow(
            person,
            rides.get(person.pk, ""),
            estimate(seen[person.pk], now=now),
            last.get(person.pk),
        )
        for person in people
    ]


def most_missed(revision: Revision, *, now: datetime) -> list[MissedRow]:
    """Facts of a revision by how rarely a first answer found them, those with enough answers."""
    layout = layout_of(revision)
    current = set(facts_of(layout))
    found: dict[Fact, list[Observation]] = defaultdict(list)
    people: dict[Fact, set[int]] = defaultdict(set)
    rows = (
        Evidence.objects.standing()
        .filter(fact__place__layout=revision.layout, is_first=True)
        .values_list(
            "fact__item__key", "fact__bag__key", "fact__place__key", "outcome", "at", "person"
        )
    )
    for item, bag, place, outcome, at, person in rows:
        fact = Fact(ITEM, item, place) if item else Fact("bag", bag, place)
        found[fact].append(Observation(outcome, at, first=True))
        people[fact].add(person)
    missed = [
        _missed_row(layout, fact, seen, people[fact], now)
        for fact, seen in found.items()
        if fact in current
    ]
    missed.sort(key=lambda row: (row.estimate.high, row.words))
    return [row for row in missed if row.estimate.right < row.estimate.first_answers][:MOST_MISSED]


def _missed_row(
    layout: Layout, fact: Fact, seen: list[Observation], people: set[int], now: datetime
) -> MissedRow:
    return MissedRow(fact_words(layout, fact), len(people), estimate(seen, now=now))


def _observations_by_person(people: list[Person]) -> dict[int, list[Observation]]:
    found: dict[int, list[Observation]] = defaultdict(list)
    rows = Evidence.objects.standing().filter(person__in=people)
    for person, outcome, at, is_first in rows.values_list("person", "outcome", "at", "is_first"):
        found[person].append(Observation(outcome, at, is_first))
    return found


def _rides_of(people: list[Person]) -> dict[int, str]:
    picks = RigPick.objects.filter(person__in=people).select_related("rig__revision")
    return {
        pick.person_id: f"{pick.rig.unit}, {pick.rig.revision}" for pick in picks.order_by("id")
    }
