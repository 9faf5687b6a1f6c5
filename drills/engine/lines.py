"""The lines of a working: what stands on the left of each, and the figure that it comes to."""

from collections.abc import Iterator

from drills.engine.quantities import Quantity, plain

# Where figures are cut, a line is true to those that are told alone.
EQUAL, NEARLY = " = ", " ≈ "


def line(left: str, to: Quantity, *by: Quantity | None, high: Quantity | None = None) -> str:
    """One line that ends in a figure, or in the range from it to `high`.

    `by` are the figures on its left: where fewer are told of any of them, or of what it comes to,
    than there are, the two sides are only nearly the same.
    """
    is_nearly = any(each.is_cut for each in (to, high, *by) if each)
    return f"{left}{NEARLY if is_nearly else EQUAL}{span(to, high)}"


def turned(figure: Quantity, to: Quantity) -> Iterator[str]:
    """The line from a figure to the same in another unit; none where its unit stays."""
    if figure.unit != to.unit:
        yield line(str(figure), to, figure)


def is_line(step: str) -> bool:
    """Whether a step works a figure out."""
    return EQUAL in step or NEARLY in step


def ends_in(step: str, figure: Quantity) -> bool:
    """Whether a step works out a figure."""
    return step.endswith((f"{EQUAL}{figure}", f"{NEARLY}{figure}"))


def span(low: Quantity, high: Quantity | None) -> str:
    """An amount, or a range of them, in words."""
    return str(low) if high is None or high == low else f"{plain(low.amount)} to {high}"
