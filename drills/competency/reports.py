"""What the evidence says now, of a person and of a cohort.

No other room reads evidence or makes an estimate of its own. What is said of a person's facts is
what the newest fit of the model thinks; before the first, counts that fade.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.db import models

from drills.competency.fitted import Fitted, Thinker, standing_fit
from drills.competency.gathering import (
    AT_RIG,
    BY_ITSELF,
    ON_NONE,
    Manner,
    Moment,
    Seen,
    facts_on,
    missed_last,
    seen_of_one,
    seen_rows,
)
from drills.competency.models import HISTORY, Evidence, Modality, PersonOffset
from drills.competency.models import Fact as FactRow
from drills.engine.cohort import Answer
from drills.engine.facts import Fact, facts_of
from drills.engine.generation import PROBE
from drills.engine.knowing.columns import HANDS_ON
from drills.engine.memory import COUNTED, Estimate, Observation, asking_weights, estimate
from drills.engine.readying import Known, mean_of
from drills.engine.readying.counted import known_by_counts
from drills.engine.scoring import RIGHT
from drills.people.models import Cohort, Person
from drills.rigs.models import Layout, Revision
from drills.rigs.reading import layout_of


@dataclass(frozen=True, slots=True)
class Knowledge:
    """A person's standing evidence on the facts of one layout, and what it says now."""

    observations: Mapping[Fact, tuple[Observation, ...]]
    now: datetime
    has_simulated: bool = False
    has_imported: bool = False
    thought: Known | None = None
    thought_by: str = COUNTED

    def of(self, facts: Iterable[Fact]) -> Estimate:
        """One estimate over some facts together, such as all behind one door: their mean."""
        wanted = list(facts)
        seen = [each for fact in wanted for each in self.observations.get(fact, ())]
        counted = estimate(seen, now=self.now)
        if self.thought is None or not wanted or any(f not in self.thought.at for f in wanted):
            return counted
        chance, low, high = mean_of(self.thought.only(wanted))
        return replace(counted, chance=chance, low=low, high=high)

    def predictions(self, facts: Iterable[Fact]) -> dict[str, float]:
        """The chance of each fact as it is thought now, by fact as text; `thought_by` thinks it."""
        wanted = list(facts)
        if self.thought is None or not self.thought.at.keys() >= set(wanted):
            chances = [self.of([fact]).chance for fact in wanted]
        else:
            chances = self.thought.only(wanted).chance.tolist()
        return {str(fact): round(each, 4) for fact, each in zip(wanted, chances, strict=True)}

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
    has_imported: bool = False


def knowledge_of(
    person: Person,
    *,
    layout: Layout,
    now: datetime,
    about: Collection[Fact] | None = None,
    manner: Manner = BY_ITSELF,
) -> Knowledge:
    """Read the person's evidence on a layout and on skills.

    `about` are the facts that are looked at, where those are not all: no others are read, but of
    the same things and of the same places. Without them all facts of the layout are thought about.
    `manner` is how they are asked, which the fit expects something of: by which kind of prompt, out
    of how many choices, at which door.
    """
    fitted = standing_fit()
    seen = seen_of_one(person, about, fitted.alike if fitted else None)
    found: dict[Fact, list[Observation]] = defaultdict(list)
    here = [each for each in seen if each.layout in (ON_NONE, layout.pk)]
    for each in here:
        found[each.fact].append(each.observation)
    known = Knowledge(
        {fact: tuple(each) for fact, each in found.items()},
        now,
        *_origins(here),
    )
    return _thinking(known, fitted, person, seen, layout, about, manner) if fitted else known


def _origins(rows: Iterable[Seen]) -> tuple[bool, bool]:
    """Whether some rows are simulated, and whether some come from past records."""
    known = [(each.is_simulated, each.is_imported) for each in rows]
    return any(one for one, _ in known), any(other for _, other in known)


