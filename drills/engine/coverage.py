"""What a layout lacks for a call type, at the most patients that the call type may have.

How many of a need are asked for then is the largest number that any draw of the call type can ask
for, worked out need by need: never too few, and where needs are of different patients not all of
them at once.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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
from drills.engine.staging import Wanted, want

ABSENT, FEW, SERVED = "cannot be served", "too few for the most patients", "served"
STATES = (ABSENT, FEW, SERVED)


@dataclass(frozen=True, slots=True)
class Lack:
    """A need of which too few are aboard: `aboard` of `asked`, things that serve instead counted.

    `waiting` are things aboard, by key, that would serve if the suggested tie were confirmed.
    """

    need: str
    name: str
    grade: str
    asked: int
    aboard: int
    waiting: tuple[str, ...] = ()

    @property
    def is_must(self) -> bool:
        return self.grade == MUST


@dataclass(frozen=True, slots=True)
class Coverage:
    """How far a layout serves a call type: `lacks` in the order of the grades."""

    call_type: str
    layout: str
    lacks: tuple[Lack, ...] = ()

    @property
    def musts(self) -> tuple[Lack, ...]:
        """Must-haves of which none or too few are aboard."""
        return tuple(each for each in self.lacks if each.is_must)

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
        if self.absent:
            return ABSENT
        return FEW if self.musts else SERVED

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
    asked = asked_at_most(call_type, world)
    wanted = want(layout, ties, asked, holds=holds)
    lacks = tuple(_lack(each, suggested or {}) for each in wanted if each.short)
    return Coverage(call_type.slug, layout.slug, lacks)


def _lack(wanted: Wanted, suggested: Mapping[str, str]) -> Lack:
    waiting = tuple(thing for thing, need in suggested.items() if need == wanted.need)
    asked = wanted.quantity + wanted.short
    return Lack(wanted.need, wanted.name, wanted.grade, asked, wanted.quantity, waiting)


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
