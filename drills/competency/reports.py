"""What the evidence says now, of a person and of a cohort.

This is the seam for the model: no other room reads evidence or makes an estimate of its own.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import models

from drills.competency.models import Evidence, EvidenceQuerySet
from drills.competency.models import Fact as FactRow
from drills.engine.cohort import Answer
from drills.engine.facts import BAG, ITEM, SKILL, Fact
from drills.engine.generation import PROBE
from drills.engine.memory import Estimate, Observation, asking_weights, estimate
from drills.engine.scoring import RIGHT
from drills.people.models import Cohort, Person
from drills.rigs.models import Layout


@dataclass(frozen=True, slots=True)
class Knowledge:
    """A person's standing evidence on the facts of one layout, and what it says now."""

    observations: Mapping[Fact, tuple[Observation, ...]]
    now: datetime
    has_simulated: bool = False

    def of(self, facts: Iterable[Fact]) -> Estimate:
        """One estimate over some facts together, such as all behind one door."""
        seen = [each for fact in facts for each in self.observations.get(fact, ())]
        return estimate(seen, now=self.now)

    def predictions(self, facts: Iterable[Fact]) -> dict[str, float]:
        """The chance of each fact as it is thought now, by fact as text; `MODEL` thinks it."""
        return {str(fact): round(self.of([fact]).chance, 4) for fact in facts}

    def weights(self) -> dict[str, float]:
        """How much each fact with evidence should be asked for; the others count as 1."""
        return asking_weights(self.observations, now=self.now)

    def was_found(self, fact: Fact) -> bool:
        """Whether the fact was ever right."""
        return any(each.outcome == RIGHT for each in self.observations.get(fact, ()))

    def missed(self) -> list[Fact]:
        """Facts whose newest answer was not right, the newest miss first."""
        newest = {fact: seen[-1] for fact, seen in self.observations.items()}
        misses = [fact for fact, last in newest.items() if last.outcome != RIGHT]
        return sorted(misses, key=lambda fact: (newest[fact].at, fact), reverse=True)


@dataclass(frozen=True, slots=True)
class Overall:
    """What all first answers of one person say together."""

    estimate: Estimate
    has_simulated: bool = False


@dataclass(frozen=True, slots=True)
class _Seen:
    """One row of evidence, with whose it is."""

    person: int | None
    fact: Fact
    observation: Observation
    is_simulated: bool


def knowledge_of(
    person: Person, *, layout: Layout, now: datetime, about: Collection[Fact] | None = None
) -> Knowledge:
    """Read the person's evidence on a layout and on skills, in one query.

    `about` are the facts that are looked at, where those are not all: no others are read, but of
    the same things elsewhere.
    """
    found: dict[Fact, list[Observation]] = defaultdict(list)
    simulated = False
    of_person = Evidence.objects.standing().filter(person=person)
    if about is not None:
        of_person = of_person.filter(fact__in=FactRow.objects.about({each.thing for each in about}))
    here_or_skill = models.Q(fact__place__layout=layout) | models.Q(fact__place=None)
    for seen in _read(of_person.filter(here_or_skill)):
        found[seen.fact].append(seen.observation)
        simulated = simulated or seen.is_simulated
    return Knowledge({fact: tuple(seen) for fact, seen in found.items()}, now, simulated)


def skills_of(people: Collection[Person], *, now: datetime) -> dict[int, Knowledge]:
    """What each person was asked of doses and calls, on any rig, by person, in one query."""
    found: dict[int | None, dict[Fact, list[Observation]]] = {each.pk: {} for each in people}
    simulated: set[int | None] = set()
    on_none = Evidence.objects.standing().filter(fact__place=None, person__in=people)
    for seen in _read(on_none):
        found[seen.person].setdefault(seen.fact, []).append(seen.observation)
        simulated |= {seen.person} if seen.is_simulated else set()
    return {
        each.pk: Knowledge(
            {fact: tuple(seen) for fact, seen in found[each.pk].items()}, now, each.pk in simulated
        )
        for each in people
    }


def overall_of(people: Collection[Person], *, now: datetime) -> dict[int, Overall]:
    """What each person's first answers on any rig say together, by person, in one query."""
    found: dict[int | None, list[_Seen]] = defaultdict(list)
    on_rigs = Evidence.objects.standing().filter(fact__place__isnull=False)
    for seen in _read(on_rigs.filter(person__in=people)):
        found[seen.person].append(seen)
    return {
        person.pk: Overall(
            estimate((each.observation for each in found[person.pk]), now=now),
            any(each.is_simulated for each in found[person.pk]),
        )
        for person in people
    }


def cohort_answers(
    layout: Layout,
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    probes_alone: bool = False,
) -> list[Answer]:
    """First answers on a layout, and to skills asked on it, from `since` to before `until`.

    Who has left counts still, in the time they answered. Answers of people who were erased are
    left out: nobody can say of how many they are. In two queries.
    """
    rows = Evidence.objects.standing().filter(
        revision__layout=layout, is_first=True, person__isnull=False
    )
    if cohort is not None:
        rows = rows.filter(person__cohorts=cohort)
    if since is not None:
        rows = rows.filter(at__gte=since)
    if until is not None:
        rows = rows.filter(at__lt=until)
    if probes_alone:
        rows = rows.filter(chosen_by=PROBE)
    facts = _facts_on(layout)
    read = rows.order_by().values_list(
        "person_id", "fact_id", "outcome", "at", "source", "is_simulated"
    )
    return [
        Answer(person, facts[fact], outcome, at, source, is_simulated)
        for person, fact, outcome, at, source, is_simulated in read
    ]


def first_answers() -> dict[int, int]:
    """How many first answers there are by layout, in one query."""
    rows = Evidence.objects.standing().filter(is_first=True).order_by()
    return dict(rows.values_list("revision__layout").annotate(models.Count("pk")))


def _facts_on(layout: Layout) -> dict[int, Fact]:
    """The facts of a layout and all skills, by the number of their row."""
    here_or_skill = models.Q(place__layout=layout) | models.Q(place=None)
    read = FactRow.objects.filter(here_or_skill).values_list(
        "pk", "item__key", "bag__key", "place__key", "skill"
    )
    return {row: fact_of(item, bag, place, skill) for row, item, bag, place, skill in read}


def _read(rows: EvidenceQuerySet) -> list[_Seen]:
    """Rows of evidence in the engine's terms, the oldest first."""
    read = rows.order_by("at", "id").values_list(
        "person",
        "fact__item__key",
        "fact__bag__key",
        "fact__place__key",
        "fact__skill",
        "outcome",
        "at",
        "is_first",
        "source",
        "is_simulated",
    )
    return [
        _Seen(
            person,
            fact_of(item, bag, place, skill),
            Observation(outcome, at, is_first, source),
            is_simulated,
        )
        for person, item, bag, place, skill, outcome, at, is_first, source, is_simulated in read
    ]


def fact_of(item: str | None, bag: str | None, place: str | None, skill: str) -> Fact:
    """A fact in the engine's terms, from the keys that its row leads to."""
    if skill:
        return Fact(SKILL, skill, "")
    return Fact(ITEM, item, place or "") if item else Fact(BAG, bag or "", place or "")