def _thinking(
    known: Knowledge,
    fitted: Fitted,
    person: Person,
    seen: list[Seen],
    layout: Layout,
    about: Collection[Fact] | None,
    manner: Manner,
) -> Knowledge:
    """The same with what a fit thinks, where the layout was ever published."""
    revision = layout.published
    if revision is None:
        return known
    facts = about if about is not None else (*facts_of(layout_of(revision)), *known.observations)
    moment = Moment(
        person=person.pk, layout=layout.pk, edition=revision.pk, now=known.now, manner=manner
    )
    thinker = Thinker.of(fitted, person.pk, seen)
    thought = thinker.thinks(tuple(dict.fromkeys(facts)), moment)
    return replace(known, thought=thought, thought_by=fitted.name)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the newest fit thinks of a person on a layout: now, after some days of nothing, which
    facts are known without a search, and which were not right when last asked, and when."""

    now: Known
    ahead: Mapping[int, Known]
    fluent: frozenset[Fact]
    missed: Mapping[Fact, datetime]
    has_simulated: bool
    has_imported: bool


@dataclass(frozen=True, slots=True)
class Fetching:
    """What is thought of a person who fetches things at a rig: now, and after some days of nothing,
    and what thinks it. Nobody hits on a thing by chance. Before the first fit it is by counts, and
    nothing is thought ahead."""

    now: Known
    ahead: Mapping[int, Known]
    thought_by: str
    has_simulated: bool
    has_imported: bool

    @classmethod
    def of(
        cls, now: Known, ahead: Mapping[int, Known], thought_by: str, seen: Collection[Seen]
    ) -> "Fetching":
        """By what was seen of the person."""
        later = {days: each.without_luck for days, each in ahead.items()}
        return cls(now.without_luck, later, thought_by, *_origins(seen))


def outlook_of(
    person: Person,
    *,
    revision: Revision,
    facts: Collection[Fact],
    days: Iterable[int],
    now: datetime,
) -> Outlook | None:
    """What is thought of some facts of a revision now and after some days; None before a fit."""
    fitted = standing_fit()
    if fitted is None:
        return None
    seen = seen_rows(Evidence.objects.standing().filter(person=person))
    thinker = Thinker.of(fitted, person.pk, seen)
    moment = _at_rig(person, revision, now)
    ahead = _ahead(thinker, facts, moment, days)
    known, missed = thinker.thinks(facts, moment), missed_last(seen)
    return Outlook(known, ahead, thinker.fluent(), missed, *_origins(seen))


def fetching_of(
    people: Collection[Person],
    *,
    revision: Revision,
    facts: Sequence[Fact],
    now: datetime,
    days: Sequence[int] = (),
) -> dict[int, Fetching]:
    """What is thought of some facts of a revision at the rig, by person, in three queries."""
    fitted, seen = standing_fit(), _seen_of_each(people, facts)
    fit = fitted.number if fitted else None
    offsets = {each.person_id: each for each in PersonOffset.objects.filter(fit=fit)}
    found = {}
    for person in people:
        own, at = seen.get(person.pk, []), _at_rig(person, revision, now)
        ahead: dict[int, Known] = {}
        if fitted:
            thinker = Thinker(fitted, offsets.get(person.pk), own)
            known, ahead = thinker.thinks(facts, at), _ahead(thinker, facts, at, days)
        else:
            known = _counted(own, at, facts)
        name = fitted.name if fitted else COUNTED
        found[person.pk] = Fetching.of(known, ahead, name, own)
    return found


def _seen_of_each(people: Collection[Person], facts: Collection[Fact]) -> dict[int, list[Seen]]:
    """What tells of some facts, by person."""
    things, places = {each.thing for each in facts}, {each.place for each in facts} - {""}
    near = FactRow.objects.near(things, places)
    found: dict[int, list[Seen]] = defaultdict(list)
    for each in seen_rows(Evidence.objects.standing().filter(person__in=people, fact__in=near)):
        found[each.person].append(each)
    return found


def marks_of(people: Collection[Person]) -> dict[int, str]:
    """A mark of all that is thought of each person, by person, in two queries: another once there
    is another answer of theirs, one of them was voided, or a fit was made."""
    fitted = standing_fit()
    rows = Evidence.objects.filter(person__in=people).order_by().values("person")
    counted = rows.annotate(
        newest=models.Max("pk"), every=models.Count("pk"), voided=models.Count("voided_at")
    )
    told = {row["person"]: (row["newest"], row["every"], row["voided"]) for row in counted}
    name = fitted.name if fitted else COUNTED
    return {each.pk: f"{name} {each.pk} {told.get(each.pk)}" for each in people}


def _at_rig(person: Person, revision: Revision, now: datetime) -> Moment:
    return Moment(
        person=person.pk, layout=revision.layout_id, edition=revision.pk, now=now, manner=AT_RIG
    )


def _ahead(
    thinker: Thinker, facts: Collection[Fact], at: Moment, days: Iterable[int]
) -> dict[int, Known]:
    """What is thought of some facts after each of some days of nothing."""
    return {
        each: thinker.thinks(facts, replace(at, now=at.now + timedelta(days=each))) for each in days
    }


def _counted(seen: Iterable[Seen], at: Moment, facts: Sequence[Fact]) -> Known:
    """What counts alone say."""
    here = [each for each in seen if each.layout in (ON_NONE, at.layout)]
    told: dict[Fact, list[Observation]] = defaultdict(list)
    for each in here:
        told[each.fact].append(each.observation)
    by_hand = Counter(each.fact for each in here if each.is_first and each.modality == HANDS_ON)
    return known_by_counts(facts, told, now=at.now, hands_on=by_hand)


def are_simulated(people: Collection[Person], *, layout: Layout) -> bool:
    """Whether some of what is known of some people on a layout is simulated."""
    standing = Evidence.objects.standing().filter(person__in=people, fact__place__layout=layout)
    return standing.filter(is_simulated=True).exists()


def observed_outcomes() -> int:
    """How many outcomes an officer saw at a rig, of everybody: what a chance is checked against.
    Of past records nothing had been said beforehand."""
    observed = Evidence.objects.standing().filter(modality=Modality.HANDS_ON)
    return observed.filter(is_simulated=False, is_imported=False).count()


def has_evidence() -> bool:
    """Whether anybody has answered anything that stands."""
    return Evidence.objects.standing().filter(is_first=True, person__isnull=False).exists()


def has_history(person: Person) -> bool:
    """Whether some of a person's evidence is simulated history, of which no run is kept."""
    return person.evidence.filter(source__startswith=HISTORY).exists()


