"""What of a call is certain when it comes in, by what the caller says and before anybody is seen.

A need is certain that the call itself has, or the first patient, whoever of those that the caller
may mean it is, or somebody who always comes with them, such as the baby of a birth. Any other may
be asked for, and nobody knows yet.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from itertools import product

from drills.engine.arriving.tables import ALWAYS
from drills.engine.calls import (
    ANY_SIZE,
    CALL,
    GRADES,
    MUST,
    NEEDLESS,
    USEFUL,
    Asked,
    Call,
    CallNeed,
    CallType,
    CallWorld,
    Phrase,
    Profile,
    is_among,
    is_of_any_call,
)

GROWN = "adult"


@dataclass(frozen=True, slots=True)
class Known:
    """Needs, each once: those that are certain must-haves, those that may be wanted, and those
    that the kind of call calls needless and nothing else."""

    certain: tuple[Asked, ...]
    possible: tuple[Asked, ...]
    needless: frozenset[str]


def known_of(call_type: CallType, world: CallWorld, call: Call) -> Known:
    """What the dispatch of a call makes certain and leaves possible, one of each need."""
    first = _who_first(call_type, call)
    always = [each for each in call_type.profiles if each.is_always]
    sure = [first, *([each] for each in always if len(always) > 1)]
    # One who is told of is all there are: what is for another age or another problem is for nobody.
    everybody = first if len(call.patients) == 1 else call_type.profiles
    rows = _by_need((*call_type.needs, _always(first, world)))
    graded = (_graded(found, sure, everybody, world) for found in rows.values())
    asked = tuple(filter(None, graded))
    return Known(
        tuple(each for each in asked if each.grade == MUST),
        tuple(each for each in asked if each.grade == USEFUL),
        frozenset(need for need, found in rows.items() if _is_needless(found)),
    )


def _is_needless(rows: Iterable[CallNeed]) -> bool:
    return {row.grade for row in rows} == {NEEDLESS}


def _by_need(rows: Iterable[CallNeed]) -> dict[str, list[CallNeed]]:
    found: dict[str, list[CallNeed]] = {}
    for row in rows:
        found.setdefault(row.need, []).append(row)
    return found


def _graded(
    rows: Iterable[CallNeed],
    sure: Iterable[Collection[Profile]],
    everybody: Collection[Profile],
    world: CallWorld,
) -> Asked | None:
    """A need as a certain must-have, as something that may be wanted, or as neither. Of each of
    `sure` somebody is there."""
    wanted = [row for row in rows if row.grade != NEEDLESS and _may_be(row, everybody, world)]
    pairs = product((row for row in wanted if row.grade == MUST), sure)
    if musts := [row for row, those in pairs if _is_certain(row, those, world)]:
        return _asked(musts)
    return replace(_asked(wanted), grade=USEFUL) if wanted else None


def _who_first(call_type: CallType, call: Call) -> tuple[Profile, ...]:
    """Who the patient may be that is certainly there, each as narrow as the caller tells it."""
    there = tuple(each for each in call_type.profiles if each.is_always) or call_type.profiles
    if call.said is None:
        return there
    bands = {call.patients[0].band} if call.said.names_a_patient else call.said.age_bands
    return tuple(filter(None, (_narrowed(each, call.said, bands) for each in there)))


def _narrowed(profile: Profile, said: Phrase, bands: Collection[str]) -> Profile | None:
    """Who of a profile the caller may mean; nobody where the words fit none of them."""
    found = replace(
        profile,
        severities=tuple(each for each in profile.severities if is_among(each, said.severities)),
        shares={band: share for band, share in profile.shares.items() if is_among(band, bands)},
    )
    is_meant = is_among(profile.problem, said.problems) and found.severities and found.shares
    return found if is_meant else None


def _always(first: Iterable[Profile], world: CallWorld) -> CallNeed:
    """What comes to everybody, of the patient's size; where the caller leaves that open, an
    adult's."""
    sizes = {size for each in first for size in _sizes(each, world)}
    row = ALWAYS[sizes.pop() if len(sizes) == 1 else GROWN]
    return CallNeed(row.need, MUST, 1, CALL, name=row.words)


def _is_certain(row: CallNeed, first: Collection[Profile], world: CallWorld) -> bool:
    """Whether the call itself has the need, or that patient, whoever it turns out to be."""
    return is_of_any_call(row) or (
        len(first) > 0 and all(_fits(row, each, world) for each in first)
    )


def _fits(row: CallNeed, profile: Profile, world: CallWorld) -> bool:
    """Whether whoever comes by a profile has the need."""
    is_as_bad = not row.severities or set(profile.severities) <= set(row.severities)
    return (
        is_as_bad
        and row.problem in {"", profile.problem}
        and (row.size == ANY_SIZE or _sizes(profile, world) == {row.size})
    )


def _may_be(row: CallNeed, everybody: Iterable[Profile], world: CallWorld) -> bool:
    """Whether somebody who may be there may have the need."""
    return is_of_any_call(row) or any(
        row.problem in {"", each.problem}
        and row.size in {ANY_SIZE, *_sizes(each, world)}
        and (not row.severities or set(row.severities) & set(each.severities))
        for each in everybody
    )


def _sizes(profile: Profile, world: CallWorld) -> set[str]:
    return {world.bands[band].size for band in profile.shares}


def _asked(rows: Iterable[CallNeed]) -> Asked:
    found = sorted(rows, key=lambda row: GRADES.index(row.grade))
    first = found[0]
    return Asked(
        need=first.need,
        grade=first.grade,
        quantity=1,
        name=first.name,
        level=first.level,
        instead=tuple(dict.fromkeys(need for row in found for need in row.instead)),
        why=first.why,
    )
