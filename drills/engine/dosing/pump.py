"""How fast a pump is set and drops are counted at most, and what is done with a rate above that."""

from dataclasses import replace
from fractions import Fraction

from drills.engine.devices import DROPS_MOST, PUMP_MOST
from drills.engine.dosing.results import Refusal, Result, comes_near
from drills.engine.quantities import Quantity, round_down

MOST_RATE = Quantity(PUMP_MOST, "mL/h")
THE_MOST = "the most that a pump is set to"
# Who weighs less than a child's formula is for: ours, no source.
LIGHT_BELOW = Quantity(Fraction(40), "kg")
MOST_DROPS = Quantity(DROPS_MOST, "gtt/min")


def up_to(rate: Result, within: Fraction, most: Quantity = MOST_RATE) -> Result:
    """A rate as it is set: to no mark above the most, as of a pump. What is faster is not set at
    all; of a range that begins below, all that the pump goes to is."""
    if rate.exact.amount > most.amount:
        return replace(rate, rounded=None, rounded_high=None)
    last = Quantity(round_down(most.amount, rate.step), rate.exact.unit)
    mark, low, high = (
        last if each and each.amount > last.amount else each
        for each in (rate.mark, rate.rounded, rate.rounded_high)
    )
    if low and not comes_near(low.amount, rate.low_amount, within):
        low = high = None
    return replace(rate, mark=mark or rate.mark, rounded=low, rounded_high=high)


def is_cut_short(rate: Result) -> bool:
    """Whether a range goes on above all that a pump is set to."""
    return rate.rounded is not None and rate.high_amount > PUMP_MOST


def too_fast(
    rate: Quantity,
    *ways_out: str,
    most: Quantity = MOST_RATE,
    why: str = THE_MOST,
    which: str = "is more than a pump is set to",
) -> Refusal | None:
    """Why a rate is not set; None of one that is. `most` is the fastest, and `why` says of what."""
    if rate.amount <= most.amount:
        return None
    return Refusal(f"{rate} is faster than {most}, {why}.", ways_out, which)
