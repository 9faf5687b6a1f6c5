"""What one person works out: the chance that a dose or a supply is right now, by its topic."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from drills.boards.practice import WORDS
from drills.competency.reports import Knowledge, skills_now
from drills.engine.exercises import FROM_MEMORY, SHOWN
from drills.engine.exercises.writers import TOPICS, topic_of
from drills.engine.facts import Fact
from drills.engine.memory import Estimate
from drills.engine.recipes import NUMBER_KINDS
from drills.people.models import Person

WAYS = (SHOWN, FROM_MEMORY)


@dataclass(frozen=True, slots=True)
class Worked:
    """One topic, or one subject of it, with what is known of each way it is asked in the order of
    `WAYS`; None where it was never asked so."""

    name: str
    ways: tuple[tuple[str, Estimate | None], ...]


@dataclass(frozen=True, slots=True)
class Topic:
    """All that was asked of a topic: its mean, and each subject apart where there are several."""

    whole: Worked
    subjects: tuple[Worked, ...]


@dataclass(frozen=True, slots=True)
class WorkedBoard:
    """Doses and supplies by topic, in the order of practice; empty where none was ever asked."""

    topics: tuple[Topic, ...]
    is_fitted: bool
    has_simulated: bool
    has_imported: bool


# The facts of a subject by the way they were asked.
ByWay = Mapping[str, Collection[Fact]]


def worked_board(person: Person, *, now: datetime) -> WorkedBoard:
    """What the person was asked to work out, on any rig."""
    known = skills_now(person, now=now)
    found: dict[str, dict[str, dict[str, list[Fact]]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(list))
    )
    for fact in known.observations:
        kind, _, rest = fact.thing.partition(" ")
        subject, _, way = rest.rpartition(", ")
        if kind in NUMBER_KINDS and way in WAYS:
            found[topic_of(kind, subject)][subject][way].append(fact)
    topics = [name for names in TOPICS.values() for name in names if name in found]
    return WorkedBoard(
        tuple(_topic(known, name, found[name]) for name in topics),
        known.thought is not None,
        known.has_simulated,
        known.has_imported,
    )


def _topic(known: Knowledge, name: str, by_subject: Mapping[str, ByWay]) -> Topic:
    together = {way: [f for of in by_subject.values() for f in of.get(way, ())] for way in WAYS}
    subjects = [_worked(known, subject, of) for subject, of in sorted(by_subject.items())]
    apart = subjects if len(subjects) > 1 else []
    return Topic(_worked(known, WORDS[name], together), tuple(apart))


def _worked(known: Knowledge, name: str, of: ByWay) -> Worked:
    ways = [(way, known.of(of[way]) if of.get(way) else None) for way in WAYS]
    return Worked(name, tuple(ways))
