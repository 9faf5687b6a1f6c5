"""A kit asked for at the open doors: what stands on the officer's sheet, and what they saw tells.

A thing is brought, brought after help was asked for, or wrong: another thing or the wrong size. A
must-have that is not marked when the watch stops was not brought, and where it lies is not judged
by that. Needless things are not written down. Ours, no source.
"""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from drills.engine.calls import MUST, NEEDLESS
from drills.engine.facts import BAG, Fact, bag_fact, steps
from drills.engine.geometry import metres_from_cot
from drills.engine.layout import Layout
from drills.engine.prompts import bag_asked
from drills.engine.scoring import PARTLY, RIGHT, WRONG, Finding
from drills.engine.timing import SERVER_SLACK, SHORTEST_POSSIBLE, UNVERIFIED, VERIFIED
from drills.engine.wanted import Wanted

OPENED, RUNNING, STOPPED, AWAY, CLOSED = "opened", "running", "stopped", "away", "closed"
BROUGHT, HELPED, WRONG_THING = "brought", "helped", "wrong"
_SAYS = {BROUGHT: RIGHT, HELPED: PARTLY, WRONG_THING: WRONG}
# What may be done with a sheet, in words, and the states it may be done in.
DEEDS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "start": ("start the watch", (OPENED,)),
    "stop": ("stop the watch", (OPENED, RUNNING)),
    "away": ("say that you are called away", (OPENED, RUNNING, STOPPED)),
    "close": ("close the sheet", (STOPPED, AWAY)),
}
STATE_WORDS: Mapping[str, str] = {
    OPENED: "not started",
    RUNNING: "running",
    STOPPED: "stopped, and not closed",
    AWAY: "called away, and not closed",
    CLOSED: "closed",
}
SEEN: Mapping[str, str] = {BROUGHT: "Brought", HELPED: "With help", WRONG_THING: "Wrong thing"}
SEEN_BEHIND_A_LOCK: Mapping[str, str] = {**SEEN, BROUGHT: "Named"}
# What is seen of a single thing; wrong places are counted beside it.
FOUND, NOT_FOUND = "found", "not-found"
SEEN_ALONE: Mapping[str, str] = {FOUND: "Found", HELPED: "With help", NOT_FOUND: "Did not find"}


class SheetError(ValueError):
    """What cannot be done with a sheet; the text says why, and what can be."""


def refuse_deed(state: str, deed: str) -> None:
    """Raise `SheetError` unless the deed may be done in this state."""
    words, states = DEEDS[deed]
    if state not in states:
        can = [told for told, there in DEEDS.values() if state in there]
        instead = f"You can {' or '.join(can)}." if can else "What was seen stands."
        raise SheetError(f"This sheet is {STATE_WORDS[state]}: you cannot {words}. {instead}")


@dataclass(frozen=True, slots=True)
class Watch:
    """Seconds from start to stop, how many seconds `ago` that was when it was sent, and whether
    the officer's own watch is what counts."""

    seconds: float
    ago: float
    state: str


