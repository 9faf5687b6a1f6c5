"""Staging: what a call asks for as things of this rig, and the judgement of a kit brought to it.

A kit is stock lines with counts, and bags that were brought whole. Missing a must-have fails it
whatever the rest; what nobody asked for and the wrong size cost marks. How many marks is ours, no
source; with none left it fails too, so that nobody empties the rig. Time is kept apart, and its
optimum is not worked out here.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from drills.engine.calls import MUST, NEEDLESS, Asked, Call
from drills.engine.layout import Layout
from drills.engine.scoring import PARTLY, RIGHT, WRONG

FULL_MARKS, WRONG_GRAB_COSTS, NEEDLESS_COSTS = 100, 10, 5

Line = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One need of a call as things of this rig, by thing key.

    `quantity` is what can be brought of it here, and `short` what is missing aboard. `instead` and
    `wrong` are things that serve as well, and that are brought by mistake.
    """

    need: str
    grade: str
    quantity: int
    name: str = ""
    short: int = 0
    things: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    level: str = ""
    why: str = ""
    patients: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class StageTask:
    """A call, and what is to be brought to it: all of it, or what one patient takes.

    `tied` are the things of the rig that are tied to any need, `unconfirmed` those of them whose
    tie is a mere suggestion.
    """

    call: Call
    wanted: tuple[Wanted, ...]
    tied: frozenset[str]
    unconfirmed: frozenset[str] = frozenset()
    patient: int = 0


@dataclass(frozen=True, slots=True)
class Kit:
    """What was brought: counts by (compartment code, thing key), and codes of whole bags."""

    lines: Mapping[Line, int] = field(default_factory=dict)
    bags: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Missing:
    """A must-have that was not brought, or not enough of it."""

    wanted: Wanted
    brought: int


@dataclass(frozen=True, slots=True)
class StageMark:
    """The judgement of a kit: the outcome, marks of 100, and each reason.

    `wrong` are things brought by mistake with the need they were taken for, `needless` things
    that nobody asked for, `unjudged` things that are tied to no need.
    """

    outcome: str
    marks: int
    missing: tuple[Missing, ...] = ()
    wrong: tuple[tuple[str, Wanted], ...] = ()
    needless: tuple[str, ...] = ()
    instead: tuple[tuple[str, Wanted], ...] = ()
    unjudged: tuple[str, ...] = ()


def kit_keys(layout: Layout) -> dict[str, int]:
    """Everything that can be brought, with how many there are: stock lines, and whole bags.

    The key of a line is the code of its compartment, a space and the key of the thing; codes have
    no spaces, so that `read_kit` finds them again.
    """
    lines = {f"{line.compartment} {line.key}": line.par for line in layout.stock}
    return lines | {each.code: 1 for each in layout.compartments if each.is_bag}


def read_kit(keys: Iterable[str]) -> Kit:
    """A kit from keys, each standing for one; a key that comes twice stands for two."""
    counts = Counter(keys)
    lines = {}
    for key, count in counts.items():
        code, space, thing = key.partition(" ")
        if space:
            lines[code, thing] = count
    return Kit(lines, frozenset(key for key in counts if " " not in key))


def want(
    layout: Layout,
    ties: Mapping[str, str],
    asked: Iterable[Asked],
    held: Collection[tuple[str, str]] = (),
) -> tuple[Wanted, ...]:
    """What is asked for as things of a layout; `ties` are need keys by thing key.

    Where too few are aboard, what is there is asked for and the rest is said to be short. What is
    `held` is reported not to be there and counts as not aboard: (thing key, place key), an empty
    thing being all that is there and an empty place anywhere. One thing is promised once: its own
    need first, then what it serves instead.
    """
    things: dict[str, list[str]] = {}
    for thing, need in ties.items():
        things.setdefault(need, []).append(thing)
    left = _pars(layout, held)
    named = [_named(each, things) for each in asked]
    own = [_take(left, each.things, each.quantity) for each in named]
    served = [
        count + _take(left, each.instead, each.quantity - count)
        for each, count in zip(named, own, strict=True)
    ]
    return tuple(
        replace(each, quantity=count, short=each.quantity - count)
        for each, count in zip(named, served, strict=True)
    )


def _named(asked: Asked, things: Mapping[str, Sequence[str]]) -> Wanted:
    """A need with its things by name, before anything is counted."""
    return Wanted(
        need=asked.need,
        name=asked.name,
        grade=asked.grade,
        quantity=asked.quantity,
        things=tuple(things.get(asked.need, ())),
        instead=_all_of(asked.instead, things),
        wrong=_all_of(asked.wrong_grab, things),
        level=asked.level,
        why=asked.why,
        patients=asked.patients,
    )


