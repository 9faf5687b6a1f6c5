"""What is said of a call type of many people together, nobody named."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from drills.engine.cohort import FEWEST_PEOPLE


@dataclass(frozen=True, slots=True)
class OfMany:
    """How many people carry a chance and how many not, and of those who do the median, the lowest
    quarter (three in four are above it) and the highest; None of fewer than three."""

    told: int
    untold: int
    median: float | None = None
    lowest: float | None = None
    highest: float | None = None

    @property
    def of(self) -> int:
        """How many people there are."""
        return self.told + self.untold

    @property
    def share_told(self) -> int:
        """How many of 100 carry a chance; 0 of nobody."""
        return round(100 * self.told / max(self.of, 1))


def of_many(chances: Collection[float | None]) -> OfMany:
    """Of the chance of each person; None where there is not enough evidence to say it.

    Quarters by linear interpolation between the people in their order (type 7 of Hyndman and Fan,
    The American Statistician 1996; 50: 361-365, from memory).
    """
    told = [each for each in chances if each is not None]
    untold = len(chances) - len(told)
    if len(told) < FEWEST_PEOPLE:
        return OfMany(len(told), untold)
    lowest, median, highest = (float(each) for each in np.quantile(told, (0.25, 0.5, 0.75)))
    return OfMany(len(told), untold, median, lowest, highest)
