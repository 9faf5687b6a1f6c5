"""If the call dropped now: what one person, or two together, would find of each call type."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import chain

from django.core.exceptions import ValidationError
from django.utils import timezone

from drills.boards.choosing import named
from drills.boards.exactly import Ask, Gives, Questions, gives_to
from drills.boards.hire import misses_wait
from drills.boards.known import AHEAD
from drills.competency.reports import Fetching, fetching_of, observed_outcomes
from drills.engine.facts import facts_of
from drills.engine.memory import Bar, bar_of
from drills.engine.readying import (
    CrewReadiness,
    Readiness,
    Recalibration,
    calls_readiness,
    crew_readiness,
    lapses_of,
)
from drills.engine.readying.call import OBSERVED_ENOUGH, UNCHECKED, Raises
from drills.engine.signing import SIGNED
from drills.people.access import may_see, paired_with
from drills.people.models import Pairing, Person, Role
from drills.rigs.models import Rig
from drills.rigs.own import layout_on, own_of
from drills.rigs.reports import riders_of, todays_rig
from drills.runs.foretold import PastCalls, past_calls
from drills.runs.signed import rows_of
from drills.scenarios.dropping import CALLS_DRAWN, Dropping, DroppingOn, dropping_on
from drills.scenarios.models import CallType

# How many things are named to begin with. Ours, no source.
MOST_BEGUN = 5


@dataclass(frozen=True, slots=True)
class Shown:
    """A chance with its interval, as `boards/_interval.html` draws it."""

    in_100: tuple[int, int, int]
    bar: Bar
    is_enough: bool = True

    @classmethod
    def of(cls, said: Readiness | CrewReadiness) -> "Shown | None":
        """As it is drawn; none where there is not enough evidence."""
        if said.chance is None or said.low is None or said.high is None:
            return None
        return cls.between(said.chance, said.low, said.high)

    @classmethod
    def between(cls, chance: float, low: float, high: float) -> "Shown":
        """A figure between two ends."""
        three = round(100 * chance), round(100 * low), round(100 * high)
        return cls(three, bar_of(chance, low, high))


@dataclass(frozen=True, slots=True)
class CallRow:
    """One call type with its drawn calls, what is said of it, a drill of what to drill first, and
    when in half a year it lapses."""

    drops: Dropping
    said: Readiness
    shown: Shown | None
    drill: tuple[Ask, ...] = ()
    lapses_on: date | None = None

    @property
    def call(self) -> CallType:
        return self.drops.call

    @property
    def words(self) -> tuple[str, ...]:
        """What stands beside it; what holds for all calls stands once on the page."""
        return tuple(each for each in self.said.words if each != UNCHECKED)

    @property
    def missing(self) -> float:
        return self.said.missing or 0.0

    @property
    def one_short(self) -> int:
        """In how many of 100 calls one thing alone is missing, however long it takes."""
        return round(100 * self.said.short[1]) if self.said.short else 0

    @property
    def is_hardly_any(self) -> bool:
        """Whether even the upper end of the interval rounds to nothing."""
        return self.shown is not None and not self.shown.in_100[2]


@dataclass(frozen=True, slots=True)
class Begin:
    """What to drill before all else: the things that stand first for several calls, each with for
    how many, and the drill that asks for them."""

    things: tuple[tuple[str, int], ...]
    drill: tuple[Ask, ...]


@dataclass(frozen=True, slots=True)
class ReadinessBoard:
    """What is said of one person on the rig they ride: calls with a chance, the least ready first,
    then those without evidence enough, by name. `signed` are the categories that they are signed
    off in on its layout, `mates` those whom the viewer may look at together with them."""

    person: Person
    rig: Rig | None
    told: tuple[CallRow, ...] = ()
    untold: tuple[CallRow, ...] = ()
    begin: Begin | None = None
    signed: tuple[str, ...] = ()
    mates: tuple[Person, ...] = ()
    gives: Gives | None = None
    observed: int = 0
    past: PastCalls = field(default_factory=PastCalls)
    is_held_back: bool = False
    has_simulated: bool = False
    has_imported: bool = False

    @property
    def drawn(self) -> int:
        """How many calls of each type are drawn."""
        return CALLS_DRAWN

    @property
    def observed_enough(self) -> int:
        """How many outcomes at a rig chances are checked by."""
        return OBSERVED_ENOUGH

    @property
    def is_unchecked(self) -> bool:
        return any(UNCHECKED in row.said.words for row in (*self.told, *self.untold))


def readiness_board(person: Person, *, viewer: Person, now: datetime) -> ReadinessBoard:
    """Everything on the page of one person; while an assessed run of their own on this layout is
    open they see nothing of it."""
    rig = todays_rig(person)
    if rig is None or (viewer == person and misses_wait(person, rig.layout)):
        return ReadinessBoard(person, rig, is_held_back=rig is not None)
    drops, past, observed = (
        dropping_on(rig.revision, own_of(rig)),
        past_calls(),
        observed_outcomes(),
    )
    thought = fetching_of(
        [person], revision=rig.revision, facts=drops.kits.facts, days=AHEAD, now=now
    )[person.pk]
    questions = Questions(layout_on(rig))
    rows = _rows(drops, thought, past.recalibration, observed, timezone.localdate(now), questions)
    told, untold = _apart(rows)
    return ReadinessBoard(
        person=person,
        rig=rig,
        told=told,
        untold=untold,
        begin=_begin((*told, *untold), questions),
        signed=_signed(person, rig, now),
        mates=_mates(rig, person, viewer, now),
        gives=gives_to(viewer, [person], now=now),
        observed=observed,
        past=past,
        has_simulated=thought.has_simulated,
        has_imported=thought.has_imported,
    )


def _rows(
    drops: DroppingOn,
    thought: Fetching,
    righted: Recalibration,
    observed: int,
    today: date,
    questions: Questions,
) -> Iterator[CallRow]:
    told = calls_readiness(thought.now, drops.kits, recalibration=righted, observed=observed)
    lapses = lapses_of(thought.now, thought.ahead, drops.kits, righted)
    for each, said, days in zip(drops.types, told, lapses, strict=True):
        on = today + timedelta(days=days) if days and said.is_enough else None
        drill = questions.drill_for(fact for raises in said.first for fact in raises.facts)
        yield CallRow(each, said, Shown.of(said), drill, on)


def _apart(rows: Iterable[CallRow]) -> tuple[tuple[CallRow, ...], tuple[CallRow, ...]]:
    """Those with a chance, the least ready first, and those without."""
    every = list(rows)
    told = sorted((row for row in every if row.shown), key=lambda row: row.said.chance or 0.0)
    return tuple(told), tuple(row for row in every if not row.shown)


def _begin(rows: Iterable[CallRow], questions: Questions) -> Begin | None:
    """None where no thing stands first for more than one call."""
    named: dict[str, list[Raises]] = defaultdict(list)
    for each in chain.from_iterable(row.said.first for row in rows):
        named[each.name].append(each)
    first = sorted(named, key=lambda name: (-len(named[name]), -_gained(named[name]), name))
    several = [name for name in first if len(named[name]) > 1][:MOST_BEGUN]
    if not several:
        return None
    raised = chain.from_iterable(named[name] for name in several)
    facts = chain.from_iterable(each.facts for each in raised)
    return Begin(tuple((each, len(named[each])) for each in several), questions.drill_for(facts))


def _gained(raised: Iterable[Raises]) -> float:
    return sum(each.gain or 0.0 for each in raised)


def _signed(person: Person, rig: Rig, now: datetime) -> tuple[str, ...]:
    """The categories that stand signed on the layout of a rig."""
    standing = (row.standing for row in rows_of([person], now=now)[person.pk])
    return tuple(
        each.category for each in standing if (each.layout, each.state) == (rig.layout_id, SIGNED)
    )


def _mates(rig: Rig, person: Person, viewer: Person, now: datetime) -> tuple[Person, ...]:
    """Who may be looked at together with a person: first those who ride the same rig, then the
    officers they are paired with, and of an officer's people the others and the officer."""
    officers = Person.objects.filter(trainees__in=Pairing.objects.running(now).filter(crew=person))
    own = [viewer, *paired_with(viewer, now=now)] if viewer.holds(Role.FTO) else []
    rest = sorted({*officers, *own}, key=lambda each: (each.name, each.pk))
    everybody = dict.fromkeys((*riders_of(rig), *rest))
    return tuple(
        each for each in everybody if each != person and each.is_active and may_see(viewer, each)
    )


