"""Evidence as the columns that the model reads, and the names its numbers stand for."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import numpy as np

from drills.competency.models import EvidenceQuerySet
from drills.engine.facts import BAG, ITEM, SKILL, Fact
from drills.engine.knowing.columns import (
    HANDS_ON,
    MODALITIES,
    SCREEN,
    Answers,
    Ints,
    came_to_place,
)
from drills.engine.memory import CREDIT, Observation
from drills.engine.recipes import LOCATE
from drills.engine.scoring import WRONG
from drills.engine.timing import CUT_OFF

DAY = 86_400.0
ROWS_AT_ONCE = 5_000
READ = (
    *("person_id", "fact__item__key", "fact__bag__key", "fact__place__key", "fact__skill"),
    *("fact__place__layout_id", "need__key", "need__category", "kind", "outcome", "at", "source"),
    *("is_first", "is_simulated", "seconds", "time_verdict", "modality", "choices_offered"),
    "revision_id",
)
_MODALITY = {name: number for number, name in enumerate(MODALITIES)}


@dataclass(slots=True)
class Numbering:
    """The numbers of people and things, and what each thing is; grows by what it meets."""

    levels: dict[str, dict[Hashable, int]] = field(default_factory=dict)
    things: dict[str, tuple[str, str]] = field(default_factory=dict)

    def of(self, name: str, key: Hashable) -> int:
        """The number of a level, the next free one for one that is new."""
        known = self.levels.setdefault(name, {})
        return known.setdefault(key, len(known))

    def names(self, name: str) -> list[Hashable]:
        """The levels in the order of their numbers."""
        return list(self.levels.get(name, {}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One row of evidence: whose it is, what of, on which layout (0 for a skill), and what came of
    it; or, where it does not count, a question that nobody answered yet."""

    person: int
    fact: Fact
    layout: int
    kind: str
    at: datetime
    edition: int
    outcome: str = WRONG
    need: str = ""
    category: str = ""
    source: str = ""
    counts: bool = True
    is_first: bool = True
    is_simulated: bool = False
    seconds: float | None = None
    ran_out: bool = False
    modality: int = SCREEN
    choices: int = 0

    @property
    def observation(self) -> Observation:
        """What it says of its fact."""
        return Observation(self.outcome, self.at, self.is_first, self.source)


def seen_rows(rows: EvidenceQuerySet) -> list[Seen]:
    """Rows of people who are known, the oldest first."""
    read = rows.filter(person__isnull=False).order_by("at", "id").values_list(*READ)
    return [_seen(*row) for row in read.iterator(chunk_size=ROWS_AT_ONCE)]


def _seen(
    person: int, item: str | None, bag: str | None, place: str | None, skill: str, *rest: Any
) -> Seen:
    layout, need, category, kind, outcome, at, source, is_first, is_simulated, *timed = rest
    seconds, verdict, modality, choices, revision = timed
    return Seen(
        person=person,
        fact=fact_of(item, bag, place, skill),
        layout=layout or 0,
        kind=kind,
        at=at,
        edition=revision,
        outcome=outcome,
        need=need or "",
        category=category or "",
        source=source,
        is_first=is_first,
        is_simulated=is_simulated,
        seconds=seconds,
        ran_out=verdict == CUT_OFF,
        modality=_MODALITY[modality],
        choices=choices,
    )


def fact_of(item: str | None, bag: str | None, place: str | None, skill: str) -> Fact:
    """A fact in the engine's terms, from the keys that its row leads to."""
    if skill:
        return Fact(SKILL, skill, "")
    return Fact(ITEM, item, place or "") if item else Fact(BAG, bag or "", place or "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When it is asked, on which layout as of which revision, and whether at the rig."""

    layout: int
    edition: int
    now: datetime
    by_hand: bool = False


def asked_now(person: int, facts: Iterable[Fact], moment: Moment) -> list[Seen]:
    """Questions that nobody answered yet: where is each of these, now?"""
    return [
        Seen(
            person=person,
            fact=fact,
            layout=0 if fact.kind == SKILL else moment.layout,
            kind=LOCATE,
            at=moment.now,
            edition=moment.edition,
            counts=False,
            is_first=False,
            modality=HANDS_ON if moment.by_hand else SCREEN,
        )
        for fact in facts
    ]


def columns_of(rows: Sequence[Seen], numbering: Numbering) -> Answers:
    """The rows as columns, in their order, which is that of time."""
    numbering.things.update({row.fact.thing: (row.need, row.category) for row in rows if row.need})
    things = [_what(row.fact, numbering.things) for row in rows]

    def numbered(name: str, keys: Iterable[Hashable]) -> Ints:
        return np.array([numbering.of(name, key) for key in keys], dtype=np.int64)

    time = np.array([row.at.timestamp() / DAY for row in rows], dtype=float)
    fact = numbered("fact", (f"{row.layout} {row.fact}" for row in rows))
    slot = numbered("slot", ((row.layout, row.fact.kind, row.fact.thing) for row in rows))
    choices = np.array([max(row.choices, 1) for row in rows], dtype=float)
    edition = np.array([row.edition for row in rows], dtype=np.int64)
    return Answers(
        time=time,
        person=numbered("person", (row.person for row in rows)),
        fact=fact,
        need=numbered("need", (need for need, _ in things)),
        place=numbered("place", ((row.layout, row.fact.place) for row in rows)),
        spot=numbered("spot", (row.fact.place for row in rows)),
        slot=slot,
        category=numbered("category", (category for _, category in things)),
        kind=numbered("kind", (row.kind for row in rows)),
        modality=np.array([row.modality for row in rows], dtype=np.int64),
        right=np.array([CREDIT[row.outcome] for row in rows], dtype=float),
        seconds=np.array([row.seconds for row in rows], dtype=float),
        ran_out=np.array([row.ran_out for row in rows], dtype=bool),
        guess=np.where(choices > 1, 1.0 / choices, 0.0),
        moved=came_to_place(time, fact, slot, edition),
        counts=np.array([row.counts for row in rows], dtype=bool),
        scored=np.array([row.counts and row.is_first for row in rows], dtype=bool),
    )


def _what(fact: Fact, things: Mapping[str, tuple[str, str]]) -> tuple[str, str]:
    """The need of a thing and its category; of what is tied to none, the thing itself."""
    if fact.kind in (BAG, SKILL):
        return f"{fact.kind} {fact.thing}", fact.kind
    need, category = things.get(fact.thing, ("", ""))
    return (f"need {need}", category) if need else (f"item {fact.thing}", "")
