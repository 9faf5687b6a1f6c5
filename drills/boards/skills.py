"""Doses, supplies and calls as pages name them, and which of them a person missed."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile

from drills.competency.reports import Knowledge
from drills.engine.arriving.kit import KIT
from drills.engine.arriving.scene import DUTY, REPORT, SAFETY
from drills.engine.dosing import UNSAFE
from drills.engine.facts import SKILL, Fact
from drills.engine.incidents.tables import RESOURCES
from drills.engine.memory import Observation
from drills.engine.recipes import ALLOCATE, ARRIVE, NUMBER_KINDS, STAGE
from drills.engine.scoring import RIGHT
from drills.runs.answered import Wrote, wrong_numbers
from drills.scenarios.models import CallType

# What is asked of arriving, as a page names it.
SCARCE = {each.key: each.has for each in RESOURCES}
TASKS = {
    KIT: "first-in kit",
    SAFETY: "safety and protection",
    REPORT: "first report",
    DUTY: "first or second crew",
}


@dataclass(frozen=True, slots=True)
class MissedSkill:
    """A dose, a supply or a call that was missed when last asked, and what became of it.

    `retried` is what came of asking again straight after what was unsafe; empty if it was not.
    `wrote` are the numbers that were given since it was last right at first, the newest first,
    each with how often it was the same.
    """

    words: str
    outcome: str
    retried: str = ""
    wrote: tuple[tuple[Wrote, int], ...] = ()

    @property
    def is_unsafe(self) -> bool:
        return self.outcome == UNSAFE

    @property
    def worst(self) -> Wrote | None:
        """The number that was furthest off."""
        return max((each for each, _ in self.wrote), key=lambda each: each.times, default=None)

    @property
    def times_off(self) -> float:
        return self.worst.times if self.worst else 1.0

    @property
    def in_short(self) -> str:
        """The outcome with how far off the worst number was, and that of the retry."""
        off = self.worst.off if self.worst else ""
        retried = f"retried: {self.retried}" if self.retried else ""
        return ", ".join(filter(None, (self.outcome, off, retried)))

    @property
    def became(self) -> str:
        """The outcome, with that of the retry beside it."""
        return f"{self.outcome}, retried: {self.retried}" if self.retried else self.outcome


@dataclass(frozen=True, slots=True)
class Skills:
    """What a person was asked of doses, supplies and calls, and missed: what was unsafe first."""

    asked: int
    missed: tuple[MissedSkill, ...]

    @property
    def unsafe(self) -> tuple[MissedSkill, ...]:
        return tuple(each for each in self.missed if each.is_unsafe)

    @property
    def others(self) -> tuple[MissedSkill, ...]:
        return tuple(each for each in self.missed if not each.is_unsafe)


def call_names() -> Mapping[str, str]:
    """The names of call types by slug."""
    return dict(CallType.objects.values_list("slug", "name"))


def skill_parts(fact: Fact, names: Mapping[str, str]) -> tuple[str, str]:
    """A skill as a page names it, and in which way a number was asked: rule shown or not."""
    kind, _, subject = fact.thing.partition(" ")
    thing, _, way = subject.rpartition(", ") if kind in NUMBER_KINDS else (subject, "", "")
    named = {STAGE: names, ARRIVE: TASKS, ALLOCATE: SCARCE}.get(kind, {})
    words = named.get(thing, thing)
    return f"{kind.capitalize()}: {words}", way


def skills_in(known: Knowledge) -> Skills:
    """The skills among what is known of a person."""
    return skills_by_person({0: known})[0]


def skills_by_person(known: Mapping[int, Knowledge]) -> dict[int, Skills]:
    """The skills among what is known of several people, with no query for each."""
    names, wrote = call_names(), wrong_numbers(_sources(known.values()))
    return {person: _skills(each, names, wrote) for person, each in known.items()}


def _skills(known: Knowledge, names: Mapping[str, str], wrote: Mapping[str, Wrote]) -> Skills:
    """What was unsafe first, by how far off, and then the newest miss."""
    asked = {fact: seen for fact, seen in known.observations.items() if fact.kind == SKILL}
    newest_first = sorted(asked, key=lambda fact: (asked[fact][-1].at, fact), reverse=True)
    missed = [each for fact in newest_first if (each := _missed(fact, asked[fact], names, wrote))]
    return Skills(
        asked=len(asked),
        missed=tuple(
            sorted(
                missed,
                key=lambda each: (not each.is_unsafe, -each.times_off if each.is_unsafe else 0),
            )
        ),
    )


def _missed(
    fact: Fact, seen: Sequence[Observation], names: Mapping[str, str], wrote: Mapping[str, Wrote]
) -> MissedSkill | None:
    """Whether a skill was missed. What was unsafe stands until a first answer of a later drill:
    to be right just after the working was read shows little."""
    words, last = ", ".join(filter(None, skill_parts(fact, names))), seen[-1]
    first = next((each for each in reversed(seen) if each.first), last)
    told = Counter(wrote[each] for each in _since_right(seen) if each in wrote)
    if first.outcome == UNSAFE:
        retried = "" if last.first else last.outcome
        return MissedSkill(words, UNSAFE, retried, tuple(told.items()))
    if last.outcome == RIGHT:
        return None
    return MissedSkill(words, last.outcome, wrote=tuple(told.items()))


def _sources(known: Collection[Knowledge]) -> list[str]:
    """The answers to doses and supplies that are told, if they were not right."""
    return [
        source
        for each in known
        for fact, seen in each.observations.items()
        if fact.kind == SKILL and fact.thing.startswith(NUMBER_KINDS)
        for source in _since_right(seen)
    ]


def _since_right(seen: Sequence[Observation]) -> Iterator[str]:
    """The answers at first that came after the last right one, the newest first."""
    first = [each for each in reversed(seen) if each.first]
    return (each.source for each in takewhile(lambda each: each.outcome != RIGHT, first))
