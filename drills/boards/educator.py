"""What the cohort misses: fact by fact, skill by skill, door by door, and where people look."""

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from drills.boards.choosing import Choice
from drills.boards.folding import folded
from drills.boards.hire import SHARE_ASKED
from drills.boards.skills import call_names, skill_parts
from drills.competency.reports import cohort_answers
from drills.engine.cohort import (
    FEWEST_PEOPLE,
    Answer,
    Tally,
    as_asked,
    by_fact,
    counted,
    tally,
    told_people,
)
from drills.engine.dosing import Slip
from drills.engine.drawing import FaceDrawing, faces, shade_cells
from drills.engine.facts import BAG, SKILL, Fact, door_of, fact_parts, facts_of
from drills.engine.flagging import Share, share_of
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, NUMBER_KINDS
from drills.engine.scoring import ELSEWHERE, NEXT_DOOR, OLD_PLACE, PARTLY, RIGHT
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.runs.answered import UNKNOWN, Look, Went, dose_slips, wrong_looks

CONTENTS_ASKED, NOT_KEPT = "contents asked", "not kept"
# How each kind of answer goes on after "12 of 24".
KINDS = {
    OLD_PLACE: "look in the old place",
    NEXT_DOOR: "look next door",
    ELSEWHERE: "look elsewhere",
    UNKNOWN: "did not know",
    CONTENTS_ASKED: "got it wrong when asked what a place holds",
    NOT_KEPT: "missed it, and where they looked is not known",
}


@dataclass(frozen=True, slots=True)
class Heard:
    """What was said to one thing asked: how many answers in all, and those that stand."""

    answers: int
    standing: list[Answer]


ByFact = Mapping[Fact, Heard]


@dataclass(frozen=True, slots=True)
class Split:
    """How many answers were of some kinds, of all there are, and how many people gave them.

    It is one kind, unless too few people gave it to be told alone. Where it is not shown, fewer
    than three people answered wrong in all.
    """

    kinds: tuple[str, ...]
    count: int
    of: int
    people: int

    @property
    def is_shown(self) -> bool:
        return self.people >= FEWEST_PEOPLE

    @property
    def kind(self) -> str:
        return " or ".join(self.kinds)

    @property
    def percent(self) -> int:
        return round(100 * self.count / self.of)

    @property
    def words(self) -> str:
        return " or ".join(KINDS.get(kind, kind) for kind in self.kinds).replace(
            " or look ", " or "
        )


@dataclass(frozen=True, slots=True)
class Row:
    """One thing or skill: what it is, where, how the answers add up, and what was said instead.

    `codes` are the compartments it is in; for a bag its own. `drawn` is how often a thing is found,
    drawn towards the others where few were asked for it.
    """

    fact: Fact
    thing: str
    place: str
    tally: Tally
    splits: tuple[Split, ...] = ()
    codes: tuple[str, ...] = ()
    is_moved: bool = False
    is_locked: bool = False
    drawn: Share | None = None

    @property
    def shown_splits(self) -> list[Split]:
        """What was said instead, as far as enough people said it."""
        return [] if self.tally.is_hidden else [each for each in self.splits if each.is_shown]


@dataclass(frozen=True, slots=True)
class Door:
    """One door: the facts behind it, what is found there, and how many people look for a thing
    here that is elsewhere."""

    code: str
    name: str
    facts: int
    asked: int
    tally: Tally
    lands: int

    @property
    def in_100(self) -> int | None:
        """What may be shown of it: nothing before a third of what lies here was asked."""
        return self.tally.right_in_100 if SHARE_ASKED * self.asked >= self.facts else None

    @property
    def told_lands(self) -> str:
        return told_people(self.lands)


@dataclass(frozen=True, slots=True)
class Board:
    """All that the page shows for one choice, but where one fact was looked for.

    `skills` are those that were missed of `skills_asked`; `slips` are named slips by the words in
    which a row tells of them.
    """

    layout: Layout
    things: tuple[Row, ...]
    skills: tuple[Row, ...]
    skills_asked: tuple[Row, ...]
    slips: Mapping[str, Slip]
    doors: tuple[Door, ...]
    faces: tuple[FaceDrawing, ...]
    looks: tuple[Split, ...]
    overall: Tally
    heard: ByFact
    has_skills: bool
    wrong_looks: Mapping[str, Look]

    @property
    def weakest(self) -> Row | None:
        """What is surely missed most, where there is evidence enough."""
        first = next(iter(self.things), None)
        return first if first and first.tally.is_enough else None


