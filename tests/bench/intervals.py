"""Whether an 80 % interval holds the truth in 80 of 100 cases, of simulated people.

What is said of each thing of each person at a day, as the person's page says it, beside the
simulator's truth; apart by how many first answers there are on the steps to the thing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drills.engine.memory import FEWEST_FIRST_ANSWERS, WIDEST_SHOWN
from drills.engine.readying.known import Kit
from drills.engine.readying.things import intervals_of, steps_to
from tests.bench.at_a_day import AtADay
from tests.bench.jobs import spread

Array = NDArray[np.float64]

# First answers on the steps to a thing, from so many up to so many.
GROUPS = {"none": (0, 0), "1 to 4": (1, 4), "5 to 9": (5, 9), "10 or more": (10, 10**9)}


@dataclass(frozen=True, slots=True)
class Held:
    """Of each person and thing: the chance that was said with both ends of its interval, the first
    answers it rests on, and the truth."""

    chance: Array
    low: Array
    high: Array
    firsts: NDArray[np.int64]
    true: Array


def held_by(day: AtADay) -> Held:
    """What is said of everything at a day, and the truth."""
    kit = Kit(day.must(thing) for thing in range(day.found.log.things))
    said, firsts = [], []
    for known in day.thought:
        own = known.only(kit.facts)
        said.append(intervals_of(kit, own))
        firsts.append([own.firsts[steps_to(own, must)].sum() for must in kit.musts])
    chance, low, high = np.array(said).transpose(1, 0, 2)
    true = day.found.looks[0].found[day.people]
    return Held(chance, low, high, np.array(firsts, dtype=np.int64), true)


def summed(ran: Sequence[Held]) -> dict[str, Any]:
    """The figures of a law over its seeds, by first answers."""
    told = {}
    for name, (least, most) in GROUPS.items():
        seeds = [_figures(each, (each.firsts >= least) & (each.firsts <= most)) for each in ran]
        there = [each for each in seeds if each]
        if there:
            told[name] = {
                "things": sum(int(each["things"]) for each in there),
                **{
                    key: spread([each[key] for each in there])
                    for key in there[0]
                    if key != "things"
                },
            }
    return {"seeds": len(ran), "groups": told, "missed": []}


def _figures(each: Held, rows: NDArray[np.bool_]) -> dict[str, float]:
    """Of some things: how many; the shares whose truth the interval holds, and lies beneath and
    above it; how wide it is; the share that is shown at all, and held of those."""
    if not rows.any():
        return {}
    below, above = each.true < each.low, each.true > each.high
    wide = each.high - each.low
    shown = rows & (wide <= WIDEST_SHOWN) & (each.firsts >= FEWEST_FIRST_ANSWERS)
    held = ~below & ~above
    return {
        "things": float(rows.sum()),
        "held": float(held[rows].mean()),
        "below": float(below[rows].mean()),
        "above": float(above[rows].mean()),
        "wide": float(wide[rows].mean()),
        "off": float((each.chance - each.true)[rows].mean()),
        "shown": float(shown.sum() / rows.sum()),
        "held_shown": float(held[shown].mean()) if shown.any() else 0.0,
    }


def lines(law: str, told: dict[str, Any]) -> Iterator[str]:
    """The figures in words."""
    yield f"law {law}, 80 % intervals of everything (simulated), {told['seeds']} seeds"
    for name, each in told["groups"].items():
        held, below = each["held"], each["below"]["mean"]
        yield (
            f"first answers {name:10} n {each['things']}, held {held['mean']:.3f} "
            f"({held['least']:.3f} to {held['most']:.3f}), truth below {below:.3f}, "
            f"above {each['above']['mean']:.3f}, width {each['wide']['mean']:.3f}, thought less "
            f"true {each['off']['mean']:+.3f}, shown {each['shown']['mean']:.3f}, of them held "
            f"{each['held_shown']['mean']:.3f}"
        )
