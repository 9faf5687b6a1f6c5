"""Drills that give out what a rig has too few of for a call, and ask how long its oxygen lasts."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from drills.engine.calls import Call
from drills.engine.choosing import Choosing
from drills.engine.generation import FOCUS
from drills.engine.incidents.allocating import (
    RESOURCES,
    Resource,
    Standing,
    needing,
    who_gets,
)
from drills.engine.incidents.asking import SortedCall
from drills.engine.layout import Layout
from drills.engine.prompts import Prompt
from drills.engine.recipes import ALLOCATE

# How many are asked of one call where the recipe names no number: ours, no source.
AT_MOST = 2
OXYGEN = "oxygen"
_LITTERS = ("scoop-stretcher", "spine-board-long", "basket-litter", "carry-sheet")
_SUCTION = ("suction-unit-portable", "suction-hand")

# The prompt of how long the oxygen lasts for some patients of a call, where there is one.
Lasting = Callable[[Call, int], Prompt | None]


def rig_has(layout: Layout, ties: Mapping[str, str]) -> dict[str, int]:
    """How many of each resource a rig has; a portable set is a cylinder with a regulator."""
    of = _counted(layout, ties).get
    outlets = [
        each for each in layout.points if each.kind == "outlet" and OXYGEN in each.name.casefold()
    ]
    return {
        "outlets": len(outlets),
        "portables": min(of("oxygen-cylinder-portable", 0), of("oxygen-regulator-portable", 0)),
        "litters": sum(of(need, 0) for need in _LITTERS),
        "cots": of("cot", 0),
        "suction": sum(of(need, 0) for need in _SUCTION),
    }


def _counted(layout: Layout, ties: Mapping[str, str]) -> Mapping[str, int]:
    """How many things are aboard for each need, by par."""
    found = Counter[str]()
    for line in (line for lines in layout.lines_in.values() for line in lines):
        if line.key in ties:
            found[ties[line.key]] += line.par
    return found


def met_in(call: Call, most: int | None) -> tuple[Standing, ...]:
    """Whom of a call the drill has met: those who are sorted, at most so many."""
    return call.people[:most] if isinstance(call, SortedCall) else ()


def scarce_of(people: tuple[Standing, ...], has: Mapping[str, int]) -> list[tuple[Resource, int]]:
    """What there is of, but not for everybody who needs it."""
    return [
        (each, has[each.key])
        for each in RESOURCES
        if 0 < has[each.key] < len(needing(people, each))
    ]


def allocations(
    call: Call,
    people: tuple[Standing, ...],
    scarce: Sequence[tuple[Resource, int]],
    lasting: Lasting,
) -> Iterator[Prompt]:
    """Who gets what is scarce, and after oxygen for the first time how long it lasts."""
    is_told = False
    for resource, count in scarce:
        yield _prompt(call, resource, count, who_gets(people, resource, count))
        if resource.is_oxygen and not is_told:
            made = lasting(call, count)
            is_told = made is not None
            yield from [made] if made else []


def _prompt(call: Call, resource: Resource, count: int, asked: Choosing) -> Prompt:
    return Prompt(
        kind=ALLOCATE,
        subject=resource.key,
        name=resource.asks,
        text=f"{resource.has.capitalize()}: {count}.",
        chosen=FOCUS,
        call=call,
        choosing=asked,
    )
