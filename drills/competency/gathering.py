"""Evidence as the columns that the model reads, and the names its numbers stand for."""

import math
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import numpy as np
from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from drills.competency.models import Evidence, EvidenceQuerySet
from drills.competency.models import Fact as FactRow
from drills.engine.facts import BAG, ITEM, SKILL, Fact
from drills.engine.knowing.columns import (
    HANDS_ON,
    MODALITIES,
    SCREEN,
    Answers,
    Floats,
    came_lately,
    came_to_place,
)
from drills.engine.memory import CREDIT, Observation
from drills.engine.recipes import LOCATE, STAGE
from drills.engine.scoring import RIGHT, WRONG
from drills.engine.timing import CUT_OFF
from drills.people.models import Person
from drills.people.prepared import Prepared
from drills.rigs.models import Layout

DAY = 86_400.0
ROWS_AT_ONCE = 5_000
READ = (
    *("person_id", "fact__item__key", "fact__bag__key", "fact__place__key", "fact__skill"),
    *("fact__place__layout_id", "need__key", "need__category", "kind", "outcome", "at", "source"),
    *("is_first", "is_simulated", "seconds", "time_verdict", "modality", "choices_offered"),
    *("revision_id", "is_imported", "steps"),
)
# The layout of a skill, which is asked on none.
ON_NONE = 0
# What a row is of, each with numbers of its own.
LEVELS = ("person", "fact", "need", "place", "spot", "slot", "category", "kind")
_MODALITY = {name: number for number, name in enumerate(MODALITIES)}