def board_of(choice: Choice) -> Board:
    """Everything for one choice. Only what the revision in force still has is spoken of."""
    layout = layout_of(choice.revision)
    asked = as_asked(facts_of(layout))
    things, skills = _heard(choice, asked)
    looks = wrong_looks(choice.revision.layout, **choice.span)
    wrong = [
        each
        for heard in things.values()
        for each in heard.standing
        if is_wrong(each) and each.source in looks
    ]
    went = dose_slips(choice.revision.layout, **choice.span)
    rows = _skill_rows(skills, went)
    doors = _doors(layout, asked, things, _lands(layout, wrong, looks))
    values = {door.code: door.in_100 for door in doors}
    return Board(
        layout=layout,
        things=_ranked(_drawn(_thing_rows(choice.revision, layout, asked, things, looks))),
        skills=_ranked(rows),
        skills_asked=tuple(rows),
        slips={each.words: each.slip for each in went.values() if each.slip},
        doors=doors,
        faces=tuple(shade_cells(face, values=values) for face in faces(layout, value_of=str)),
        looks=_all_looks(wrong, looks),
        overall=_together([*things.values(), *skills.values()]),
        heard=things,
        has_skills=bool(skills),
        wrong_looks=looks,
    )


def _heard(choice: Choice, asked: Mapping[Fact, tuple[Fact, ...]]) -> tuple[ByFact, ByFact]:
    """The answers by what was asked: things, each under the first of its facts, and skills."""
    things: dict[Fact, list[Answer]] = defaultdict(list)
    skills: dict[Fact, Heard] = {}
    read = cohort_answers(choice.revision.layout, probes_alone=choice.probes_alone, **choice.span)
    for fact, answers in by_fact(read).items():
        if fact.kind == SKILL:
            skills[fact] = Heard(len(answers), counted(answers))
        elif fact in asked:
            first = asked[fact][0]
            alike = fact == first
            things[first] += answers if alike else [replace(each, fact=first) for each in answers]
    return {fact: Heard(len(told), counted(told)) for fact, told in things.items()}, skills


def kind_of(answer: Answer, looks: Mapping[str, Look]) -> str:
    """What a wrong answer was. One that is no look came when contents were asked, or from where
    no look is kept: a kit, a sheet, a record from before."""
    look = looks.get(answer.source)
    if look:
        return look.near
    return CONTENTS_ASKED if answer.kind == CONTENTS else NOT_KEPT


def is_wrong(answer: Answer) -> bool:
    return answer.outcome not in {RIGHT, PARTLY}


