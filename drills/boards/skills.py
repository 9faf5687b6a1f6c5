"""Doses, supplies and calls as pages name them, and which of them a person missed."""

from collections.abc import Mapping
from dataclasses import dataclass

from drills.competency.reports import Knowledge
from drills.engine.dosing import UNSAFE
from drills.engine.facts import SKILL, Fact
from drills.engine.recipes import NUMBER_KINDS, STAGE
from drills.scenarios.models import CallType


@dataclass(frozen=True, slots=True)
class MissedSkill:
    """A dose, a supply or a call whose newest answer was not right, and what became of it."""

    words: str
    outcome: str

    @property
    def is_unsafe(self) -> bool:
        return self.outcome == UNSAFE

    def __str__(self) -> str:
        return f"{self.words}: {self.outcome}"


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
    missed = [
        MissedSkill(
            ", ".join(filter(None, skill_parts(fact, names))),
            known.observations[fact][-1].outcome,
        )
        for fact in known.missed()
        if fact.kind == SKILL
    ]
    return Skills(
        asked=sum(fact.kind == SKILL for fact in known.observations),
        missed=tuple(sorted(missed, key=lambda each: not each.is_unsafe)),
    )
