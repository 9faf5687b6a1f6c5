"""The first page of an FTO: their people by name, what each misses and still has to do."""

from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Self

from django.utils import timezone

from drills.boards.hire import current_misses
from drills.boards.skills import MissedSkill, skills_by_person
from drills.competency.reports import knowledge_of, overall_of, skills_of
from drills.engine.facts import door_of, fact_parts, facts_of
from drills.engine.memory import Estimate
from drills.people.access import paired_with
from drills.people.models import Person
from drills.rigs.models import Rig, RigPick
from drills.rigs.own import layout_on
from drills.runs.assigned import NONE_LEFT, Standing, rows_of_assignments, standings_of
from drills.runs.models import Run, RunState
from drills.runs.reports import Tally, with_tallies

MISSES_SHOWN, SHARED_SHOWN, FEWEST_WHO_MISS = 2, 3, 2


@dataclass(frozen=True, slots=True)
class Miss:
    """One thing or skill that was missed, and of a skill what became of it."""

    words: str
    became: str = ""
    is_unsafe: bool = False

    @classmethod
    def of(cls, skill: MissedSkill) -> Self:
        return cls(skill.words, skill.in_short, skill.is_unsafe)


@dataclass(frozen=True, slots=True)
class TraineeRow:
    """One person of an FTO's: the rig they ride, what their first answers say together, what they
    missed when last asked on it and of doses and calls on any, unsafe doses first and the furthest
    off before others, and how far they are with what they were assigned."""

    person: Person
    rig: Rig | None
    estimate: Estimate
    misses: tuple[Miss, ...]
    is_asked: bool
    has_missed_skills: bool
    standings: tuple[Standing, ...]
    last_run: Run | None
    last_tally: Tally | None
    has_simulated: bool = False
    has_imported: bool = False

    @property
    def is_unsafe(self) -> bool:
        """Whether an unsafe dose or supply of theirs stands."""
        return any(each.is_unsafe for each in self.misses)

    @property
    def shown_misses(self) -> tuple[Miss, ...]:
        return self.misses[:MISSES_SHOWN]

    @property
    def more_misses(self) -> tuple[Miss, ...]:
        return self.misses[MISSES_SHOWN:]

    @property
    def overdue(self) -> int:
        return sum(each.is_overdue for each in self.standings)

    @property
    def used_up(self) -> int:
        """Assignments that are not met, and have no attempt left to meet them."""
        return sum(each.state == NONE_LEFT for each in self.standings)

    @property
    def to_do(self) -> int:
        """Assignments that are waiting and not overdue."""
        return sum(each.is_to_do for each in self.standings) - self.overdue


def trainees_of(fto: Person, *, now: datetime) -> list[TraineeRow]:
    """The people paired with an FTO by name, those with an unsafe number first."""
    paired = paired_with(fto, now=now).filter(is_active=True)
    people = list(paired.select_related("certification"))
    overall, known = overall_of(people, now=now), skills_of(people, now=now)
    skills = skills_by_person(known)
    rides, last, standings = _rides_of(people), _last_runs(people), _standings(people, now)
    tallies = {run.person_id: tally for run, tally in with_tallies(last.values())}
    rows = []
    for person in people:
        seen, said = overall[person.pk], skills[person.pk]
        on_rig = _misses(person, rides.get(person.pk), now)
        rows.append(
            TraineeRow(
                person=person,
                rig=rides.get(person.pk),
                estimate=seen.estimate,
                misses=(*map(Miss.of, said.unsafe), *on_rig, *map(Miss.of, said.others)),
                is_asked=bool(seen.estimate.first_answers or said.asked),
                has_missed_skills=bool(said.missed),
                standings=tuple(standings[person.pk]),
                last_run=last.get(person.pk),
                last_tally=tallies.get(person.pk),
                has_simulated=seen.has_simulated or known[person.pk].has_simulated,
                has_imported=seen.has_imported or known[person.pk].has_imported,
            )
        )
    return sorted(rows, key=lambda row: not row.is_unsafe)


def missed_by_several(rows: Collection[TraineeRow]) -> list[tuple[str, int]]:
    """What more than one of an FTO's people missed when last asked, and how many of them."""
    found = Counter(each.words for row in rows for each in row.misses)
    several = [(words, count) for words, count in found.items() if count >= FEWEST_WHO_MISS]
    return sorted(several, key=lambda each: (-each[1], each[0]))[:SHARED_SHOWN]


def _misses(person: Person, rig: Rig | None, now: datetime) -> tuple[Miss, ...]:
    """On the rig they ride, at its present revision: each thing with the door it is behind."""
    if rig is None:
        return ()
    layout = layout_on(rig)
    known = knowledge_of(person, layout=rig.layout, now=now)
    missed = current_misses(known, facts_of(layout))
    return tuple(Miss(f"{fact_parts(layout, each)[0]}, {door_of(layout, each)}") for each in missed)


def _standings(people: Collection[Person], now: datetime) -> dict[int, list[Standing]]:
    rows = rows_of_assignments().filter(person__in=people, assignment__withdrawn_at=None)
    found: dict[int, list[Standing]] = defaultdict(list)
    for each in standings_of(list(rows), today=timezone.localdate(now)):
        found[each.assigned.person_id].append(each)
    return found


def _last_runs(people: Collection[Person]) -> dict[int | None, Run]:
    runs = Run.objects.filter(person__in=people, state=RunState.FINISHED)
    return {
        run.person_id: run for run in runs.select_related("drill__recipe").order_by("started_at")
    }


def _rides_of(people: Collection[Person]) -> dict[int, Rig]:
    picks = RigPick.objects.filter(person__in=people)
    picks = picks.select_related("rig__revision__layout", "rig__layout")
    return {pick.person_id: pick.rig for pick in picks.order_by("id")}