def _ranked(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Whatever was missed, surest first. What too few were asked is listed whether missed or not:
    that it is here must tell nothing."""
    listed = [row for row in rows if row.tally.is_hidden or row.tally.share > 0]
    return tuple(sorted(listed, key=lambda row: (*row.tally.rank, row.thing, row.place)))


def _drawn(rows: Iterable[Row]) -> list[Row]:
    """The things with how often each is found beside the others; of those that few were asked for
    nothing is said."""
    every = list(rows)
    told = [row for row in every if not row.tally.is_hidden]
    people = [row.tally.people for row in told]
    found = [row.tally.people * (1.0 - row.tally.share) for row in told]
    shares = dict(zip((row.fact for row in told), share_of(found, people), strict=True))
    return [replace(row, drawn=shares.get(row.fact)) for row in every]


def _thing_rows(
    revision: Revision,
    layout: Layout,
    asked: Mapping[Fact, tuple[Fact, ...]],
    given: ByFact,
    looks: Mapping[str, Look],
) -> Iterator[Row]:
    moved = _moved(revision, asked)
    codes = {each.key: each.code for each in layout.compartments}
    for fact, heard in given.items():
        ways = [fact_parts(layout, each) for each in asked[fact]]
        lies = [codes[each.thing if each.kind == BAG else each.place] for each in asked[fact]]
        yield Row(
            fact,
            ways[0][0],
            " or ".join(place for _, place in ways),
            _together([heard]),
            _splits(heard.standing, {e.source: kind_of(e, looks) for e in heard.standing}),
            codes=tuple(lies),
            is_moved=not moved.isdisjoint(asked[fact]),
            is_locked=any(map(layout.is_locked, lies)),
        )


def _moved(revision: Revision, current: Iterable[Fact]) -> frozenset[Fact]:
    """The facts that are new in a revision, of things which the one before had elsewhere."""
    before = revision.before
    old = facts_of(layout_of(before)) if before else ()
    had = {(fact.kind, fact.thing) for fact in old}
    return frozenset(f for f in current if (f.kind, f.thing) in had) - frozenset(old)


def is_of_numbers(row: Row) -> bool:
    """Whether it is a dose or a supply, and answered with a number."""
    return row.fact.thing.partition(" ")[0] in NUMBER_KINDS


def _skill_rows(given: ByFact, went: Mapping[str, Went]) -> list[Row]:
    """Doses by medicine and supplies by what they are of, with the rule shown and from memory
    apart; staging by call type."""
    names = call_names()
    rows = []
    for fact, heard in given.items():
        words, way = skill_parts(fact, names)
        row = Row(fact, words, way, _together([heard]))
        told = {each.source: _went(went, each) for each in heard.standing}
        rows.append(
            replace(row, splits=_splits(heard.standing, told)) if is_of_numbers(row) else row
        )
    return rows


def _went(went: Mapping[str, Went], answer: Answer) -> str:
    return went[answer.source].words if answer.source in went else ""


def _together(heard: Collection[Heard]) -> Tally:
    return tally(
        chain.from_iterable(each.standing for each in heard),
        given=sum(each.answers for each in heard),
    )


def _splits(standing: Collection[Answer], kinds: Mapping[str, str]) -> tuple[Split, ...]:
    """What was said by how many, of the answers that stand and are wrong."""
    found: dict[str, list[Answer]] = defaultdict(list)
    for each in standing:
        if is_wrong(each):
            found[kinds[each.source]].append(each)
    return split_by(found, of=len(standing))


def split_by(kinds: Mapping[str, Sequence[Answer]], *, of: int) -> tuple[Split, ...]:
    """The kinds apart, the most first, then what few gave as one."""
    apart, as_one = folded(kinds)
    groups: list[tuple[tuple[str, ...], Sequence[Answer]]] = [
        ((kind,), told) for kind, told in apart.items()
    ]
    if as_one:
        # In an order that does not tell which is the greater.
        names = dict.fromkeys(kind for kind in (*KINDS, *sorted(as_one)) if kind in as_one)
        groups.append((tuple(names), list(chain.from_iterable(as_one.values()))))
    return tuple(
        Split(names, len(told), of, len({each.person for each in told})) for names, told in groups
    )


def _all_looks(wrong: Collection[Answer], looks: Mapping[str, Look]) -> tuple[Split, ...]:
    """The first looks that went wrong on the whole rig; once for each thing and person."""
    found: dict[str, list[Answer]] = defaultdict(list)
    for each in wrong:
        found[looks[each.source].near].append(each)
    return split_by(found, of=len(wrong))


def _lands(
    layout: Layout, wrong: Iterable[Answer], looks: Mapping[str, Look]
) -> Mapping[str, Collection[Hashable]]:
    """By door, the people who look behind it for a thing that is elsewhere."""
    doors = {each.key: layout.chain(each.code)[0].code for each in layout.compartments}
    found: dict[str, set[Hashable]] = defaultdict(set)
    for each in wrong:
        found[doors.get(looks[each.source].place, "")].add(each.person)
    return found


def _doors(
    layout: Layout,
    asked: Mapping[Fact, tuple[Fact, ...]],
    given: ByFact,
    lands: Mapping[str, Collection[Hashable]],
) -> tuple[Door, ...]:
    """Every door in the order of the workbook."""
    behind: dict[str, set[Fact]] = defaultdict(set)
    for fact in asked:
        behind[door_of(layout, fact)].add(asked[fact][0])
    return tuple(
        Door(
            code=top.code,
            name=top.name,
            facts=len(behind[top.code]),
            asked=sum(fact in given for fact in behind[top.code]),
            tally=_together([given[fact] for fact in behind[top.code] if fact in given]),
            lands=len(lands.get(top.code, ())),
        )
        for top in layout.children.get("", ())
    )
