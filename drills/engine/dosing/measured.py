"""Whether an answer is as near to what is right as can be measured."""

from fractions import Fraction

from drills.engine.dosing.results import LAST_PLACE, Result, finest_step
from drills.engine.quantities import Quantity, half_up, round_down, told_step

# Beside half a mark: of a small amount half a mark is more than can be called the same. Ours, no
# source.
NEAR_ENOUGH = Fraction(1, 20)
# Whole things and the sizes that are made: there is nothing between them.
THINGS = ("containers", "points", "mm")
# What a device is set to in steps: it has no setting between them either, but the exact figure may
# be told.
STEPPED = ("J", "gtt/min", "tablet")


def is_measured(result: Result, given: Fraction) -> bool:
    """Whether an amount is right: a setting, the exact figure as it is told, anywhere inside a
    range; else within what the marks allow. Of whole things one that there is."""
    if result.exact.unit in THINGS:
        return given in [each.amount for each in result.ends]
    if result.is_met(given):
        return True
    nearest = result.nearest_to(given)
    if result.exact.unit in STEPPED and result.rounded:
        return _is_told(result, nearest, given)
    return _is_near(result, nearest, given)


def _is_near(result: Result, nearest: Fraction, given: Fraction) -> bool:
    """Whether an amount is within what the marks allow, and on the side that is allowed."""
    if given > nearest and _is_above(result, given):
        return False
    if result.rounded is None:
        # What no mark comes near to is right as told alone.
        return abs(given - nearest) <= told_step(nearest) / 2
    if result.is_down:
        return given >= result.rounded.amount
    if result.is_never_up:
        return given >= least_of(result, nearest).amount
    return abs(given - nearest) <= allowance(result, nearest)


def _is_above(result: Result, given: Fraction) -> bool:
    """Whether nothing above the exact figure is right, and of a range nothing past its high end: as
    it is told too, or a setting past it that is taken since none lies inside."""
    if result.is_never_up or result.is_down:
        return True
    high = result.high_amount
    set_to = result.rounded_high.amount if result.rounded_high else high
    most = max(set_to, half_up(high, told_step(high)), half_up(high, LAST_PLACE))
    return result.is_range and given > most


def allowance(result: Result, nearest: Fraction) -> Fraction:
    """How far from what is right an amount may be: half a mark, and no more than a twentieth."""
    return min(result.step_at(nearest) / 2, NEAR_ENOUGH * nearest)


def least_of(result: Result, nearest: Fraction) -> Quantity:
    """The least that is right of what is never rounded up: up to a mark and a twentieth less."""
    marks = [result.rounded.amount] if result.rounded else []
    return Quantity(max([nearest * (1 - NEAR_ENOUGH), *marks]), result.exact.unit)


def _is_told(result: Result, nearest: Fraction, given: Fraction) -> bool:
    """Whether an amount is the exact one to its own last figure, to whole ones or finer."""
    rounding = round_down if result.is_never_up else half_up
    is_same = rounding(nearest, finest_step(given)) == given
    return is_same and abs(given - nearest) <= NEAR_ENOUGH * nearest
