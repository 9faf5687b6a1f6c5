"""The first page of an FTO: a plain table, counts beside every chance."""

from dataclasses import dataclass
from datetime import datetime

from drills.competency.reports import overall_of
from drills.engine.memory import Estimate
from drills.people.models import Pairing, Person
from drills.rigs.models import RigPick
from drills.runs.models import Run, RunState
from drills.runs.reports import Tally, with_tallies


@dataclass(frozen=True, slots=True)
class TraineeRow:
    """One person of an FTO's: what they ride, and what their first answers say together."""

    person: Person
    rides: str
    estimate: Estimate
    last_run: Run | None
    last_tally: Tally | None
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


def _rides_of(people: list[Person]) -> dict[int, str]:
    picks = RigPick.objects.filter(person__in=people).select_related("rig__revision")
    return {
        pick.person_id: f"{pick.rig.unit}, {pick.rig.revision}" for pick in picks.order_by("id")
    }
