"""What of a kind of call is certain when the call comes in, before anybody is seen.

A need is certain that the call itself has, or whoever may be hurt or ill in it. Any other may be
asked for, and nobody knows yet.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from drills.engine.calls import (
    ANY_SIZE,
    CALL,
    GRADES,
    MUST,
    NEEDLESS,
    USEFUL,
    Asked,
    CallNeed,
    CallType,
    CallWorld,
    Profile,
)


@dataclass(frozen=True, slots=True)
class Known:
    """Needs, each once: those that are certain must-haves, those that may be wanted, and those
    that the kind of call calls needless and nothing else."""

    certain: tuple[Asked, ...]
    possible: tuple[Asked, ...]
    needless: frozenset[str]


def known_of(call_type: CallType, world: CallWorld) -> Known:
    """What the dispatch makes certain of a kind of call, one of each."""
    rows: dict[str, list[CallNeed]] = {}
    for row in call_type.needs:
        rows.setdefault(row.need, []).append(row)
    certain, possible, needless = [], [], set()
    for need, found in rows.items():
        musts = [row for row in found if row.grade == MUST]
        if any(_is_certain(row, call_type, world) for row in musts):
            certain.append(_asked(musts))
        elif {row.grade for row in found} == {NEEDLESS}:
            needless.add(need)
        else:
            possible.append(replace(_asked(found), grade=USEFUL))
    return Known(tuple(certain), tuple(possible), frozenset(needless))


def _is_certain(row: CallNeed, call_type: CallType, world: CallWorld) -> bool:
    if row.per == CALL and _is_of_any(row):
        return True
    profiles = call_type.profiles
    fitting = [each for each in profiles if _fits(row, each, world)]
    return any(each.is_always for each in fitting) or len(profiles) == len(fitting) > 0


def _is_of_any(row: CallNeed) -> bool:
    return row.size == ANY_SIZE and not row.problem and not row.severities


def _fits(row: CallNeed, profile: Profile, world: CallWorld) -> bool:
    """Whether whoever comes by a profile has the need."""
    sizes = {world.bands[band].size for band in profile.shares}
    is_as_bad = not row.severities or set(profile.severities) <= set(row.severities)
    return (
        is_as_bad
        and row.problem in {"", profile.problem}
        and (row.size == ANY_SIZE or sizes == {row.size})
    )


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