def skills_of(people: Collection[Person], *, now: datetime) -> dict[int, Knowledge]:
    """What each person was asked of doses and calls, on any rig, by person, in one query."""
    found: dict[int | None, dict[Fact, list[Observation]]] = {each.pk: {} for each in people}
    rows: dict[int | None, list[Seen]] = defaultdict(list)
    on_none = Evidence.objects.standing().filter(fact__place=None, person__in=people)
    for seen in seen_rows(on_none):
        found[seen.person].setdefault(seen.fact, []).append(seen.observation)
        rows[seen.person].append(seen)
    return {
        each.pk: Knowledge(
            {fact: tuple(seen) for fact, seen in found[each.pk].items()},
            now,
            *_origins(rows[each.pk]),
        )
        for each in people
    }


def skills_now(person: Person, *, now: datetime) -> Knowledge:
    """What one person was asked of doses and calls, on any rig, and what the newest fit thinks of
    each now; before the first, counts."""
    seen = seen_rows(Evidence.objects.standing().filter(fact__place=None, person=person))
    found: dict[Fact, list[Observation]] = defaultdict(list)
    for each in seen:
        found[each.fact].append(each.observation)
    known = Knowledge({fact: tuple(each) for fact, each in found.items()}, now, *_origins(seen))
    fitted = standing_fit()
    if fitted is None or not found:
        return known
    moment = Moment(person=person.pk, layout=ON_NONE, edition=ON_NONE, now=now)
    thought = Thinker.of(fitted, person.pk, seen).thinks(tuple(found), moment)
    return replace(known, thought=thought, thought_by=fitted.name)


def overall_of(people: Collection[Person], *, now: datetime) -> dict[int, Overall]:
    """What each person's first answers on any rig say together, by person, in one query."""
    found: dict[int | None, list[Seen]] = defaultdict(list)
    on_rigs = Evidence.objects.standing().filter(fact__place__isnull=False)
    for seen in seen_rows(on_rigs.filter(person__in=people)):
        found[seen.person].append(seen)
    return {
        person.pk: Overall(
            estimate((each.observation for each in found[person.pk]), now=now),
            *_origins(found[person.pk]),
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
    facts = facts_on(layout)
    read = rows.order_by().values_list(
        *("person_id", "fact_id", "outcome", "at", "source", "is_simulated", "kind", "is_imported")
    )
    return [
        Answer(person, facts[fact], outcome, at, source, is_simulated, kind, is_imported)
        for person, fact, outcome, at, source, is_simulated, kind, is_imported in read
    ]


def first_answers() -> dict[int, int]:
    """How many first answers there are by layout, in one query."""
    rows = Evidence.objects.standing().filter(is_first=True).order_by()
    return dict(rows.values_list("revision__layout").annotate(models.Count("pk")))
