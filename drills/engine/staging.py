"""Staging: the judgement of a kit that was brought to a call.

A kit is stock lines with counts, and bags that were brought whole. Missing a must-have fails it
whatever the rest; what nobody asked for, more than twice what was asked and the wrong size cost
marks, and so does a bag in which nothing is that was asked for. How many marks, and that a spare of
each costs none, is ours, no source; with no marks left it fails too, so that nobody empties the
rig. Time is kept apart, and its optimum is not worked out here.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil

from drills.engine.calls import MAY, MUST, USEFUL, Call
from drills.engine.layout import WHEELED, Layout
from drills.engine.optimum import BY_THE_CURB, PatientPlace
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.wanted import Wanted, counted, musts, packs_of, share

FULL_MARKS, WRONG_GRAB_COSTS, NEEDLESS_COSTS = 100, 10, 5

Line = tuple[str, str]


@dataclass(frozen=True, slots=True)
class StageTask:
    """A call, and what is to be brought to it: all of it, or what an area or one patient takes.

    Of a treatment `area`, in words, `told` are who waits there: number, who and findings. `tied`
    are the things of the rig tied to any need, `unconfirmed` those of a tie merely suggested. It
    goes to the patient as they stand from the rig.
    """

    call: Call
    wanted: tuple[Wanted, ...]
    tied: frozenset[str]
    unconfirmed: frozenset[str] = frozenset()
    patient: int = 0
    area: str = ""
    told: tuple[tuple[int, str, str], ...] = ()
    stands: PatientPlace = BY_THE_CURB


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
    that nobody asked for, `excess` things of which more than twice came of what was asked for,
    `idle_bags` codes of bags brought for nothing, `unjudged` things that are tied to no need.
    """

    outcome: str
    marks: int
    missing: tuple[Missing, ...] = ()
    wrong: tuple[tuple[str, Wanted], ...] = ()
    needless: tuple[str, ...] = ()
    excess: tuple[str, ...] = ()
    idle_bags: tuple[str, ...] = ()
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


def mark_stage(
    layout: Layout, wanted: Sequence[Wanted], kit: Kit, tied: Collection[str]
) -> StageMark:
    """Judge a kit. `tied` are the things that are tied to any need; the others are not judged.

    What is inside a bag brought whole is there, and never needless.
    """
    missing, instead = _allot(wanted, _loose(kit.lines) + _in_bags(layout, kit))
    loose = _loose(_beside_bags(layout, kit))
    asked_for = _asked_for(wanted)
    wrong, others = _apart(wanted, [thing for thing in loose if thing not in asked_for])
    found = StageMark(
        outcome=WRONG,
        marks=0,
        missing=tuple(missing),
        wrong=tuple(wrong),
        needless=tuple(thing for thing in others if thing in tied),
        excess=tuple(_excess(wanted, loose, asked_for)),
        idle_bags=tuple(_idle_bags(layout, asked_for, kit, tied)),
        instead=tuple(instead),
        unjudged=tuple(thing for thing in others if thing not in tied),
    )
    if missing or not (kit.lines or kit.bags):
        return found
    marks = max(FULL_MARKS - _cost(found), 0)
    return replace(found, outcome=_outcome(marks), marks=marks)


def _cost(found: StageMark) -> int:
    needless = len(found.needless) + len(found.excess) + len(found.idle_bags)
    return WRONG_GRAB_COSTS * len(found.wrong) + NEEDLESS_COSTS * needless


def _outcome(marks: int) -> str:
    return {0: WRONG, FULL_MARKS: RIGHT}.get(marks, PARTLY)


def _asked_for(wanted: Iterable[Wanted]) -> frozenset[str]:
    """Every thing that a must-have or something useful speaks of."""
    return frozenset(thing for each in _asked(wanted) for thing in each.serving)


def _excess(
    wanted: Iterable[Wanted], loose: Counter[str], asked_for: Collection[str]
) -> Iterable[str]:
    """Things of which more came than twice what the call takes, what is short aboard included."""
    doubled = [replace(each, quantity=2 * (each.quantity + each.short)) for each in _asked(wanted)]
    packs = packs_of(doubled)
    brought = counted(loose, packs)
    over = brought - sum(share(doubled, brought), Counter[str]())
    # What is over in a pack that was opened is none too many: a pack is brought whole.
    return [thing for thing in over if thing in asked_for and over[thing] >= packs.get(thing, 1)]


def _idle_bags(
    layout: Layout, asked_for: Collection[str], kit: Kit, tied: Collection[str]
) -> Iterable[str]:
    """Bags in which nothing is that was asked for; not judged where nothing in them is tied, nor
    what rolls, as the cot comes to every call, nor what comes in another bag."""
    for code in sorted(kit.bags):
        *holders, bag = layout.chain(code)
        if bag.carried == WHEELED or any(each.code in kit.bags for each in holders):
            continue
        inside = _things_in(layout, code)
        if inside & set(tied) and not inside & set(asked_for):
            yield code


def _things_in(layout: Layout, code: str) -> set[str]:
    return {
        line.key
        for line in layout.stock
        if any(each.code == code for each in layout.chain(line.compartment))
    }


def must_haves(layout: Layout, wanted: Iterable[Wanted]) -> Kit:
    """A kit of exactly the must-haves: of each the things of its own first, then what serves."""
    needed = musts(wanted)
    packs = packs_of(needed)
    got = sum(share(needed, counted(layout.pars_there(()), packs)), Counter[str]())
    left = {thing: ceil(count / packs.get(thing, 1)) for thing, count in got.items()}
    taken: dict[Line, int] = {}
    for line in layout.stock:
        here = min(left.get(line.key, 0), line.par)
        if here:
            taken[line.compartment, line.key] = here
            left[line.key] -= here
    return Kit(taken)


def _asked(wanted: Iterable[Wanted]) -> list[Wanted]:
    return [each for each in wanted if each.grade in (MUST, USEFUL)]


def _loose(lines: Mapping[Line, int]) -> Counter[str]:
    found: Counter[str] = Counter()
    for (_, thing), count in lines.items():
        found[thing] += count
    return +found


def _beside_bags(layout: Layout, kit: Kit) -> dict[Line, int]:
    """The lines that come in no bag brought whole."""
    return {
        (code, thing): count
        for (code, thing), count in kit.lines.items()
        if not any(each.code in kit.bags for each in layout.chain(code))
    }


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
    """What each must-have lacks of what was brought, and what served instead."""
    needed = musts(wanted)
    got = list(zip(needed, share(needed, counted(brought, packs_of(wanted))), strict=True))
    missing = [Missing(each, has.total()) for each, has in got if has.total() < each.quantity]
    return missing, [(thing, each) for each, has in got for thing in each.instead if has[thing]]


def _apart(
    wanted: Sequence[Wanted], unasked: Iterable[str]
) -> tuple[list[tuple[str, Wanted]], list[str]]:
    """Of what nobody asked for: what was taken by mistake, for which need first, and the rest."""
    mistakes = {thing: each for each in reversed(_asked(wanted)) for thing in each.wrong}
    free = {thing for each in wanted if each.grade == MAY for thing in each.serving}
    judged = [thing for thing in unasked if thing not in free]
    wrong = [(thing, mistakes[thing]) for thing in judged if thing in mistakes]
    return wrong, [thing for thing in judged if thing not in mistakes]
