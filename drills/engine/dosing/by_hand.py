"""How something is run in where no pump is set so fast: by hand, by opening a clamp, or not at all
without direction."""

from collections.abc import Iterator

from drills.engine.devices import SYRINGES, Device
from drills.engine.dosing.drawing import MOST_FILLS
from drills.engine.dosing.flowing import Flowing
from drills.engine.dosing.pump import LIGHT_BELOW

STRONGER = "Use a stronger mixture, or ask medical direction."
BY_PRESSURE = "wide open, under pressure with a pressure bag, or through more than one line"
LARGEST_SYRINGE = SYRINGES[max(SYRINGES)]


def ways_without_a_pump(drip: Flowing) -> Iterator[str]:
    """What is done with a rate that no pump goes to.

    What one syringe holds is pushed by hand. More of a medicine is never run by opening a clamp,
    nor is any fluid into whom weighs less than `LIGHT_BELOW`: that is pushed in no more fillings
    than are accepted of any draw, else medical direction is asked. Where no weight is told both
    are said.
    """
    fills = _fills(drip)
    if drip.strength or (drip.is_medicine and fills != 1):
        yield STRONGER
    elif fills == 1:
        yield f"Push it by hand from a syringe over {drip.over}."
    elif drip.kg is None:
        yield f"From {LIGHT_BELOW} on: {_opened(drip)}"
        yield f"Below {LIGHT_BELOW}: {_into_the_light(drip, fills)}"
    else:
        is_light = drip.kg.amount < LIGHT_BELOW.amount
        yield _into_the_light(drip, fills) if is_light else _opened(drip)


def _opened(drip: Flowing) -> str:
    return f"Run it in{_over(drip)} without a pump: {BY_PRESSURE}."


def _into_the_light(drip: Flowing, fills: int) -> str:
    if not 0 < fills <= MOST_FILLS:
        return "Ask medical direction how it is run in."
    by = f"{fills} fillings of {_largest(drip)}"
    return f"Push it by hand{_over(drip)}, in {by}, as your protocols say."


def _over(drip: Flowing) -> str:
    return f" over {drip.over}" if drip.over and drip.volume else ""


def _largest(drip: Flowing) -> Device:
    """The largest syringe that is told, else the largest whose marks are known."""
    return max(drip.devices, key=lambda each: each.holds, default=LARGEST_SYRINGE)


def _fills(drip: Flowing) -> int:
    """How often the largest syringe is filled with a volume that runs over a time; 0 of a rate."""
    if drip.volume is None:
        return 0
    return _largest(drip).fills(drip.volume.to("mL").amount)
