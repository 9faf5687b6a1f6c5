"""Which figure of an amount, as it was written, is the last, and the last that says something."""

import re
from fractions import Fraction

from drills.engine.quantities import THOUSANDS


def last_figure(text: str) -> Fraction:
    """What one of the last figure of a readable amount is: 0.01 of 1.50 mg, 1 of 1,000 and 20."""
    figures = _figures(text)
    mark = "." if "." in figures or THOUSANDS.fullmatch(figures) else ","
    return Fraction(1, 10 ** len(figures.partition(mark)[2]))


def _figures(text: str) -> str:
    """The number of an amount as it was written."""
    return re.split(r"[^0-9.,]", text.strip(), maxsplit=1)[0]


def last_told(text: str) -> Fraction:
    """What one of the last figure that says something is: zeros that end a whole number may only
    hold the place. 100 of 1,200, 10 of 20, 0.01 of 1.50, 1 of 12."""
    last = last_figure(text)
    if last != 1:
        return last
    figures = _figures(text).strip(",.").replace(",", "").lstrip("0")
    return Fraction(10 ** (len(figures) - len(figures.rstrip("0"))))
