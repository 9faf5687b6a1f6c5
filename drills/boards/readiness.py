"""If the call dropped now: what one person, or two together, would find of each call type."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from drills.boards.hire import misses_wait
from drills.competency.reports import knowledge_of, observed_outcomes
from drills.engine.asking import contents_prompts, locate_prompts
from drills.engine.facts import Fact, facts_of
from drills.engine.layout import Layout
from drills.engine.memory import Bar, bar_of
from drills.engine.prompts import Prompt, ways
from drills.engine.readying import (
    Asks,
    CrewReadiness,
    Known,
    Limit,
    Must,
    Readiness,
    call_readiness,
    crew_readiness,
    shortest,
)
from drills.engine.readying.call import UNCHECKED
from drills.engine.recipes import CONTENTS, LOCATE, RecipeSpec
from drills.engine.targets import TARGETS
from drills.people.access import may_see
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.own import layout_on
from drills.rigs.reports import riders_of, todays_rig
from drills.scenarios.coverage import musts_on
from drills.scenarios.models import CallType

# Seconds to find one thing once one stands at the rig: a published goal for an item of a cart. What
# is walked and opened is not in it.
A_THING = TARGETS[LOCATE].seconds
_EVERYTHING = RecipeSpec("everything", ((LOCATE, 1), (CONTENTS, 1)))


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
        three = round(100 * said.chance), round(100 * said.low), round(100 * said.high)
        return cls(three, bar_of(said.chance, said.low, said.high))


@dataclass(frozen=True, slots=True)
class CallRow:
    """One call type: what is said of it, in how many seconds, and how many must-haves the rig
    lacks, of which nothing is said."""

    call: CallType
    said: Readiness
    shown: Shown | None
    seconds: int
    lacking: int

    @property
    def words(self) -> tuple[str, ...]:
        """What stands beside it; what holds for all calls stands once on the page."""
        return tuple(each for each in self.said.words if each != UNCHECKED)

    @property
    def missing(self) -> float:
        return self.said.missing or 0.0

    @property
    def is_hardly_any(self) -> bool:
        """Whether even the upper end of the interval rounds to nothing."""
        return self.shown is not None and not self.shown.in_100[2]


@dataclass(frozen=True, slots=True)
class ReadinessBoard:
    """What is said of one person on the rig they ride: calls with a chance, the least ready first,
    then those without evidence enough, by name. `mates` ride the same rig and may be seen."""

    person: Person
    rig: Rig | None
    told: tuple[CallRow, ...] = ()
    untold: tuple[CallRow, ...] = ()
    mates: tuple[Person, ...] = ()
    observed: int = 0
    is_held_back: bool = False
    has_simulated: bool = False

    @property
    def is_unchecked(self) -> bool:
        return any(UNCHECKED in row.said.words for row in (*self.told, *self.untold))


def readiness_board(person: Person, *, viewer: Person, now: datetime) -> ReadinessBoard:
    """Everything on the page of one person; while an assessed run of their own on this layout is
    open they see nothing of it."""
    rig = todays_rig(person)
    if rig is None or (viewer == person and misses_wait(person, rig.layout)):
        return ReadinessBoard(person, rig, is_held_back=rig is not None)
    layout = layout_on(rig)
    facts = facts_of(layout)
    seen = knowledge_of(person, layout=rig.layout, now=now, about=facts)
    observed = observed_outcomes()
    told, untold = _apart(_rows(rig, layout, seen.for_a_call(facts), observed))
    return ReadinessBoard(
        person=person,
        rig=rig,
        told=told,
        untold=untold,
        mates=_mates(rig, person, viewer),
        observed=observed,
        has_simulated=seen.has_simulated,
    )


def _rows(rig: Rig, layout: Layout, known: Known, observed: int) -> Iterator[CallRow]:
    for call, musts, lacking in musts_on(rig.revision, layout):
        seconds = A_THING * len(musts)
        said = call_readiness(known, musts, Limit(seconds), observed=observed)
        yield CallRow(call, said, Shown.of(said), seconds, lacking)


def _apart(rows: Iterable[CallRow]) -> tuple[tuple[CallRow, ...], tuple[CallRow, ...]]:
    """Those with a chance, the least ready first, and those without."""
    every = list(rows)
    told = sorted((row for row in every if row.shown), key=lambda row: row.said.chance or 0.0)
    return tuple(told), tuple(row for row in every if not row.shown)


def _mates(rig: Rig, person: Person, viewer: Person) -> tuple[Person, ...]:
    riding = (each for each in riders_of(rig) if each != person)
    return tuple(each for each in riding if may_see(viewer, each))


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a drill, in words."""

    text: str
    seconds: int


