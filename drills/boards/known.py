"""What one person knows of a rig, thing by thing: the chance of finding each of them now."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import groupby

from django.utils import timezone
from django.utils.formats import date_format

from drills.boards.exactly import Ask, Questions
from drills.competency.reports import Outlook, observed_outcomes, outlook_of
from drills.engine.facts import facts_of, steps
from drills.engine.layout import Layout
from drills.engine.readying import Thought, thoughts_of
from drills.engine.readying.call import OBSERVED_ENOUGH, SCREEN_ONLY
from drills.people.models import Person
from drills.rigs.models import Revision, Rig
from drills.rigs.own import layout_on
from drills.rigs.reports import todays_rig
from drills.scenarios.coverage import must_haves_on

# After so many days of nothing each thing is looked at again.
AHEAD = (7, 14, 30, 60, 90, 180)
# What was missed, and then shown, less than this before is not told as a number: that it comes to
# mind minutes later says nothing of the next shift. Ours, no source.
JUST_SHOWN = timedelta(hours=12)
# How many critical things are named first. Ours, no source.
LOOKED_AT = 5


@dataclass(frozen=True, slots=True)
class Row:
    """One thing: what is thought of it, where it lies, whether it was missed when last asked, and
    shown only just now, and when in half a year it lapses."""

    thought: Thought
    place: str
    is_fluent: bool
    was_missed: bool
    is_just_shown: bool
    lapses_on: date | None

    @property
    def is_told(self) -> bool:
        """Whether a number is told of it."""
        return self.thought.is_enough and not self.is_just_shown

    @property
    def words(self) -> str:
        """What stands beside the chance; when it lapses not of what is known too little for it."""
        lapses = self.lapses_on if self.is_told else None
        told = f"lapses by {date_format(lapses, 'j M')}" if lapses else ""
        screen = SCREEN_ONLY if self.thought.first_answers and not self.thought.hands_on else ""
        return ", ".join(
            filter(None, ("missed last" * self.was_missed, "fluent" * self.is_fluent, told, screen))
        )


@dataclass(frozen=True)
class KnownBoard:
    """Everything a person knows of a rig, by the door of its first place; `rows` is empty before
    the first fit of the model."""

    rig: Rig
    rows: tuple[tuple[str, Row], ...] = ()
    has_simulated: bool = False
    has_imported: bool = False
    observed: int = 0

    @property
    def observed_enough(self) -> int:
        """How many outcomes at a rig chances are checked by."""
        return OBSERVED_ENOUGH

    @property
    def is_unchecked(self) -> bool:
        """Whether too few outcomes were seen at a rig, in the whole service, to check chances."""
        return self.observed < self.observed_enough

    @cached_property
    def numbered(self) -> int:
        """How many things carry a number."""
        return sum(row.is_told for _, row in self.rows)

    @cached_property
    def critical_numbered(self) -> tuple[int, int]:
        """How many critical things carry a number, and how many there are."""
        critical = [row for _, row in self.rows if row.thought.thing.critical]
        return sum(row.is_told for row in critical), len(critical)

    @cached_property
    def by_door(self) -> tuple[tuple[str, tuple[Row, ...]], ...]:
        """The rows by the name of their door, the least known of each first."""
        return tuple(
            (door, tuple(row for _, row in rows))
            for door, rows in groupby(self.rows, key=lambda each: each[0])
        )

    @cached_property
    def weakest(self) -> tuple[Row, ...]:
        """The critical things that are known least, with evidence enough for a number or not: first
        those that were missed just now."""
        critical = [row for _, row in self.rows if row.thought.thing.critical]
        known = sorted(critical, key=lambda row: (not row.is_just_shown, row.thought.chance))
        return tuple(known[:LOOKED_AT])

    @cached_property
    def drill(self) -> tuple[Ask, ...]:
        """A question for each of those."""
        things = (row.thought.thing.key for row in self.weakest)
        return Questions(layout_on(self.rig)).of_things(things)

    @cached_property
    def screen_only(self) -> bool:
        """Whether nothing of it was ever seen at the rig."""
        return not any(row.thought.hands_on for _, row in self.rows)


@dataclass(frozen=True, slots=True)
class Numbered:
    """Of how many people, and of all their must-haves together how many carry a number."""

    people: int
    numbered: int
    things: int

    @property
    def in_100(self) -> int:
        """Never rounded up."""
        return 100 * self.numbered // self.things if self.things else 0


def musts_numbered(people: Iterable[Person], *, now: datetime) -> Numbered:
    """How many things that serve a must-have of any call carry a number, each person on the rig
    they ride; who rides none is left out, and before the first fit everybody."""
    musts: dict[Revision, frozenset[str]] = {}
    found: list[list[bool]] = []
    for person in people:
        rig = todays_rig(person)
        if rig is None:
            continue
        if rig.revision not in musts:
            musts[rig.revision] = must_haves_on(rig.revision)
        thoughts = [row.thought for _, row in known_board(person, rig, now=now, ahead=()).rows]
        found.append([e.is_enough for e in thoughts if e.thing.key in musts[rig.revision]])
    return Numbered(sum(map(bool, found)), sum(map(sum, found)), sum(map(len, found)))


def known_board(
    person: Person, rig: Rig, *, now: datetime, ahead: Iterable[int] = AHEAD
) -> KnownBoard:
    """What the person knows of the rig as it is; `ahead` are the days after which each thing is
    looked at again."""
    layout = layout_on(rig)
    outlook = outlook_of(person, revision=rig.revision, facts=facts_of(layout), days=ahead, now=now)
    if outlook is None:
        return KnownBoard(rig)
    rows = tuple(_rows(layout, outlook, now))
    observed = observed_outcomes()
    return KnownBoard(rig, rows, outlook.has_simulated, outlook.has_imported, observed)


def _rows(layout: Layout, outlook: Outlook, now: datetime) -> Iterator[tuple[str, Row]]:
    things = list(layout.things.values())
    told = list(thoughts_of(layout, outlook.now, outlook.ahead, things))
    order = {top.code: at for at, top in enumerate(layout.children.get("", ()))}

    def door(thought: Thought) -> str:
        return layout.chain(thought.thing.places[0])[0].code

    for thought in sorted(told, key=lambda each: (order[door(each)], each.chance)):
        first = thought.thing.places[0]
        lapses, way = thought.lapses_in, steps(layout, thought.thing.key, first)
        missed = [outlook.missed[fact] for fact in way if fact in outlook.missed]
        yield (
            f"{door(thought)} {layout.by_code[door(thought)].name}",
            Row(
                thought,
                layout.path(first),
                outlook.fluent.issuperset(way),
                bool(missed),
                bool(missed) and now - max(missed) < JUST_SHOWN,
                timezone.localdate(now) + timedelta(days=lapses) if lapses else None,
            ),
        )
