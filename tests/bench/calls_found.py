"""Whether what is said of calls comes true, of simulated people.

They drill for eight months; then it is said of each, for twenty call types whose calls ask for four
to ten things each, how likely all are found. A call that drops is one of its type: what comes is
drawn from the simulator's truth. What past calls set right is fitted on one call of each type of
one half of the people and measured on the other, whom it never saw. Time is left out: the limit is
far.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from drills.engine.measures import measure
from drills.engine.readying import (
    AS_IT_IS,
    DrawnKit,
    Kits,
    Limit,
    Recalibration,
    chances_of,
    recalibrated,
)
from tests.bench.at_a_day import AtADay
from tests.bench.jobs import spread

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

TYPES, CALLS, FEWEST, MOST = 20, 10, 4, 10
FAR = Limit(1e9)
MOST_GAP = 0.03
PLAIN, RIGHTED, TRUE = "as it is", "set right", "the truth"
_DRAWN = 21


@dataclass(frozen=True, slots=True)
class Said:
    """Of each person and call type: what was said as it is and set right, the truth, and what came.

    The people are those whom what set it right never saw; `told` is the share of call types of
    which there was enough evidence to say anything, and they alone are here.
    """

    plain: Array
    righted: Array
    true: Array
    came: Array
    told: float


def said_of(day: AtADay, *, seed: int) -> Said:
    """Say of half the people at a day what they would find, and let the calls drop."""
    rng = default_rng([seed, _DRAWN])
    types = [[_call(day, rng) for _ in range(CALLS)] for _ in range(TYPES)]
    whole, single = (_kits(day, each) for each in (types, [calls[:1] for calls in types]))
    plain = _said(day, whole)
    true = np.array([[_true_of(day, who, calls) for calls in types] for who in day.people])
    came = (rng.random(true.shape) < true).astype(float)
    half = np.arange(len(day.people)) % 2 == 0
    past = _past(day, half, _thought(day, single), types, rng)
    righted = _said(day, whole, past)
    unseen = ~np.isnan(plain) & ~half[:, None]
    told = float((~np.isnan(plain)).mean())
    return Said(plain[unseen], righted[unseen], true[unseen], came[unseen], told)


def _past(
    day: AtADay,
    half: NDArray[np.bool_],
    said: Array,
    types: Sequence[Sequence[Ints]],
    rng: Generator,
) -> Recalibration:
    """What one call of each type that each of some people had sets right."""
    people, said = day.people[half], said[half]
    true = np.array([[_true(day, who, calls[0]) for calls in types] for who in people])
    came, told = rng.random(true.shape) < true, ~np.isnan(said)
    whose = np.broadcast_to(people[:, None], told.shape)
    return recalibrated(said[told].tolist(), came[told].tolist(), whose[told].tolist())


def _kits(day: AtADay, types: Sequence[Sequence[Ints]]) -> Kits:
    return Kits(
        [DrawnKit(tuple(map(day.must, call.tolist())), FAR) for call in calls] for calls in types
    )


def _thought(day: AtADay, kits: Kits) -> Array:
    """The chance of each type as a sheet keeps it, (people, types); not a number where there were
    not first answers enough."""
    told = [chances_of(known, kits) for known in day.thought]
    return np.array([np.where(each.is_answered, each.chance, math.nan) for each in told])


def _said(day: AtADay, kits: Kits, past: Recalibration = AS_IT_IS) -> Array:
    """The chance of each type, (people, types); not a number where there was not enough evidence
    to say one."""
    told = [chances_of(known, kits, past) for known in day.thought]
    return np.array([np.where(each.is_enough, each.chance, math.nan) for each in told])


def _call(day: AtADay, rng: Generator) -> Ints:
    return rng.choice(day.found.log.things, rng.integers(FEWEST, MOST + 1), replace=False)


def _true_of(day: AtADay, who: int, calls: Sequence[Ints]) -> float:
    """The chance that all of the next call of a type is found."""
    return math.fsum(_true(day, who, call) for call in calls) / len(calls)


def _true(day: AtADay, who: int, call: Ints) -> float:
    """The chance that all is found: each bag once, however much of it is asked for."""
    steps = sorted({step for thing in call.tolist() for step in day.steps(thing)})
    return float(np.prod(day.found.looks[0].chance[who, steps]))


def summed(law: str, ran: Sequence[Said]) -> dict[str, Any]:
    """The figures of a law over its seeds, and the bound where it is missed."""
    told: dict[str, Any] = {
        "seeds": len(ran),
        "calls": round(fmean(len(each.came) for each in ran)),
        "told": fmean(each.told for each in ran),
        "said": {
            name: _figures([(each.came, getattr(each, column)) for each in ran])
            for name, column in ((PLAIN, "plain"), (RIGHTED, "righted"), (TRUE, "true"))
        },
    }
    gap = told["said"][RIGHTED]["gap"]["mean"]
    is_missed = gap > MOST_GAP
    words = f"{law}, calls: gap {gap:.4f} on people it never saw, held to {MOST_GAP}"
    return {**told, "missed": [words] if is_missed else []}


def _figures(said: Sequence[tuple[Array, Array]]) -> dict[str, Any]:
    found = [measure(came, chance) for came, chance in said]
    return {
        **{
            figure: spread([float(getattr(each, figure)) for each in found])
            for figure in ("log_loss", "gap", "slope", "right")
        },
        "thought": spread([float(chance.mean()) for _, chance in said]),
    }


def lines(law: str, told: dict[str, Any]) -> Iterator[str]:
    """The figures in words."""
    yield (
        f"law {law}, {TYPES} call types of {CALLS} calls (simulated), {told['seeds']} seeds, "
        f"{told['calls']} a seed; said of {100 * told['told']:.0f} in 100 types"
    )
    for name, each in told["said"].items():
        gap = each["gap"]
        yield (
            f"{name:10} log loss {each['log_loss']['mean']:.4f}, gap {gap['mean']:.4f} "
            f"({gap['least']:.4f} to {gap['most']:.4f}), slope {each['slope']['mean']:.2f}, all "
            f"found {each['right']['mean']:.3f}, thought {each['thought']['mean']:.3f}"
        )
