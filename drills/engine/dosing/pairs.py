"""Two slips together: offered as possible where no single one explains an answer."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import product
from typing import Protocol, runtime_checkable

from drills.engine.dosing.results import Problem
from drills.engine.dosing.slips import (
    DECIMALS,
    DOSE_AS_VOLUME,
    NO_MAXIMUM,
    NO_MINIMUM,
    NO_WEIGHT,
    OF_WEIGHT,
    STRENGTH_DIVIDED,
    STRENGTH_MULTIPLIED,
    TENFOLD_OVER,
    TENFOLD_UNDER,
    Made,
    Slip,
)

ONE_PLACE = tuple(each for each in DECIMALS if each[0] in (TENFOLD_OVER, TENFOLD_UNDER))
# Where a whole step was left out or turned round, a moved point beside it is a guess.
NEVER_WITH_A_POINT = frozenset(
    {*dict(DECIMALS), DOSE_AS_VOLUME, NO_WEIGHT, STRENGTH_DIVIDED, STRENGTH_MULTIPLIED}
)


@runtime_checkable
class Limited(Problem, Protocol):
    """A problem whose rule has limits, or may have."""

    def without_limits(self) -> Problem:
        """The same where they are forgotten."""


def pairs(
    problem: Problem, asked: str, made: Iterable[Made], right: Fraction
) -> Iterator[tuple[Slip, Made]]:
    """Each pair as its first slip, and what the second made of it.

    A slip with a point moved by one place, unless the two nearly cancel; and a wrong weight whose
    dose should have met a limit, with that limit forgotten. `made` is what single slips give,
    `right` the right amount.
    """
    for each, (slip, factor) in product(made, ONE_PLACE):
        value = each.value.times(factor)
        if each.slip not in NEVER_WITH_A_POINT and not _cancels(value.amount, right):
            yield each.slip, Made(slip, value)
    if isinstance(problem, Limited):
        yield from _limit_forgotten(problem, asked, right)


def _limit_forgotten(problem: Limited, asked: str, right: Fraction) -> Iterator[tuple[Slip, Made]]:
    """Each wrong weight whose dose should have met a limit, with what it makes without one."""
    kept = set(problem.slips(asked))
    for each in problem.without_limits().slips(asked):
        if each.slip in OF_WEIGHT and each not in kept:
            forgotten = NO_MAXIMUM if each.value.amount > right else NO_MINIMUM
            yield each.slip, Made(forgotten, each.value, each.set_to)


def _cancels(made: Fraction, right: Fraction) -> bool:
    """Whether two slips together come within twice of what is right: opposite ones explain
    nothing. Ours, no source."""
    return right <= 2 * made and made <= 2 * right
