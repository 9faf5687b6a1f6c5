"""Oxygen: how long a cylinder lasts, with one patient, with several, and through its changes."""

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

from drills.engine import tables
from drills.engine.calls import NEEDLESS, Call, needs_for
from drills.engine.chance import drawn_evenly
from drills.engine.dosing.oxygen import MINUTES
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import amount, needed, settled
from drills.engine.exercises.stores import Stores
from drills.engine.quantities import plain
from drills.engine.recipes import SUPPLY
from drills.engine.tables.kinds import Cylinder
from drills.engine.together import SIZED

TOPIC = Topic(SUPPLY, "oxygen", ("min", "h", "L", "L/min", "psi"))
# What is set for a cannula, a mask and a bag: common practice, no source.
_FLOWS = (2, 4, 5, 6, 8, 10, 12, 15)
# A mask with its bag, or a bag to breathe by, takes no less; a cannula no more: the same.
_FLOWS_OF_A_MASK, _FLOWS_OF_A_CANNULA = (10, 12, 15), (2, 4, 5, 6)
# What a regulator of 0 to 25 L/min gives all its outlets: common practice, no source.
_MOST_AT_ONCE = 25
_SHARED = {1: (1,), 2: (2, 3), 3: (1, 2)}
_FORMULA = "minutes = (gauge pressure - residual pressure) x factor / flow, rounded down"
_EACH = "each cylinder is changed at its residual pressure"
_MASKS = frozenset(
    need for need, row in SIZED.items() if row.family in {"bag-valve-mask", "oxygen-mask"}
)
SHORTEST, LONGEST = 5, 720  # minutes
WHOLE_MINUTES = "Whole minutes, rounded down."
CHANGES = "the residual stays in every cylinder"


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """How many minutes the oxygen lasts; `CannotApplyError` where no cylinder has a known size."""
    needed(stores.cylinders, TOPIC.name, "no oxygen cylinder of a size in the table is carried")
    return settled(TOPIC.name, lambda: lasting(_draft(grade, stores, random)))


def lasting(made: Exercise) -> Exercise | None:
    """What lasts a while, and no day: ours."""
    minutes = made.solution.results[MINUTES].exact.amount
    return made if SHORTEST <= minutes <= LONGEST else None


def _draft(grade: int, stores: Stores, random: Random) -> Exercise:
    size = drawn_evenly(_sizes(grade, stores), random)
    flows = _of_one_regulator(_flows(grade, stores, random), random)
    steps = 100 if grade == 1 else 50
    pressures = [500 + steps * int(random.random() * (1700 // steps))]
    if grade == 3:
        most = max(min(stores.spares(size.letter), 2), 1)
        pressures += [2000] * (1 + int(random.random() * most))
    given = _problem(size, pressures, flows)
    rule = _FORMULA if grade < 3 else f"{_FORMULA}; {_EACH}"
    left = tables.residual()
    return TOPIC.exercise(
        grade,
        stores,
        question="How many minutes does the oxygen last?",
        facts=_facts(stores, size, pressures, flows),
        given=given,
        asked=MINUTES,
        fineness=WHOLE_MINUTES,
        rule=f"{rule}. Residual pressure {left.psi} psi. L/psi by size: {_factors(stores)}",
        source=f"{size.source} ({size.status}); residual: {left.source} ({left.status})",
        trap=CHANGES if grade == 3 else "",
    )


def _sizes(grade: int, stores: Stores) -> tuple[Cylinder, ...]:
    """The sizes aboard; where cylinders are changed those with a spare, if any has one."""
    spared = tuple(size for size in stores.cylinders if stores.spares(size.letter))
    return (grade == 3 and spared) or stores.cylinders


def _flows(grade: int, stores: Stores, random: Random) -> list[tuple[int, ...]]:
    """What may be set for each who is on the oxygen: those of the call, three at most, each as
    what they are asked for takes; else as many as the grade has it."""
    call = stores.call
    if call is None:
        return [_FLOWS] * drawn_evenly(_SHARED[grade], random)
    return [
        _FLOWS_OF_A_MASK if _has_a_mask(call, each.number) else _FLOWS_OF_A_CANNULA
        for each in call.patients[:3]
    ]


def _of_one_regulator(offered: list[tuple[int, ...]], random: Random) -> list[int]:
    """One flow of each offer, as many as a regulator gives at once; who is left without has
    another cylinder."""
    flows: list[int] = []
    for each in offered:
        if fitting := tuple(flow for flow in each if sum(flows) + flow <= _MOST_AT_ONCE):
            flows.append(drawn_evenly(fitting, random))
    return flows


def _has_a_mask(call: Call, number: int) -> bool:
    """Whether a mask or a bag is asked for a patient."""
    asked = needs_for(call.needs, number)
    return any(each.grade != NEEDLESS and each.need in _MASKS for each in asked)


def _problem(size: Cylinder, pressures: list[int], flows: list[int]) -> dict[str, Any]:
    told = [f"{flow} L/min" for flow in flows]
    residual = f"{tables.residual().psi} psi"
    if len(pressures) == 1:
        return {
            "kind": "oxygen",
            "cylinder": size.letter,
            "list": size.list,
            "pressure": f"{pressures[0]} psi",
            "residual": residual,
            "flow": told,
        }
    return {
        "kind": "cylinders",
        "factor": f"{plain(size.litres_per_psi)} L/psi",
        "pressures": [f"{each} psi" for each in pressures],
        "residual": residual,
        "flow": told,
    }


def _facts(
    stores: Stores, size: Cylinder, pressures: list[int], flows: list[int]
) -> Iterator[Told]:
    first, *spares = pressures
    yield Told("Cylinder on", f"size {size.letter}", f"the gauge reads {amount(first, 'psi')}")
    if spares:
        many = "a spare" if len(spares) == 1 else f"{len(spares)} spares, each"
        whose = "" if stores.spares(size.letter) else ", from another rig"
        full = f"at {amount(spares[0], 'psi')}{whose}"
        yield Told("Also there", f"{many} size {size.letter}", full)
    for number, flow in enumerate(flows, 1):
        label = "Flow" if len(flows) == 1 else f"Outlet {number}, same cylinder"
        yield Told(label, amount(Fraction(flow), "L/min"))


def _factors(stores: Stores) -> str:
    return ", ".join(f"{row.letter} {plain(row.litres_per_psi)}" for row in stores.cylinders)