def read_watch(claim: float | None, *, ago: float = 0.0, opened: float, started: float) -> Watch:
    """The officer's watch, where it fits into the seconds since the sheet was `opened`; else those
    since the server heard that it `started`. What was stopped without signal is sent later."""
    if claim is not None and math.isfinite(claim) and math.isfinite(ago) and ago >= 0:
        fits = SHORTEST_POSSIBLE < claim <= opened + SERVER_SLACK - ago
        if fits:
            return Watch(claim, ago, VERIFIED)
    return Watch(max(started, 0.0), 0.0, UNVERIFIED)


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One thing of the kit: how many of which `thing`, and the codes of the places that hold it,
    the nearest to the cot first. What is `locked` is pointed at and named, never taken out."""

    need: str
    grade: str
    quantity: int
    thing: str
    name: str
    places: tuple[str, ...]
    is_locked: bool

    @property
    def is_must(self) -> bool:
        """Whether the kit fails without it."""
        return self.grade == MUST

    @property
    def choices(self) -> Mapping[str, str]:
        """What can be seen of it, with the words for it."""
        return SEEN_BEHIND_A_LOCK if self.is_locked else SEEN

    def told(self, said: str) -> str:
        """What was seen of it, in words."""
        return self.choices.get(said, "Not named" if self.is_locked else "Not brought")


@dataclass(frozen=True, slots=True)
class Observed:
    """What an officer saw, judged: right, partly right or wrong, the must-haves that were not
    brought, and what it says of each fact, alone and after help."""

    outcome: str
    missing: tuple[SheetLine, ...]
    alone: tuple[Finding, ...]
    helped: tuple[Finding, ...]


def sheet_lines(
    layout: Layout, wanted: Sequence[Wanted], held: Collection[tuple[str, str]] = ()
) -> tuple[SheetLine, ...]:
    """The lines of a sheet: must-haves first, then what is useful, of what is aboard.

    What is `held` is reported missing: (thing key, place key).
    """
    there: dict[str, list[str]] = {}
    for line in layout.lines_there(held):
        there.setdefault(line.key, []).append(line.compartment)
    lines = [*_lines(layout, wanted, there)]
    return tuple(sorted(lines, key=lambda line: not line.is_must))


def _lines(
    layout: Layout, wanted: Sequence[Wanted], there: Mapping[str, Sequence[str]]
) -> Iterator[SheetLine]:
    for each in wanted:
        thing = next((key for key in each.serving if key in there), "")
        if not thing or not each.quantity or each.grade == NEEDLESS:
            continue
        places = sorted(there[thing], key=lambda code: metres_from_cot(layout, code))
        yield SheetLine(
            need=each.need,
            grade=each.grade,
            quantity=each.quantity,
            thing=thing,
            name=layout.things[thing].name,
            places=tuple(places),
            is_locked=layout.is_locked(places[0]),
        )


def facts_asked(layout: Layout, lines: Iterable[SheetLine]) -> tuple[Fact, ...]:
    """Every fact that a mark on one of some lines may tell of, each once."""
    found: dict[Fact, None] = {}
    for line in lines:
        bag = bag_asked(line.thing)
        ways = [steps(layout, line.thing, place) for place in line.places] if not bag else []
        found |= dict.fromkeys([bag_fact(layout, bag)] if bag else chain.from_iterable(ways))
    return tuple(found)


def observe(
    layout: Layout,
    lines: Sequence[SheetLine],
    seen: Mapping[int, str],
    *,
    wrong_doors: int,
    skill: Fact,
    voided: Collection[int] = (),
) -> Observed:
    """Judge a kit by what was `seen` of its lines, by their numbers from 0, and by how often a
    wrong door was opened. `skill` is staging for such a call.

    Right is every must-have brought, nothing wrong, no help and no wrong door. A bag out of which
    a thing came is known. What lies in several places tells of none when it is brought, since
    nobody wrote down from which; a wrong thing counts for the one nearest to the cot. Lines whose
    mark was `voided` after a contest count for nothing, as if they had not been asked for; where
    no must-have is left there is no outcome and nothing is told.
    """
    seen = {number: said for number, said in seen.items() if number not in voided}
    asked = _musts_but(lines, voided)
    if voided and not asked:
        return Observed("", (), (), ())
    missing = tuple(each for number, each in asked if seen.get(number) not in (BROUGHT, HELPED))
    is_clean = not wrong_doors and not {HELPED, WRONG_THING} & set(seen.values())
    outcome = WRONG if missing else RIGHT if is_clean else PARTLY
    return Observed(
        outcome, missing, *_findings_of(layout, lines, seen, Finding(skill, outcome, ""))
    )


def _musts_but(lines: Sequence[SheetLine], voided: Collection[int]) -> list[tuple[int, SheetLine]]:
    """The must-haves that count, by their numbers."""
    return [
        (number, each) for number, each in enumerate(lines) if each.is_must and number not in voided
    ]


def _findings_of(
    layout: Layout, lines: Sequence[SheetLine], seen: Mapping[int, str], whole: Finding
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """What was seen tells, alone and after help; with the finding of the whole kit."""
    alone, helped = {whole.fact: whole}, []
    for said, finding in _told(layout, lines, seen):
        if said == HELPED:
            helped.append(finding)
        else:
            alone[finding.fact] = finding
    return tuple(alone.values()), tuple(helped)


def _told(
    layout: Layout, lines: Sequence[SheetLine], seen: Mapping[int, str]
) -> Iterator[tuple[str, Finding]]:
    """Each mark with what it says."""
    for number, line in enumerate(lines):
        if said := seen.get(number):
            yield from ((said, each) for each in _findings(layout, line, said))


def _findings(layout: Layout, line: SheetLine, said: str) -> Iterator[Finding]:
    """What one mark says of the thing and, when it was brought alone, of the bags it was in."""
    if len(line.places) > 1 and said != WRONG_THING:
        return
    *bags, item = steps(layout, line.thing, line.places[0])
    yield Finding(item, _SAYS[said], "")
    if said == BROUGHT:
        yield from (Finding(fact, RIGHT, "") for fact in bags if fact.kind == BAG)


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of one single thing, `FOUND`, `HELPED` or `NOT_FOUND`, and in how many wrong
    places it was looked for."""

    said: str
    wrong_places: int = 0

    @property
    def outcome(self) -> str:
        """Right is found at the first place and without help; found otherwise is partly right,
        as a wrong door is of a kit. Ours, no source."""
        if self.said == NOT_FOUND:
            return WRONG
        return PARTLY if self.said == HELPED or self.wrong_places else RIGHT

    @property
    def words(self) -> str:
        """What was seen, as its officer would say it."""
        many = self.wrong_places
        places = f", {many} wrong place{'' if many == 1 else 's'}" if many else ""
        return f"{SEEN_ALONE[self.said]}{places}"


def read_seen(said: str, wrong_places: int) -> Seen:
    """What came in for a single thing; raises `SheetError` for what cannot be seen of one."""
    if said not in SEEN_ALONE:
        raise SheetError(
            f"{said[:20]!r} came in for a thing. {', '.join(SEEN_ALONE)} are accepted."
        )
    return Seen(said, wrong_places)


def seen_alone(layout: Layout, line: SheetLine, seen: Seen) -> tuple[Finding, ...]:
    """What finding a single thing tells of its fact.

    A bag that was asked for tells of itself; one out of which a thing came at the first place is
    known. What lies in several places tells of none once it is found, as of a kit.
    """
    if bag := bag_asked(line.thing):
        return (Finding(bag_fact(layout, bag), seen.outcome, ""),)
    as_kit = {RIGHT: BROUGHT, PARTLY: HELPED, WRONG: WRONG_THING}
    return tuple(_findings(layout, line, as_kit[seen.outcome]))


def outcome_alone(seen: Collection[Seen]) -> str:
    """Of all single things together: wrong where one was not found, right where every one was
    found at once and alone; empty of none."""
    found = {each.outcome for each in seen}
    return next((each for each in (WRONG, PARTLY, RIGHT) if each in found), "")
