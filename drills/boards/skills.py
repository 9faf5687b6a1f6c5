"""Doses, supplies and calls as pages name them, and which of them a person missed."""

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from drills.boards.questions import (
    Attempt,
    Question,
    attempts_of,
    current,
    not_put_right,
    questions_of,
)
from drills.competency.reports import Knowledge
from drills.engine.arriving.kit import KIT
from drills.engine.arriving.reporting import REPORT
from drills.engine.arriving.scene import DUTY, SAFETY
from drills.engine.dosing import UNSAFE
from drills.engine.facts import SKILL, Fact
from drills.engine.incidents.tables import SCARCE
from drills.engine.recipes import ALLOCATE, ARRIVE, FIELD, NUMBER_KINDS, REACH, STAGE, TRIAGE
from drills.engine.scoring import RIGHT
from drills.runs.answered import Wrote, wrong_numbers
from drills.scenarios.models import CallType

# What is asked of arriving, as a page names it.
_TRIAGE_WORDS = {FIELD: "the field criteria of 2021"}
_SCARCE_WORDS = {each.key: each.has for each in SCARCE}
TASKS = {
    KIT: "first-in kit",
    SAFETY: "safety and protection",
    REPORT: "first report",
    DUTY: "first or second crew",
}


@dataclass(frozen=True, slots=True)
class MissedSkill:
    """A dose, a supply or a call that was missed when last asked, and what became of it.

    `unsafe` holds for each unsafe answer that stands what came of asking its question again in the
    same drill; empty where it was not. `wrote` are the numbers that were given since all was right
    at first, the newest first: each with how often it was the same, and what became of it.
    """

    words: str
    outcome: str
    unsafe: tuple[str, ...] = ()
    wrote: tuple[tuple[Wrote, int, str], ...] = ()

    @property
    def is_unsafe(self) -> bool:
        return self.outcome == UNSAFE

    @property
    def worst(self) -> Wrote | None:
        """The number that was furthest off."""
        return max((each for each, *_ in self.wrote), key=lambda each: each.times, default=None)

    @property
    def times_off(self) -> float:
        return self.worst.times if self.worst else 1.0

    @property
    def is_mended(self) -> bool:
        """Whether every unsafe answer was right when it was asked again."""
        return bool(self.unsafe) and set(self.unsafe) == {RIGHT}

    @property
    def retried(self) -> str:
        """What came of asking again: one word only where it is true of every unsafe answer."""
        if not any(self.unsafe):
            return ""
        if len(set(self.unsafe)) == 1:
            return f"retried: {self.unsafe[0]}"
        return f"{self.unsafe.count(RIGHT)} of {len(self.unsafe)} right on retry"

    @property
    def in_short(self) -> str:
        """The outcome with how far off the worst number was, and that of the retry."""
        off = self.worst.off if self.worst else ""
        return ", ".join(filter(None, (self.outcome, off, self.retried)))

    @property
    def became(self) -> str:
        """The outcome, with that of the retry beside it."""
        return ", ".join(filter(None, (self.outcome, self.retried)))


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
    if kind == REACH:
        layout, _, seat = subject.partition(" ")
        return f"Reach: seat {seat} of {layout}", ""
    by_kind = {STAGE: names, ARRIVE: TASKS, TRIAGE: _TRIAGE_WORDS, ALLOCATE: _SCARCE_WORDS}
    named = by_kind.get(kind, {})
    words = named.get(thing, thing)
    return f"{kind.capitalize()}: {words}", way


def skills_in(known: Knowledge) -> Skills:
    """The skills among what is known of a person."""
    return skills_by_person({0: known})[0]


def skills_by_person(known: Mapping[int, Knowledge]) -> dict[int, Skills]:
    """The skills among what is known of several people, with no query for each."""
    names, questions = call_names(), questions_of(_sources(known.values()))
    tried = {person: _attempts(each, questions) for person, each in known.items()}
    wrote = wrong_numbers(
        [each.first.source for of in tried.values() for found in of.values() for each in found]
    )
    return {person: _skills(each, names, wrote) for person, each in tried.items()}


def _attempts(
    known: Knowledge, questions: Mapping[str, Question]
) -> dict[Fact, tuple[Attempt, ...]]:
    """By skill, the one answered last first."""
    asked = {fact: seen for fact, seen in known.observations.items() if fact.kind == SKILL}
    newest_first = sorted(asked, key=lambda fact: (asked[fact][-1].at, fact), reverse=True)
    return {fact: attempts_of(asked[fact], questions) for fact in newest_first}


def _skills(
    tried: Mapping[Fact, tuple[Attempt, ...]], names: Mapping[str, str], wrote: Mapping[str, Wrote]
) -> Skills:
    """What was unsafe first, by how far off, and then the newest miss."""
    missed = [each for fact, seen in tried.items() if (each := _missed(fact, seen, names, wrote))]
    return Skills(
        asked=len(tried),
        missed=tuple(
            sorted(
                missed,
                key=lambda each: (not each.is_unsafe, -each.times_off if each.is_unsafe else 0),
            )
        ),
    )


def _missed(
    fact: Fact, seen: tuple[Attempt, ...], names: Mapping[str, str], wrote: Mapping[str, Wrote]
) -> MissedSkill | None:
    """Whether a skill was missed. What was unsafe stands until its question is asked at first in a
    later drill: to be right just after the working was read shows little."""
    stand = [each for each in current(seen) if each.last != RIGHT or each.first.outcome == UNSAFE]
    if not stand:
        return None
    unsafe = tuple(each.retried for each in stand if each.first.outcome == UNSAFE)
    told = Counter(
        (wrote[each.first.source], each.said_of(unsafe))
        for each in not_put_right(seen)
        if each.first.source in wrote
    )
    return MissedSkill(
        ", ".join(filter(None, skill_parts(fact, names))),
        UNSAFE if unsafe else stand[-1].last,
        unsafe,
        tuple((number, times, became) for (number, became), times in told.items()),
    )


def _sources(known: Collection[Knowledge]) -> list[str]:
    """The answers to doses and supplies of which any was not right."""
    return [
        each.source
        for of in known
        for fact, seen in of.observations.items()
        if fact.kind == SKILL and fact.thing.startswith(NUMBER_KINDS)
        if any(each.outcome != RIGHT for each in seen)
        for each in seen
    ]