def _all_of(needs: Iterable[str], things: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    return tuple(thing for need in needs for thing in things.get(need, ()))


def _pars(layout: Layout, held: Collection[tuple[str, str]]) -> Counter[str]:
    found: Counter[str] = Counter()
    for line in layout.stock:
        place = layout.by_code[line.compartment].key
        if not {(line.key, place), (line.key, ""), ("", place)} & set(held):
            found[line.key] += line.par
    return found


def mark_stage(
    layout: Layout, wanted: Sequence[Wanted], kit: Kit, tied: Collection[str]
) -> StageMark:
    """Judge a kit. `tied` are the things that are tied to any need; the others are not judged.

    What is inside a bag brought whole is there, and never needless.
    """
    loose = _loose(kit)
    missing, instead = _allot(wanted, loose + _in_bags(layout, kit))
    others = _unasked(wanted, loose)
    wrong = tuple((thing, each) for thing in others for each in _taken_for(wanted, thing))
    mistaken = {thing for thing, _ in wrong}
    needless = tuple(thing for thing in others if thing in tied and thing not in mistaken)
    lost = WRONG_GRAB_COSTS * len(mistaken) + NEEDLESS_COSTS * len(needless)
    marks = 0 if missing else max(FULL_MARKS - lost, 0)
    return StageMark(
        outcome=_outcome(marks),
        marks=marks,
        missing=tuple(missing),
        wrong=wrong,
        needless=needless,
        instead=tuple(instead),
        unjudged=tuple(thing for thing in others if thing not in tied),
    )


def _outcome(marks: int) -> str:
    return {0: WRONG, FULL_MARKS: RIGHT}.get(marks, PARTLY)


def _unasked(wanted: Iterable[Wanted], loose: Iterable[str]) -> list[str]:
    """Things brought by themselves that no must-have and nothing useful speaks of."""
    asked_for = {thing for each in _asked(wanted) for thing in (*each.things, *each.instead)}
    return [thing for thing in loose if thing not in asked_for]


def must_haves(layout: Layout, wanted: Iterable[Wanted]) -> Kit:
    """A kit of exactly the must-haves: of each the things of its own first, then what serves."""
    left: Counter[Line] = Counter()
    for line in layout.stock:
        left[line.compartment, line.key] += line.par
    needed = musts(wanted)
    taken: Counter[Line] = Counter()
    got = [_take_lines(left, taken, each.things, each.quantity) for each in needed]
    for each, count in zip(needed, got, strict=True):
        _take_lines(left, taken, each.instead, each.quantity - count)
    return Kit({at: count for at, count in taken.items() if count})


def _take_lines(
    left: Counter[Line], taken: Counter[Line], things: Iterable[str], count: int
) -> int:
    """Take so many of some things, line by line, into what is taken; how many there were."""
    got = 0
    for at in [at for thing in things for at in left if at[1] == thing]:
        here = min(count - got, left[at])
        left[at] -= here
        taken[at] += here
        got += here
    return got


def musts(wanted: Iterable[Wanted]) -> list[Wanted]:
    """The must-haves alone."""
    return [each for each in wanted if each.grade == MUST]


def _asked(wanted: Iterable[Wanted]) -> list[Wanted]:
    return [each for each in wanted if each.grade != NEEDLESS]


def _loose(kit: Kit) -> Counter[str]:
    found: Counter[str] = Counter()
    for (_, thing), count in kit.lines.items():
        found[thing] += count
    return +found


def _in_bags(layout: Layout, kit: Kit) -> Counter[str]:
    """What lies in the bags brought whole; a line taken out of one beside it counts once."""
    found: Counter[str] = Counter()
    for line in layout.stock:
        if any(each.code in kit.bags for each in layout.chain(line.compartment)):
            found[line.key] += line.par - kit.lines.get((line.compartment, line.key), 0)
    return +found


def _allot(
    wanted: Sequence[Wanted], brought: Mapping[str, int]
) -> tuple[list[Missing], list[tuple[str, Wanted]]]:
    """What each must-have got: of its own things first, then of what is left that serves.

    Own things are given out before anything serves instead, so that no must-have is robbed.
    """
    left = Counter(brought)
    got = {each.need: _take(left, each.things, each.quantity) for each in musts(wanted)}
    missing: list[Missing] = []
    instead: list[tuple[str, Wanted]] = []
    for each in musts(wanted):
        for thing in each.instead:
            count = _take(left, (thing,), each.quantity - got[each.need])
            got[each.need] += count
            instead += [(thing, each)] if count else []
        if got[each.need] < each.quantity:
            missing.append(Missing(each, got[each.need]))
    return missing, instead


def _take(left: Counter[str], things: Iterable[str], count: int) -> int:
    """Take so many of some things out of what is left; how many there were."""
    taken = 0
    for thing in things:
        here = min(count - taken, left[thing])
        left[thing] -= here
        taken += here
    return taken


def _taken_for(wanted: Iterable[Wanted], thing: str) -> list[Wanted]:
    """The need a thing was brought for by mistake; the first is enough."""
    return [each for each in _asked(wanted) if thing in each.wrong][:1]
