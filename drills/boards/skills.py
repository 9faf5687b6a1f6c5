"""Doses, supplies and calls as pages name them, and which of them a person missed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drills.competency.reports import Knowledge
from drills.engine.dosing import UNSAFE
from drills.engine.facts import SKILL, Fact
from drills.engine.memory import Observation
from drills.engine.recipes import NUMBER_KINDS, STAGE
from drills.engine.scoring import RIGHT
from drills.scenarios.models import CallType


@dataclass(frozen=True, slots=True)
class MissedSkill:
    """A dose, a supply or a call that was missed when last asked, and what became of it.

    `retried` is what came of asking again straight after what was unsafe; empty if it was not.
    """

    words: str
    outcome: str
    retried: str = ""

    @property
    def is_unsafe(self) -> bool:
        return self.outcome == UNSAFE

    def __str__(self) -> str:
        return f"{self.words}: {self.became}"

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
    words = names.get(thing, thing) if kind == STAGE else thing
    return f"{kind.capitalize()}: {words}", way


def skills_in(known: Knowledge, names: Mapping[str, str]) -> Skills:
    """The skills among what is known of a person, the newest miss first after what was unsafe."""
    asked = {fact: seen for fact, seen in known.observations.items() if fact.kind == SKILL}
    newest_first = sorted(asked, key=lambda fact: (asked[fact][-1].at, fact), reverse=True)
    missed = [each for fact in newest_first if (each := _missed(fact, asked[fact], names))]
    return Skills(
        asked=len(asked), missed=tuple(sorted(missed, key=lambda each: not each.is_unsafe))
    )


def _missed(
    fact: Fact, seen: Sequence[Observation], names: Mapping[str, str]
) -> MissedSkill | None:
    """Whether a skill was missed. What was unsafe stands until a first answer of a later drill:
    to be right just after the working was read shows little."""
    words, last = ", ".join(filter(None, skill_parts(fact, names))), seen[-1]
    first = next((each for each in reversed(seen) if each.first), last)
    if first.outcome == UNSAFE:
        return MissedSkill(words, UNSAFE, "" if last.first else last.outcome)
    return None if last.outcome == RIGHT else MissedSkill(words, last.outcome)