@dataclass(frozen=True, slots=True)
class CrewBoard:
    """Two people on the rig of the first, for one call type."""

    people: tuple[Person, Person]
    rig: Rig | None
    calls: tuple[CallType, ...] = ()
    drops: Dropping | None = None
    said: CrewReadiness | None = None
    shown: Shown | None = None
    drill: tuple[Ask, ...] = ()
    gives: Gives | None = None
    is_held_back: bool = False
    fault: str = ""
    has_simulated: bool = False
    has_imported: bool = False

    @property
    def drill_seconds(self) -> int:
        return sum(each.seconds for each in self.drill)

    @property
    def asks_several_at_once(self) -> bool:
        """Whether a question of the drill speaks of more than one thing of the list."""
        return self.said is not None and len(self.drill) < len(self.said.unseen)

    @property
    def words(self) -> tuple[str, ...]:
        return self.said.words if self.said else ()


def crew_board(
    two: tuple[Person, Person], *, viewer: Person, call: str, now: datetime
) -> CrewBoard:
    """Everything on the page of two; of the call type of that slug, of the first by name where none
    is told. Of one that is not there it says so."""
    rig = todays_rig(two[0])
    if rig is None or (viewer in two and misses_wait(viewer, rig.layout)):
        return CrewBoard(two, rig, is_held_back=rig is not None)
    types = dropping_on(rig.revision, own_of(rig)).types
    if not types:
        return CrewBoard(two, rig)
    calls = tuple(each.call for each in types)
    try:
        drops = _chosen(types, call)
    except ValidationError as error:
        return CrewBoard(two, rig, calls, fault=" ".join(error.messages))
    gives = gives_to(viewer, two, now=now)
    return replace(_of_one_call(two, rig, drops, now), calls=calls, gives=gives)


def _chosen(types: Sequence[Dropping], call: str) -> Dropping:
    """The call type of that slug, the first where none is told; else `ValidationError`."""
    return named({each.call.slug: each for each in types}, call, "call") if call else types[0]


def _of_one_call(two: tuple[Person, Person], rig: Rig, drops: Dropping, now: datetime) -> CrewBoard:
    """What is said of two and one call type."""
    layout = layout_on(rig)
    thought = fetching_of(two, revision=rig.revision, facts=facts_of(layout), now=now)
    one, other = (thought[each.pk] for each in two)
    said = crew_readiness((one.now, other.now), drops.kits, observed=observed_outcomes())
    return CrewBoard(
        people=two,
        rig=rig,
        drops=drops,
        said=said,
        shown=Shown.of(said),
        drill=Questions(layout).drill_for(said.to_drill),
        has_simulated=one.has_simulated or other.has_simulated,
        has_imported=one.has_imported or other.has_imported,
    )
