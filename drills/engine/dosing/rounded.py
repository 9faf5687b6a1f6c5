"""The lines of a working that say how a figure is rounded, and what cuts it."""

from collections.abc import Iterable, Iterator

from drills.engine.dosing.results import Result, Rounding
from drills.engine.quantities import Quantity, round_down


def rounding_step(result: Result, by: str) -> Iterator[str]:
    """The line from an exact figure to what is set or told, `by` saying how; none where they are
    the same, or nothing is set."""
    ends = (result.rounded, *([result.rounded_high] if result.is_range else []))
    if result.rounded is None or ends == result.ends:
        return
    never = f", {said}" if (said := never_up_words(result)) else ""
    if is_lifted(result):
        never = ", the mark below is under the minimum, so the mark above"
    yield f"{by}{never}: {result.answer}"


def never_up_words(result: Result) -> str:
    """That a child's figure is not rounded up; of a range that is set from a mark above its low end
    that is said of the high one alone. Empty where the service rounds otherwise."""
    if result.rounding is not Rounding.NEVER_UP:
        return ""
    is_first_inside = result.rounded is not None and result.rounded.amount > result.exact.amount
    return f"{'the high end ' if is_first_inside else ''}never rounded up for a child"


def maximum_step(most: Quantity | None, to: Quantity, *, is_high: bool) -> str:
    """The line of the maximum that an end of a range, or a figure, met; of the high end in words
    of its own, so that each end has its line."""
    return f"The maximum is {most}: give {'no more than ' if is_high else ''}{to}"


def is_lifted(result: Result) -> bool:
    """Whether a figure is set to the mark above, since the one it would have is under a minimum."""
    if result.floor is None or result.rounded is None:
        return False
    meant = result.exact.amount
    return result.rounded.amount > meant and round_down(meant, result.step) < result.floor.amount


def last_steps(steps: Iterable[str], result: Result) -> Iterator[str]:
    """The line that leaves a figure as it is told, where no step has done so."""
    if any(each.endswith((f": {result.answer}", f": set {result.answer}")) for each in steps):
        return
    yield from rounding_step(
        result, "Rounded down" if result.rounding is Rounding.LASTS else "Rounded"
    )
