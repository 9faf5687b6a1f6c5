"""Drills that give out what a rig has too few of for a call, and ask how long its oxygen lasts."""

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

from drills.engine.calls import Call
from drills.engine.chance import drawn_evenly, seeded
from drills.engine.choosing import Choosing
from drills.engine.generation import FOCUS
from drills.engine.incidents.allocating import Triaged, needing, who_gets
from drills.engine.incidents.asking import SortedCall
from drills.engine.incidents.tables import SCARCE, Scarce, listed
from drills.engine.layout import Layout
from drills.engine.prompts import Prompt
from drills.engine.recipes import ALLOCATE

# How many are asked of one call where the recipe names no number: ours, no source.
AT_MOST = 2

# The prompt of how long the oxygen lasts for some patients of a call, where there is one.
Lasting = Callable[[Call, Collection[int]], Prompt | None]


def rig_has(
    layout: Layout, ties: Mapping[str, str], held: Collection[tuple[str, str]] = ()
) -> dict[str, int]:
    """How many of each scarce thing a rig has, without what is `held` as reported missing."""
    counted = Counter[str]()
    for line in layout.lines_there(held):
        if line.key in ties:
            counted[ties[line.key]] += line.par
    return {each.key: _has(layout, counted, each) for each in SCARCE}


def _has(layout: Layout, counted: Mapping[str, int], thing: Scarce) -> int:
    things, others = (
        sum(counted.get(need, 0) for need in listed(cell))
        for cell in (thing.things, thing.each_with)
    )
    if listed(thing.each_with):
        things = min(things, others)
    outlets = [
        each
        for each in layout.points
        if each.kind == "outlet"
        and any(word in each.name.casefold() for word in listed(thing.outlets))
    ]
    return things + len(outlets) + thing.people


def met_in(call: Call) -> tuple[Triaged, ...]:
    """Whom of a call the drill has met: those who are sorted, or all of too few to sort."""
    return call.people or call.few if isinstance(call, SortedCall) else ()


def scarce_of(people: tuple[Triaged, ...], has: Mapping[str, int]) -> list[tuple[Scarce, int]]:
    """What there is of, but not for everybody who needs it."""
    return [
        (each, has[each.key]) for each in SCARCE if 0 < has[each.key] < len(needing(people, each))
    ]


def drawn_of(
    scarce: Sequence[tuple[Scarce, int]], most: int, seed: str
) -> list[tuple[Scarce, int]]:
    """At most so many of what is scarce, the same for the same seed; oxygen first where it is.

    What other patients need than those asked for already comes before what the same ones do.
    """
    left, random = list(scarce), seeded(f"scarce/1:{seed}")
    found: list[tuple[Scarce, int]] = []
    while left and len(found) < most:
        found.append(drawn_evenly(_best_next(left, [each for each, _ in found]), random))
        left.remove(found[-1])
    return found


def _best_next(left: list[tuple[Scarce, int]], asked: Sequence[Scarce]) -> list[tuple[Scarce, int]]:
    if not asked:
        return [pair for pair in left if pair[0].is_oxygen] or left
    needed_by = {each.needed_by for each in asked}
    return [pair for pair in left if pair[0].needed_by not in needed_by] or left


def allocations(
    call: Call,
    people: tuple[Triaged, ...],
    scarce: Sequence[tuple[Scarce, int]],
    lasting: Lasting,
) -> Iterator[Prompt]:
    """Who gets what is scarce, and after oxygen for the first time how long it lasts."""
    is_told = False
    for thing, count in scarce:
        yield _prompt(call, thing, count, who_gets(people, thing, count))
        if thing.is_oxygen and not is_told:
            on_it = needing(people, thing)[:count]
            made = lasting(call, [each.number for each in on_it])
            is_told = made is not None
            yield from [made] if made else []


def _prompt(call: Call, thing: Scarce, count: int, asked: Choosing) -> Prompt:
    return Prompt(
        kind=ALLOCATE,
        subject=thing.key,
        name=thing.asks,
        text=f"{thing.has[:1].upper()}{thing.has[1:]}: {count}.",
        chosen=FOCUS,
        call=call,
        choosing=asked,
    )
