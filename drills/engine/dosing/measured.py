"""Whether an answer is as near to what is right as can be measured."""

from collections.abc import Iterator
from fractions import Fraction

from drills.engine.dosing.results import Result, Rounding, finest_step, told_forms
from drills.engine.quantities import half_up, round_down, told_step

# Beside half a mark: of a small amount half a mark is more than can be called the same. Ours, no
# source.
NEAR_ENOUGH = Fraction(1, 20)
# Whole things and the sizes that are made: there is nothing between them.
THINGS = ("containers", "points", "mm")
# What a device is set to in steps: it has no setting between them either, but the exact figure may
# be told.
STEPPED = ("J", "gtt/min", "tablet")


def is_measured(result: Result, given: Fraction) -> bool:
    """Whether an amount is right: from the least that is right to the most. Of whole things one
    that there is, of steps a setting or the exact figure as it is told."""
    if result.exact.unit in THINGS:
        return given in [each.amount for each in result.ends]
    if result.exact.unit in STEPPED and result.rounded:
        return result.is_met(given) or _is_told(result, result.nearest_to(given), given)
    least, most = right_span(result)
    return least <= given <= most


def right_span(result: Result) -> tuple[Fraction, Fraction]:
    """The least and the most that is right of what is measured: all that lies between is as well.

    It holds the exact figure as it is told, what is set, and what the marks allow on either side;
    it never passes a limit.
    """
    low, high = result.low_amount, result.high_amount
    less, more = _allowed(result)
    told = list(_as_told(result))
    least, most = min(low - less, *told), max(high + more, *told)
    if result.floor:
        least = max(least, min(told_forms(result.floor)))
    if result.ceiling:
        most = min(most, max(told_forms(result.ceiling)))
    return least, most


def _as_told(result: Result) -> Iterator[Fraction]:
    """Both ends in every form that is told of them, and what is set."""
    for end in result.ends:
        yield from told_forms(end)
    # What is not set is told instead, and so is the high end of a range.
    for end in result.ends[1:] if result.rounded else result.ends:
        yield result.told_as(end).amount
    if result.rounded:
        yield from (result.rounded.amount, result.mark.amount)
    if result.rounded_high:
        yield result.rounded_high.amount


def _allowed(result: Result) -> tuple[Fraction, Fraction]:
    """How much less than the low end and more than the high end is right beside what is told."""
    low, high = result.low_amount, result.high_amount
    is_down = result.rounding.is_down
    if result.rounded is None:
        # What no mark comes near to is right as told alone.
        less, more = told_step(low) / 2, told_step(high) / 2
    elif is_down:
        return Fraction(0), Fraction(0)
    else:
        less, more = allowance(result, low), allowance(result, high)
    return less, Fraction(0) if is_down or result.is_range else more


def allowance(result: Result, nearest: Fraction) -> Fraction:
    """How far from what is right an amount may be: half a mark, and no more than a twentieth."""
    return min(result.step_at(nearest) / 2, NEAR_ENOUGH * nearest)


def _is_told(result: Result, nearest: Fraction, given: Fraction) -> bool:
    """Whether an amount is the exact one to its own last figure, to whole ones or finer."""
    rounding = round_down if result.rounding is Rounding.NEVER_UP else half_up
    is_same = rounding(nearest, finest_step(given)) == given
    return is_same and abs(given - nearest) <= NEAR_ENOUGH * nearest
