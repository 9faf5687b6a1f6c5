"""How good the model of what people know is: its chances beside what came, and what it holds."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from drills.competency.quality import Beforehand, FitTold, newest_fit, said_beforehand
from drills.competency.reports import observed_outcomes
from drills.engine.readying.call import OBSERVED_ENOUGH

# The square in pixels in which what was said stands beside what came.
_FROM, _SIDE = 40, 300


@dataclass(frozen=True, slots=True)
class Point:
    """So many answers of about one chance: what was said, and what came, with its interval; and
    where that lies in the drawing."""

    count: int
    said: float
    came: float
    low: float
    high: float

    @property
    def in_100(self) -> tuple[int, int, int, int]:
        """What was said and what came, with the ends of its interval, as whole numbers in 100."""
        said, came, low, high = (
            round(100 * v) for v in (self.said, self.came, self.low, self.high)
        )
        return said, came, low, high

    @property
    def at(self) -> tuple[float, float, float, float]:
        """Across, and down to what came and the ends of its interval."""
        across = round(_FROM + _SIDE * self.said, 1)
        came, low, high = (round(_SIDE * (1 - v) + 10, 1) for v in (self.came, self.low, self.high))
        return across, came, low, high


@dataclass(frozen=True)
class ModelBoard:
    """The page of the model; of a service without a fit there is none."""

    fit: FitTold

    @property
    def quality(self) -> Mapping[str, Any]:
        return self.fit.quality

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """The tenths of all judged answers, by the chance that was said."""
        return tuple(
            Point(each["count"], each["chance"], each["share"], each["low"], each["high"])
            for each in self.quality.get("bins", ())
        )

    @cached_property
    def gap_in_100(self) -> float:
        """By how much what was said and what came differ, in the mean."""
        return round(100 * float(self.quality["gap"]), 1)

    @cached_property
    def doors(self) -> list[tuple[str, Point]]:
        """What was said before the answers through each door, and what came."""
        return [(each.door, _point(each)) for each in said_beforehand()]

    @cached_property
    def observed(self) -> int:
        """Outcomes that officers saw at a rig."""
        return observed_outcomes()

    @property
    def observed_enough(self) -> int:
        """How many of those a chance is checked by."""
        return OBSERVED_ENOUGH

    @cached_property
    def coefficients(self) -> list[tuple[str, float]]:
        """What a person's past says, the strongest first."""
        return sorted(self.fit.coefficients.items(), key=lambda each: -abs(each[1]))


def _point(each: Beforehand) -> Point:
    return Point(each.count, each.said, each.came, each.low, each.high)


def model_board() -> ModelBoard | None:
    """What the newest fit holds; None before the first."""
    fit = newest_fit()
    return ModelBoard(fit) if fit else None
