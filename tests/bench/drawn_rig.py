"""A simulated kit as a layout of the product: each thing in a place of its own, some in bags."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.engine.facts import Fact, steps
from drills.engine.layout import Compartment, Layout, StockLine
from drills.engine.simulated.cast import Kit
from drills.engine.study import STUDY_ORDER

Ints = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class DrawnRig:
    """A layout, the fact of each step of the kit by number, and the number of each thing by key."""

    layout: Layout
    facts: tuple[Fact, ...]
    things: dict[str, int]


def drawn_rig(kit: Kit, musts: Ints) -> DrawnRig:
    """The kit behind a door for each category; `musts` are critical, the rest is not."""
    doors = [
        Compartment(f"D{at}", f"Door {at}", face=STUDY_ORDER[at % len(STUDY_ORDER)])
        for at in range(int(kit.category.max()) + 1)
    ]
    held = kit.bag[: kit.things]
    bags = [
        Compartment(_bag(step), f"Bag {step}", inside=_door(kit, step), carried="one-hand")
        for step in range(kit.things, len(kit))
    ]
    places = [
        Compartment(
            f"P{thing}",
            f"Place {thing}",
            inside=_bag(int(held[thing])) if held[thing] >= 0 else _door(kit, thing),
        )
        for thing in range(kit.things)
    ]
    critical = set(musts.tolist())
    stock = [
        StockLine(f"P{thing}", f"thing {thing}", 1, critical=thing in critical)
        for thing in range(kit.things)
    ]
    layout = Layout("Drawn", "drawn", compartments=(*doors, *bags, *places), stock=tuple(stock))
    things = {line.key: thing for thing, line in enumerate(stock)}
    return DrawnRig(layout, _facts(kit, layout, stock), things)


def _facts(kit: Kit, layout: Layout, stock: list[StockLine]) -> tuple[Fact, ...]:
    found: dict[int, Fact] = {}
    for thing, line in enumerate(stock):
        *bags, item = steps(layout, line.key, line.compartment)
        found[thing] = item
        found.update({int(kit.bag[thing]): bag for bag in bags})
    # A bag that holds nothing is asked for by nobody, and is a step all the same.
    nothing = {step: Fact("bag", _bag(step), _door(kit, step)) for step in range(len(kit))}
    return tuple((nothing | found)[step] for step in range(len(kit)))


def _bag(step: int) -> str:
    return f"B{step}"


def _door(kit: Kit, step: int) -> str:
    return f"D{int(kit.category[step])}"
