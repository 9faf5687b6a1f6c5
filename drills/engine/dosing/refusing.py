"""Why a figure is not set by its device, in words."""

from collections.abc import Iterable
from fractions import Fraction

from drills.engine.dosing.results import MEASURABLE_WITHIN, Refusal, Result
from drills.engine.quantities import Quantity, half_up, plain


def marks_apart(step: Quantity) -> str:
    """The marks that are so far apart, in words; of what is broken by hand its parts."""
    if step.unit != "tablet":
        return f"marks {step} apart"
    parts = {Fraction(1): "whole tablets", Fraction(1, 2): "halves of a tablet"}
    return parts.get(step.amount, f"parts of {step}")


def off_by(mark: Quantity, meant: Quantity) -> str:
    """How far a mark is off, in words."""
    off = abs(mark.ratio_to(meant) - 1) * 100
    return f"{plain(half_up(off, Fraction(1)))}% off"


def refused(
    results: Iterable[Result], *ways_out: str, within: Fraction = MEASURABLE_WITHIN
) -> Refusal | None:
    """The refusal of the first figure that no mark comes near to; None where there is none."""
    for each in results:
        if each.rounded is None:
            return between_marks(each, ways_out, within)
    return None


def between_marks(result: Result, ways_out: Iterable[str], within: Fraction) -> Refusal:
    """Why a figure is not set, with the ways out: how far off the mark next to it is, or that none
    is within the limits."""
    if has_no_mark_within(result):
        return _without_mark(result, tuple(ways_out))
    barred = _barred(result)
    return Refusal(
        f"{result.exact} lies between {marks_apart(_step(result))}: the nearest{barred}, "
        f"{result.mark}, is {off_by(result.mark, result.exact)}, and less than "
        f"{plain(within * 100)}% is accepted.",
        tuple(ways_out),
        f"no mark aboard{barred} comes near",
    )


def has_no_mark_within(result: Result) -> bool:
    """Whether no mark lies from the minimum to the maximum."""
    least, most = result.floor, result.ceiling
    return least is not None and most is not None and result.mark.amount < least.amount


def _without_mark(result: Result, ways_out: tuple[str, ...]) -> Refusal:
    apart = f"marks are {_step(result)} apart"
    if result.floor == result.ceiling:
        return Refusal(
            f"{result.floor} is the minimum and the maximum, and lies on no mark: {apart}.",
            ways_out,
            "is the minimum and the maximum and lies on no mark",
        )
    return Refusal(
        f"No mark lies from the minimum, {result.floor}, to the maximum, {result.ceiling}: "
        f"{apart}.",
        ways_out,
        f"has no mark from the minimum, {result.floor}, to the maximum, {result.ceiling}",
    )


def _barred(result: Result) -> str:
    """Why the mark on the other side, that is nearer, is not taken; nothing where none is."""
    off, step = result.mark.amount - result.exact.amount, result.step
    if -step / 2 < off <= step / 2:
        return ""
    if off > 0:
        least = result.floor
        is_minimum = least is not None and result.mark.amount - step < least.amount
        return " that is not under the " + ("minimum" if is_minimum else "low end of the range")
    is_past = result.is_past(result.mark.amount + step)
    return " that is not past the maximum" if is_past else " that is not more"


def _step(result: Result) -> Quantity:
    return Quantity(result.step, result.exact.unit)
