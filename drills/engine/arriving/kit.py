"""The first-in kit: which bags and heavy things go to the door, from the dispatch alone.

Right is what alone holds a must-have that is certain; of several that hold it one is enough. What
holds something useful, another source of a must-have or the baseline of every call costs nothing.
That a thing of 2.5 kg is heavy, and that it is asked for beside the bags, is ours, no source.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain
from random import Random

from drills.engine.arriving.covering import Sets, covering
from drills.engine.arriving.offering import Offer, keys_of, offered
from drills.engine.arriving.tables import MAY, WORN, WRONG
from drills.engine.calls import MUST, first_named
from drills.engine.choosing import SOME, Choice, Choosing, Group
from drills.engine.layout import Layout, StockLine
from drills.engine.wanted import Wanted, musts

KIT = "kit"
HEAVY_KG = Decimal("2.5")
LOOSE = ("moving patients", "circulation and bleeding", "immobilisation")
# What may come to any call: common practice from memory, no source read.
BASELINE = (
    *("monitor-defibrillator", "aed", "oxygen-cylinder-portable", "suction-unit-portable"),
    *("cot", "stethoscope-adult", "bp-cuff-adult", "bag-valve-mask-adult"),
)
RULE = (
    "To the door goes what holds a must-have that the dispatch makes certain, and a bag-valve-mask "
    "of the patient's size to everybody. Of two that hold the same, one is enough. What holds "
    "something useful costs nothing; the rest is carried for nothing. What names a certification "
    "above yours is handed over."
)
SOURCE = "ours, no source; the needs are those of this kind of call"
# Carried as it is, though it weighs less and lies in no bag.
PACKS = frozenset(("obstetric-kit",))


@dataclass(frozen=True, slots=True)
class Carried:
    """Something that is carried as one: a bag with all that is in it, or a heavy thing."""

    key: str
    name: str
    things: frozenset[str]
    is_bag: bool


def carried_of(
    layout: Layout,
    held: Collection[tuple[str, str]],
    wanted_ever: Collection[str],
    packs: Collection[str] = (),
) -> tuple[Carried, ...]:
    """The bags of a rig, the outermost of each, and beside them the `packs` and the heavy things
    that any call wants. What is locked is taken by an authorised person, and is not asked for."""
    inside: dict[str, set[str]] = defaultdict(set)
    heavy: dict[str, Carried] = {}
    for line in open_lines(layout, held):
        bag = _bag_of(layout, line.compartment)
        inside[bag].add(line.key)
        if not bag and line.key in wanted_ever and _is_carried(line, packs):
            heavy[line.key] = Carried(f"thing {line.key}", line.item, _just(line), is_bag=False)
    bags = [each for each in layout.compartments if _bag_of(layout, each.code) == each.code]
    return (
        *(
            Carried(f"bag {each.code}", each.name, frozenset(inside[each.code]), is_bag=True)
            for each in bags
            if not layout.is_locked(each.code)
        ),
        *heavy.values(),
    )


def _is_carried(line: StockLine, packs: Collection[str]) -> bool:
    return (line.weight_kg or 0) >= HEAVY_KG or line.key in packs


def open_lines(layout: Layout, held: Collection[tuple[str, str]]) -> list[StockLine]:
    """What is in its place and behind no lock; kept with the layout, as each call asks again."""
    key = ("open lines", frozenset(held))
    if key not in layout.worked_out:
        there = layout.lines_there(held)
        layout.worked_out[key] = [e for e in there if not layout.is_locked(e.compartment)]
    found: list[StockLine] = layout.worked_out[key]
    return found


def loose_in(layout: Layout, held: Collection[tuple[str, str]]) -> set[str]:
    """Light things to cover, move, bandage, splint or inject with that lie in a cabinet: nobody
    takes a whole bag for one blanket or one syringe. Ours, no source."""
    return {
        each.key
        for each in open_lines(layout, held)
        if each.category in LOOSE
        and (each.weight_kg or 0) < HEAVY_KG
        and not _bag_of(layout, each.compartment)
    }


def _just(line: StockLine) -> frozenset[str]:
    return frozenset({line.key})


def _bag_of(layout: Layout, code: str) -> str:
    """The outermost bag that a place is in, or is; empty where there is none."""
    return next((each.code for each in layout.chain(code) if each.is_bag), "")


def first_in(
    carried: Iterable[Carried],
    wanted: Iterable[Wanted],
    baseline: Collection[str],
    loose: Collection[str],
    difficulty: int,
    random: Random,
) -> Choosing | None:
    """The question for a call, by what is certain (must) and may be wanted (useful) of it.

    `baseline` are things that may come to any call, `loose` those that no bag is taken
    for. Nothing where nothing has to come, or all there is.
    """
    carried, wanted = tuple(carried), tuple(wanted)
    needed = list(_carried_for(musts(wanted), loose, carried))
    sources = {each.need: _holding(carried, each.serving) for each in needed}
    right, one_of = covering(sources.values())
    free = {*baseline, *chain.from_iterable(each.serving for each in wanted)}
    graded = [Offer(each.key, each.name, _grade(each, right, free)) for each in carried]
    group = _group(
        graded, {each.key for each in carried if each.is_bag}, one_of, difficulty, random
    )
    if not _is_question(group):
        return None
    names = {each.key: each.name for each in carried}
    why = tuple(_why(needed, sources, right, one_of, names))
    return Choosing(KIT, (group,), RULE, SOURCE, why=why)


def _group(
    graded: list[Offer], bags: Collection[str], one_of: Sets, difficulty: int, random: Random
) -> Group:
    """Every bag, every heavy thing that may be the one, and of the others so many."""
    always = {*bags, *chain.from_iterable(one_of)}
    shown = offered(graded, difficulty, random, always=always)
    return Group(
        KIT,
        "Which of these?",
        SOME,
        tuple(Choice(each.key, each.words) for each in shown),
        right=keys_of(shown, MUST),
        may=keys_of(shown, MAY),
        one_of=one_of,
    )


def _is_question(group: Group) -> bool:
    """Whether anything has to come, and not simply all that there is."""
    return bool(group.right or group.one_of) and len(group.choices) > len(group.right)


def _carried_for(
    needed: Iterable[Wanted], loose: Collection[str], carried: Iterable[Carried]
) -> Iterator[Wanted]:
    """The must-haves that make a bag or a heavy thing come: what is worn is asked apart, and what
    a pocket takes makes none, unless it merely stands in for something heavy."""
    heavy = set(chain.from_iterable(each.things for each in carried if not each.is_bag))
    for each in needed:
        is_loose = set(each.serving) & set(loose) and not set(each.things) & heavy
        if each.need not in WORN and not is_loose:
            yield each


def _holding(carried: Iterable[Carried], things: Collection[str]) -> tuple[str, ...]:
    return tuple(each.key for each in carried if each.things & set(things))


def _grade(each: Carried, right: Collection[str], free: Collection[str]) -> str:
    if each.key in right:
        return MUST
    return MAY if each.things & set(free) else WRONG


def _why(
    needed: Iterable[Wanted],
    sources: Mapping[str, Collection[str]],
    right: Collection[str],
    one_of: Sets,
    names: Mapping[str, str],
) -> Iterator[str]:
    """What each of those that are right is taken for."""
    needed = tuple(needed)
    for key in (each for each in names if each in right):
        held = (each for each in needed if set(sources[each.need]) == {key})
        yield f"{names[key]}: {_listed(held)}."
    for some in one_of:
        held = (each for each in needed if set(sources[each.need]) == {*some})
        yield f"{' or '.join(names[key] for key in names if key in some)}: {_listed(held)}."


def _listed(wanted: Iterable[Wanted]) -> str:
    return first_named([f"{each.name or each.need}{_level(each)}" for each in wanted])


def _level(each: Wanted) -> str:
    return f" ({each.level.replace('-', ' ').replace('emt', 'EMT')})" if each.level else ""