@dataclass(slots=True)
class Numbering:
    """The numbers of people and things, and what each thing is; grows by what it meets."""

    levels: dict[str, dict[Hashable, int]] = field(default_factory=dict)
    things: dict[str, tuple[str, str]] = field(default_factory=dict)

    def of_each(self, name: str, keys: Iterable[Hashable]) -> list[int]:
        """The number of each of some levels, the next free one for one that is new."""
        known = self.levels.setdefault(name, {})
        return [known.setdefault(key, len(known)) for key in keys]

    def names(self, name: str) -> list[Hashable]:
        """The levels in the order of their numbers."""
        return list(self.levels.get(name, {}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One row of evidence: whose it is, what of, on which layout (`ON_NONE` for a skill), and what
    came of it; or, where it does not count, a question that nobody answered yet.
    `number` is that of the row, where rows are read whole."""

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
    is_imported: bool = False
    seconds: float | None = None
    ran_out: bool = False
    modality: int = SCREEN
    choices: int = 0
    number: int = 0

    @property
    def observation(self) -> Observation:
        """What it says of its fact."""
        return Observation(self.outcome, self.at, self.is_first, self.source)


def seen_rows(rows: EvidenceQuerySet, left_out: Collection[int] = frozenset()) -> list[Seen]:
    """Rows of people who are known, the oldest first, but those of some numbers."""
    read = to_read(rows).values_list("pk", *READ).iterator(chunk_size=ROWS_AT_ONCE)
    return [_seen(*row, number=number) for number, *row in read if number not in left_out]


def to_read(rows: EvidenceQuerySet) -> QuerySet[Evidence, tuple[Any, ...]]:
    """The columns of rows of people who are known, the oldest first; `steps` is how many rows came
    of the same answer."""
    same = Evidence.objects.filter(source=OuterRef("source")).order_by().values("source")
    counted = rows.annotate(steps=Subquery(same.annotate(each=Count("pk")).values("each")))
    return counted.filter(person__isnull=False).order_by("at", "id").values_list(*READ)


def seen_of(row: Sequence[Any]) -> Seen:
    """One row of these."""
    return _seen(*row)


_NEAR = Prepared(
    lambda person, things, places: to_read(
        Evidence.objects.standing().filter(
            person=person, fact__in=FactRow.objects.near(things, places)
        )
    )
)
# Skills lie nowhere, and so beside one another.
_NEAR_OR_NOWHERE = Prepared(
    lambda person, things, places: to_read(
        Evidence.objects.standing().filter(
            Q(fact__in=FactRow.objects.near(things, places)) | Q(fact__place=None),
            person=person,
        )
    )
)


def seen_of_one(
    person: Person,
    about: Collection[Fact] | None,
    alike: Mapping[str, Collection[str]] | None = None,
) -> list[Seen]:
    """What tells of some facts of one person, or of all; the oldest first. `alike` has by item the
    others that serve the same need."""
    if about is None:
        return seen_rows(Evidence.objects.standing().filter(person=person))
    things, places = {each.thing for each in about}, {each.place for each in about}
    things |= {other for thing in things for other in (alike or {}).get(thing, ())}
    near = _NEAR_OR_NOWHERE if "" in places else _NEAR
    return list(map(seen_of, near(person=person.pk, things=[*things], places=[*places - {""}])))


def _seen(
    person: int,
    item: str | None,
    bag: str | None,
    place: str | None,
    skill: str,
    *rest: Any,
    number: int = 0,
) -> Seen:
    layout, need, category, kind, outcome, at, source, is_first, is_simulated, *timed = rest
    seconds, verdict, modality, choices, revision, is_imported, steps = timed
    return Seen(
        person=person,
        fact=fact_of(item, bag, place, skill),
        layout=layout or ON_NONE,
        kind=kind,
        at=at,
        edition=revision,
        outcome=outcome,
        need=need or "",
        category=category or "",
        source=source,
        is_first=is_first,
        is_simulated=is_simulated,
        is_imported=is_imported,
        # An answer is timed as a whole: its steps, such as the bag and the thing in it, share its
        # seconds. Of a kit nobody knows how long finding each thing took.
        seconds=None if kind == STAGE or seconds is None else seconds / steps,
        ran_out=verdict == CUT_OFF,
        modality=_MODALITY[modality],
        choices=choices,
        number=number,
    )


def fact_of(item: str | None, bag: str | None, place: str | None, skill: str) -> Fact:
    """A fact in the engine's terms, from the keys that its row leads to."""
    if skill:
        return Fact(SKILL, skill, "")
    return Fact(ITEM, item, place or "") if item else Fact(BAG, bag or "", place or "")


def facts_on(layout: Layout) -> dict[int, Fact]:
    """The facts of a layout and all skills, by the number of their row."""
    read = FactRow.objects.filter(Q(place__layout=layout) | Q(place=None))
    keys = ("pk", "item__key", "bag__key", "place__key", "skill")
    return {row: fact_of(*names) for row, *names in read.values_list(*keys)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """In which manner it is asked: by which kind of prompt (by itself where none is told, a skill
    in its own way), out of how many choices (0 of none), and at which door."""

    kind: str = ""
    choices: int = 0
    modality: str = MODALITIES[SCREEN]


BY_ITSELF = Manner()
AT_RIG = Manner(modality=MODALITIES[HANDS_ON])


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When it is asked, of whom, on which layout as of which revision, and in which manner."""

    person: int
    layout: int
    edition: int
    now: datetime
    manner: Manner = BY_ITSELF


def asked_at(facts: Iterable[Fact], moment: Moment) -> list[Seen]:
    """Questions that nobody answered yet: where is each of these, at that moment? A skill's own way
    is the first word of its key."""
    manner = moment.manner
    return [
        Seen(
            person=moment.person,
            fact=fact,
            layout=ON_NONE if fact.kind == SKILL else moment.layout,
            kind=manner.kind or (fact.thing.partition(" ")[0] if fact.kind == SKILL else LOCATE),
            at=moment.now,
            edition=moment.edition,
            counts=False,
            is_first=False,
            modality=_MODALITY[manner.modality],
            choices=manner.choices,
        )
        for fact in facts
    ]


def day_of(at: datetime | None) -> float:
    """A moment in days; not a number where there is none."""
    return math.nan if at is None else at.timestamp() / DAY


@dataclass(frozen=True, slots=True)
class Since:
    """What all rows of everybody told of days, for where they are not all read: when those came who
    came lately, and `places`, when a fact of a name came to be its thing's place."""

    came: Mapping[int, float]
    places: Mapping[str, float]

    def days_of(
        self, rows: Sequence[Seen], facts: Sequence[str], by_rows: Floats
    ) -> tuple[Floats, Floats]:
        """When the people of some rows came, and their facts to be: as named, else by the rows."""
        came = np.array([self.came.get(row.person, math.nan) for row in rows])
        told = zip(facts, by_rows.tolist(), strict=True)
        return came, np.array([self.places.get(fact, day) for fact, day in told])


def columns_of(rows: Sequence[Seen], numbering: Numbering, since: Since | None = None) -> Answers:
    """The rows as columns, in their order, which is that of time.

    `since` is given where they are not all rows of everybody; what it does not name of places is
    told by the rows.
    """
    numbering.things.update({row.fact.thing: (row.need, row.category) for row in rows if row.need})
    named = _named(rows, numbering.things)
    level = {
        name: np.array(numbering.of_each(name, (row[at] for row in named)), dtype=np.int64)
        for at, name in enumerate(LEVELS)
    }
    figures = np.array([_figures(row) for row in rows], dtype=float).reshape(-1, 10).T
    time, right, seconds, ran_out, guess, edition, modality, skill, counts, scored = figures
    moved = came_to_place(time, level["fact"], level["slot"], edition.astype(np.int64))
    came = came_lately(time, level["person"])
    if since is not None:
        came, moved = since.days_of(rows, [str(row[LEVELS.index("fact")]) for row in named], moved)
    return Answers(
        **level,
        time=time,
        modality=modality.astype(np.int64),
        right=right,
        seconds=seconds,
        ran_out=ran_out.astype(bool),
        guess=guess,
        moved=moved,
        came=came,
        skill=skill.astype(bool),
        counts=counts.astype(bool),
        scored=scored.astype(bool),
    )


def _named(
    rows: Sequence[Seen], things: Mapping[str, tuple[str, str]]
) -> list[tuple[Hashable, ...]]:
    """What each row is of: a name for each of `LEVELS`."""
    facts = {(row.layout, row.fact) for row in rows}
    of_facts = {each: _names(*each, things) for each in facts}
    return [(row.person, *of_facts[row.layout, row.fact], row.kind) for row in rows]


def _names(layout: int, fact: Fact, things: Mapping[str, tuple[str, str]]) -> tuple[Hashable, ...]:
    """What a row of a fact is of: a name for each of `LEVELS` but whose it is and its kind."""
    need, category = _what(fact, things)
    return (
        f"{layout} {fact}",
        need,
        (layout, fact.place),
        fact.place,
        (layout, fact.kind, fact.thing),
        category,
    )


def _figures(row: Seen) -> tuple[float | None, ...]:
    return (
        day_of(row.at),
        CREDIT[row.outcome],
        row.seconds,
        row.ran_out,
        1.0 / row.choices if row.choices > 1 else 0.0,
        row.edition,
        row.modality,
        row.fact.kind == SKILL,
        row.counts,
        row.counts and row.is_first,
    )


def _what(fact: Fact, things: Mapping[str, tuple[str, str]]) -> tuple[str, str]:
    """The need of a thing and its category; of what is tied to none, the thing itself."""
    if fact.kind in (BAG, SKILL):
        return f"{fact.kind} {fact.thing}", fact.kind
    need, category = things.get(fact.thing, ("", ""))
    return (f"need {need}", category) if need else (f"item {fact.thing}", "")


def missed_last(seen: Iterable[Seen]) -> dict[Fact, datetime]:
    """The facts whose newest answer was not right, a retry as well, and when that was."""
    newest = {each.fact: each for each in sorted(seen, key=lambda each: each.at)}
    return {fact: each.at for fact, each in newest.items() if each.outcome != RIGHT}
