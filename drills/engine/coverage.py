"""What a layout lacks for a call type, at the most patients that the call type may have.

How many of a need are asked for then is the largest number that any draw of the call type can ask
for, worked out need by need: never too few, and where needs are of different patients not all of
them at once.

What a rig without a cot need not carry, since the one that comes for the patient brings it, is in
`brought.csv`: of that none aboard is no lack there; whatever is aboard counts as anywhere.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from drills.engine.callcheck import need_fits
from drills.engine.calls import (
    CALL,
    GRADES,
    MUST,
    NEEDLESS,
    PATIENT,
    Asked,
    CallNeed,
    CallType,
    CallWorld,
)
from drills.engine.layout import Layout
from drills.engine.points import transports
from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file
from drills.engine.wanted import Wanted, want

ABSENT, FEW, SERVED = "cannot be served", "too few for the most patients", "served"
WAITING = "served once its keeper has confirmed a tie"
BROUGHT = "served until the rig comes that transports"
STATES = (ABSENT, FEW, WAITING, BROUGHT, SERVED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought(Sourced):
    """A need that a rig which does not transport leaves to the one that does, and why."""

    need: str
    why: str


BROUGHT_NEEDS = {row.need: row for row in read_file(Path(__file__).parent / "brought.csv", Brought)}


@dataclass(frozen=True, slots=True)
class Lack:
    """A need of which too few are aboard: `aboard` of `asked`, things that serve instead counted.

    `waiting` are things aboard, by key, that would serve if the suggested tie were confirmed.
    `is_brought` says that none is aboard and the rig that transports brings it.
    """

    need: str
    name: str
    grade: str
    asked: int
    aboard: int
    waiting: tuple[str, ...] = ()
    is_brought: bool = False

    @property
    def is_must(self) -> bool:
        return self.grade == MUST


@dataclass(frozen=True, slots=True)
class Coverage:
    """How far a layout serves a call type: `lacks` in the order of the grades.

    Were the suggested ties confirmed, `would_serve` says that nothing would lack, and `would_lack`
    that something would not be aboard. Where too few of something are, they are enough for
    `enough_for` patients of at most `most`; 0 is none.
    """

    call_type: str
    layout: str
    lacks: tuple[Lack, ...] = ()
    would_serve: bool = False
    would_lack: bool = False
    enough_for: int = 0
    most: int = 0

    @property
    def musts(self) -> tuple[Lack, ...]:
        """Must-haves of which none or too few are aboard, and that nobody else brings."""
        return tuple(each for each in self.lacks if each.is_must and not each.is_brought)

    @property
    def brought(self) -> tuple[Lack, ...]:
        """Must-haves that the rig which transports brings."""
        return tuple(each for each in self.lacks if each.is_must and each.is_brought)

    @property
    def absent(self) -> tuple[Lack, ...]:
        """Must-haves of which none is aboard."""
        return tuple(each for each in self.musts if not each.aboard)

    @property
    def few(self) -> tuple[Lack, ...]:
        """Must-haves of which some are aboard, too few at the most patients."""
        return tuple(each for each in self.musts if each.aboard)

    @property
    def state(self) -> str:
        """One of `STATES`: how far every must-have is aboard."""
        if self.musts:
            return WAITING if self.would_serve else ABSENT if self.would_lack else FEW
        return BROUGHT if self.brought else SERVED

    @property
    def useful(self) -> tuple[Lack, ...]:
        return tuple(each for each in self.lacks if not each.is_must)


def coverage_of(
    call_type: CallType,
    world: CallWorld,
    layout: Layout,
    ties: Mapping[str, str],
    *,
    holds: Mapping[str, int] | None = None,
    suggested: Mapping[str, str] | None = None,
) -> Coverage:
    """What is missing aboard. `ties` are confirmed needs by thing key, `suggested` the others, and
    `holds` how many of its need a pack is."""
    suggested, left = suggested or {}, frozenset() if transports(layout) else BROUGHT_NEEDS.keys()

    def lacks_of(tied: Mapping[str, str], most: int) -> tuple[Lack, ...]:
        asked = asked_at_most(replace(call_type, most=most), world)
        wanted = want(layout, tied, asked, holds=holds)
        return tuple(_lack(each, suggested, left) for each in wanted if each.short)

    most = _most_patients(call_type)
    found = Coverage(call_type.slug, layout.slug, lacks_of(ties, most), most=most)
    if not found.musts:
        return found
    would = replace(found, lacks=lacks_of({**suggested, **ties}, most))
    fewer = range(most - 1, call_type.least - 1, -1) if not found.absent else ()
    enough = (each for each in fewer if not replace(found, lacks=lacks_of(ties, each)).musts)
    return replace(
        found,
        would_serve=not would.musts,
        would_lack=bool(would.absent),
        enough_for=next(enough, 0),
    )


def _lack(wanted: Wanted, suggested: Mapping[str, str], left: Collection[str]) -> Lack:
    waiting = tuple(thing for thing, need in suggested.items() if need == wanted.need)
    asked = wanted.quantity + wanted.short
    return Lack(
        wanted.need,
        wanted.name,
        wanted.grade,
        asked,
        wanted.quantity,
        waiting,
        is_brought=not wanted.quantity and wanted.need in left,
    )


def missing_most(found: Iterable[Coverage]) -> list[tuple[Lack, int]]:
    """What stands in the way of most call types, first: a must-have, and of how many."""
    counts: Counter[str] = Counter()
    lacks: dict[str, Lack] = {}
    for each in found:
        for lack in each.musts:
            counts[lack.need] += 1
            lacks.setdefault(lack.need, lack)
    order = sorted(counts, key=lambda need: (-counts[need], lacks[need].name))
    return [(lacks[need], counts[need]) for need in order]


def asked_at_most(call_type: CallType, world: CallWorld) -> tuple[Asked, ...]:
    """Each must-have and useful need once, by its strongest grade, with the most that any call of
    this type can ask for."""
    rows: dict[str, list[CallNeed]] = {}
    for row in call_type.needs:
        if row.grade != NEEDLESS and (row.per == CALL or _most_of(row, call_type, world)):
            rows.setdefault(row.need, []).append(row)
    asked = [_asked(found, call_type, world) for found in rows.values()]
    return tuple(sorted(asked, key=lambda each: GRADES.index(each.grade)))


def _asked(rows: list[CallNeed], call_type: CallType, world: CallWorld) -> Asked:
    grade = min((row.grade for row in rows), key=GRADES.index)
    strongest = [row for row in rows if row.grade == grade]
    each = [row for row in strongest if row.per == PATIENT]
    of_call = max((row.quantity for row in strongest if row.per == CALL), default=0)
    of_patients = sum(row.quantity * _most_of(row, call_type, world) for row in each)
    at_most = max((row.quantity for row in each), default=0) * _most_patients(call_type)
    return Asked(
        need=strongest[0].need,
        name=strongest[0].name,
        grade=grade,
        quantity=max(of_call, min(of_patients, at_most)),
        instead=_merged(row.instead for row in strongest),
    )


def _most_patients(call_type: CallType) -> int:
    return max(call_type.most, sum(each.is_always for each in call_type.profiles))


def _most_of(row: CallNeed, call_type: CallType, world: CallWorld) -> int:
    """How many patients of one call a row can fit: no problem comes twice while another is left."""
    fits = [(each.is_always, need_fits(row, each, world)) for each in call_type.profiles]
    always = [does_fit for is_always, does_fit in fits if is_always]
    drawn = [does_fit for is_always, does_fit in fits if not is_always]
    left = _most_patients(call_type) - len(always)
    fit_always, fit_drawn = sum(always), sum(drawn)
    if not drawn:  # then those who are always there come again
        return fit_always + left * bool(fit_always)
    again = max(0, left - len(drawn)) * bool(fit_drawn)
    return fit_always + min(left, fit_drawn + again)


def _merged(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each for one in lists for each in one))