@dataclass(frozen=True, slots=True)
class CrewBoard:
    """Two people on the rig of the first, for one call type."""

    people: tuple[Person, Person]
    rig: Rig | None
    calls: tuple[CallType, ...] = ()
    call: CallType | None = None
    said: CrewReadiness | None = None
    shown: Shown | None = None
    seconds: int = 0
    lacking: int = 0
    drill: tuple[Ask, ...] = ()
    is_held_back: bool = False
    has_simulated: bool = False

    @property
    def drill_seconds(self) -> int:
        return sum(each.seconds for each in self.drill)

    @property
    def words(self) -> tuple[str, ...]:
        return self.said.words if self.said else ()


def crew_board(
    two: tuple[Person, Person], *, viewer: Person, call: str, now: datetime
) -> CrewBoard:
    """Everything on the page of two; of the call type of that slug, else of the first by name."""
    rig = todays_rig(two[0])
    if rig is None or (viewer in two and misses_wait(viewer, rig.layout)):
        return CrewBoard(two, rig, is_held_back=rig is not None)
    layout = layout_on(rig)
    kits = musts_on(rig.revision, layout)
    if not kits:
        return CrewBoard(two, rig)
    kit = next((each for each in kits if each[0].slug == call), kits[0])
    calls = tuple(each[0] for each in kits)
    return replace(_of_one_call(two, rig, layout, kit, now), calls=calls)


def _of_one_call(
    two: tuple[Person, Person],
    rig: Rig,
    layout: Layout,
    kit: tuple[CallType, tuple[Must, ...], int],
    now: datetime,
) -> CrewBoard:
    """What is said of two and one kit."""
    chosen, musts, lacking = kit
    facts = facts_of(layout)
    one, other = (knowledge_of(p, layout=rig.layout, now=now, about=facts) for p in two)
    known = one.for_a_call(facts), other.for_a_call(facts)
    seconds = A_THING * len(musts)
    said = crew_readiness(known, musts, Limit(seconds), observed=observed_outcomes())
    return CrewBoard(
        people=two,
        rig=rig,
        call=chosen,
        said=said,
        shown=Shown.of(said),
        seconds=seconds,
        lacking=lacking,
        drill=drill_for(layout, said.to_drill),
        has_simulated=one.has_simulated or other.has_simulated,
    )


def drill_for(layout: Layout, facts: Iterable[Fact]) -> tuple[Ask, ...]:
    """The shortest drill that asks for some facts of a layout, as questions in words."""
    prompts = (*locate_prompts(layout, _EVERYTHING, ()), *contents_prompts(layout, _EVERYTHING, ()))
    asks = {
        number: Asks(_facts_of(layout, each), TARGETS[each.kind].seconds)
        for number, each in enumerate(prompts)
    }
    chosen = (prompts[number] for number in shortest(asks, frozenset(facts)))
    return tuple(Ask(_worded(each), TARGETS[each.kind].seconds) for each in chosen)


def _facts_of(layout: Layout, prompt: Prompt) -> frozenset[Fact]:
    """What an answer tells of; of a thing with doubles only one place may be answered, so none of
    its places is sure to be asked for."""
    found = ways(layout, prompt.kind, prompt.subject, prompt.answer)
    return frozenset.intersection(*map(frozenset, found))


def _worded(prompt: Prompt) -> str:
    if prompt.kind == CONTENTS:
        return f"What of {prompt.category} is in {prompt.name}?"
    return f"Where is {prompt.name}?"
