"""What a worked problem gives: each figure exact and as its device gives it, and the working."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from itertools import chain
from typing import ClassVar, Protocol

from drills.engine.door import NotUnderstoodError
from drills.engine.dosing.slips import OF_WEIGHT, Made, Slip
from drills.engine.quantities import (
    Quantity,
    half_up,
    round_down,
    round_up,
    told_step,
)

MAXIMUM, MINIMUM = "max", "min"
LIMIT_WORDS = {MAXIMUM: "maximum", MINIMUM: "minimum"}

# The published definition of a dosing error: 20 % or more from what was meant.
UNSAFE_FROM = Fraction(1, 5)
# Ours, no source: what the marks miss by a tenth or more is too small to be drawn up undiluted.
MEASURABLE_WITHIN = Fraction(1, 10)
# No answer has more decimals than its exact figure is told with.
MOST_PLACES = 12
LAST_PLACE = Fraction(1, 10**MOST_PLACES)
# What a pump can be set to: whole mL/h from 10 on, tenths below. Common practice, no source.
WHOLE_FROM, ONE, TENTH = 10, Fraction(1), Fraction(1, 10)


class Rounding(StrEnum):
    """Which way a figure is rounded: half up; never up, as some services have it for a child; or
    down to what surely lasts, as of minutes of oxygen, where more is dangerous."""

    HALF_UP = "half up"
    NEVER_UP = "never up"
    LASTS = "down"

    @property
    def is_down(self) -> bool:
        """Whether it is never up, whoever chose that."""
        return self is not Rounding.HALF_UP


class ProblemError(NotUnderstoodError):
    """A problem of dosing or supply math that cannot be understood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One figure of a solution.

    `exact` is unrounded; with `high` anywhere from the one to the other is right. `mark` is the
    setting next to it, there whether it may be set or not; of what is written down it may be
    coarser than what is told. `rounded` is what the device is set to or the figure told as,
    `rounded_high` the same for the high end, None where the draw is refused; `step` and
    `step_high` are what the marks are apart at either end, in the unit of `exact`. `ceiling` is
    never to be passed at any size, and nothing below `floor` is right. `rounding` is which way it
    was rounded: half up where a limit lifted it.
    """

    name: str
    exact: Quantity
    step: Fraction
    mark: Quantity
    high: Quantity | None = None
    step_high: Fraction | None = None
    rounded: Quantity | None = None
    rounded_high: Quantity | None = None
    ceiling: Quantity | None = None
    floor: Quantity | None = None
    rounding: Rounding = Rounding.HALF_UP

    @property
    def low_amount(self) -> Fraction:
        return self.exact.amount

    @property
    def high_amount(self) -> Fraction:
        return (self.high or self.exact).amount

    @property
    def ends(self) -> tuple[Quantity, ...]:
        """The exact figure, or both ends of a range."""
        return (self.exact, *([self.high] if self.high else []))

    @property
    def settings(self) -> tuple[tuple[Quantity, ...], ...]:
        """For each end what the device is set to; nothing where no setting comes near it."""
        low = (self.rounded, self.mark) if self.rounded else ()
        high = (self.rounded_high,) if self.rounded_high else ()
        return tuple(
            tuple(each for each in settings if comes_near(each.amount, end.amount))
            for end, settings in zip(self.ends, (low, high), strict=False)
        )

    @property
    def is_range(self) -> bool:
        return self.high is not None and self.high != self.exact

    @property
    def answer(self) -> str:
        """What is right, in words; anywhere inside a range."""
        set_to = self.rounded or self.told_as(self.exact)
        highest = self.rounded_high
        if self.rounded is None and self.high:
            highest = self.told_as(self.high)
        if highest is not None and highest.amount > set_to.amount:
            return f"{set_to}, up to {highest}"
        return str(set_to)

    def told_as(self, exact: Quantity) -> Quantity:
        """A figure that is not set, as it is told, and never past what may be given."""
        step = told_step(exact.amount)
        told = half_up(exact.amount, step)
        if self.rounding.is_down or self.is_past(told):
            told = round_down(exact.amount, step)
        return Quantity(told, exact.unit)

    def is_rounded_dangerously(self, given: Fraction) -> bool:
        """Whether an amount is past the exact one where that is the dangerous direction."""
        return self.rounding is Rounding.LASTS and given > max(told_forms(self.high or self.exact))

    def is_past(self, given: Fraction) -> bool:
        """Whether an amount is past the maximum, and not the maximum as it is told."""
        most = self.ceiling
        return most is not None and given > max(told_forms(most))

    def is_under(self, given: Fraction) -> bool:
        """Whether an amount is under the minimum, and not the minimum as it is told."""
        least = self.floor
        return least is not None and given < min(told_forms(least))

    def is_met(self, given: Fraction) -> bool:
        """Whether an amount is right to the figure: exact, as it is told, or as it is set."""
        set_to = (self.rounded.amount, self.mark.amount) if self.rounded else ()
        told = (form for end in self.ends for form in told_forms(end))
        return given in (self.nearest_to(given), *told, *set_to)

    def nearest_to(self, given: Fraction) -> Fraction:
        """The right amount that an amount of the same unit is nearest to."""
        return min(max(given, self.low_amount), self.high_amount)

    def step_at(self, amount: Fraction) -> Fraction:
        """How far the marks are apart where an amount lies."""
        is_high = self.step_high is not None and amount >= self.high_amount > self.low_amount
        return self.step_high if is_high and self.step_high is not None else self.step


def told_forms(figure: Quantity) -> tuple[Fraction, ...]:
    """An amount, and what is told of it where that is cut: to be read again, and in a working."""
    return (figure.amount, half_up(figure.amount, LAST_PLACE), figure.told)


def finest_step(amount: Fraction) -> Fraction:
    """One of the last decimal of an amount: 0.1 of 17.1, and 1 of what is whole or never ends."""
    steps = (Fraction(1, 10**places) for places in range(MOST_PLACES + 1))
    return next((step for step in steps if not amount % step), Fraction(1))


def told(
    name: str,
    exact: Quantity,
    *,
    down: bool = False,
    most: Quantity | None = None,
    least: Quantity | None = None,
    never_up: bool = False,
) -> Result:
    """A figure that is told and no device is set to: to three figures, never past `most` and
    never under `least`.

    With `down` it is rounded downwards to whole ones, since more is the dangerous direction; with
    `never_up` downwards as well, to three figures.
    """
    step = Fraction(1) if down else told_step(exact.amount)
    rounded = (round_down if down or never_up else half_up)(exact.amount, step)
    most, least = (each and each.to(exact.unit) for each in (most, least))
    rounded = _told_within(rounded, exact.amount, step / 1000, most, least)
    mark = Quantity(rounded, exact.unit)
    return Result(
        name=name,
        exact=exact,
        step=step,
        mark=mark,
        rounded=mark,
        ceiling=most,
        floor=least,
        rounding=Rounding.LASTS if down else not_lifted(rounded, exact, never_up=never_up),
    )


def not_lifted(set_to: Fraction, exact: Quantity, *, never_up: bool) -> Rounding:
    """Never up, unless a limit lifted it all the same."""
    is_down = never_up and set_to <= exact.amount
    return Rounding.NEVER_UP if is_down else Rounding.HALF_UP


def _told_within(
    rounded: Fraction,
    amount: Fraction,
    step: Fraction,
    most: Quantity | None,
    least: Quantity | None,
) -> Fraction:
    """A rounded amount, to further figures where that is past a limit and it is not."""
    if least is not None and rounded < least.amount:
        above = round_up(amount, step)
        return min(above, most.amount) if most else above
    if most is not None and rounded > most.amount:
        return round_down(amount, step)
    return rounded


def setting(
    amount: Fraction,
    step: Fraction,
    most: Quantity | None = None,
    least: Quantity | None = None,
    *,
    never_up: bool = False,
) -> Fraction:
    """The mark for an amount: half up or `never_up`, past no `most`.

    Where that is under `least` it is the mark above, whatever the service rounds by: a minimum is
    a limit of the rule. Where no mark lies from the one to the other it is the one under `least`,
    which nothing is set to.
    """
    mark = (round_down if never_up else half_up)(amount, step)
    if most is not None and mark > most.amount:
        mark = round_down(most.amount, step)
    if least is None or mark >= least.amount:
        return mark
    above = round_up(least.amount, step)
    return above if most is None or above <= most.amount else mark


def dial_marks(amount: Fraction) -> Fraction:
    """What the marks of a dial are apart at an amount."""
    return ONE if amount >= WHOLE_FROM else TENTH


def spanned(low: Result, high: Result) -> Result:
    """A figure that may be anywhere from the one to the other, each end as it is told."""
    if low.exact == high.exact:
        return low
    return replace(
        low,
        high=high.exact,
        step_high=high.step,
        rounded_high=high.rounded,
        rounding=high.rounding,
    )


def dial_of(ml_per_h: Quantity) -> Quantity:
    """What the settings of a pump are apart at a rate."""
    return Quantity(dial_marks(ml_per_h.amount), ml_per_h.unit)


def set_by(
    name: str,
    exact: Quantity,
    marks: Quantity,
    most: Quantity | None = None,
    least: Quantity | None = None,
    *,
    within: Fraction = MEASURABLE_WITHIN,
    never_up: bool = False,
) -> Result:
    """A figure that a device with such marks is set to: half up or `never_up`, past no `most`
    and not under `least`, as `setting` says.

    What the nearest mark misses by a tenth, or by `within`, is not set at all: its `rounded` is
    None.
    """
    step = marks.to(exact.unit).amount
    most, least = (each and each.to(exact.unit) for each in (most, least))
    set_to = setting(exact.amount, step, most, least, never_up=never_up)
    mark = Quantity(set_to, exact.unit)
    rounded = mark if is_allowed(set_to, exact.amount, least, within) else None
    return Result(
        name=name,
        exact=exact,
        step=step,
        mark=mark,
        rounded=rounded,
        ceiling=most,
        floor=least,
        rounding=not_lifted(set_to, exact, never_up=never_up),
    )


def set_inside(low: Result, high: Result) -> Result:
    """A range that a device is set to: from the first mark inside it to the last.

    Where none lies inside it is set as the low end is, if that is near enough.
    """
    if low.exact == high.exact:
        return low
    ranged = replace(low, high=high.exact, step_high=high.step, rounded_high=low.rounded)
    first = round_up(low.exact.amount, low.step)
    if first > high.exact.amount:
        return ranged
    last = max(round_down(high.exact.amount, high.step), first)
    mark, top = (Quantity(each, low.exact.unit) for each in (first, last))
    return replace(ranged, mark=mark, rounded=mark, rounded_high=top, rounding=high.rounding)


def comes_near(mark: Fraction, meant: Fraction, within: Fraction = MEASURABLE_WITHIN) -> bool:
    """Whether a mark is near enough to what is meant for a device to be set to it."""
    return mark > 0 and abs(mark - meant) < within * meant


def is_allowed(mark: Fraction, meant: Fraction, least: Quantity | None, within: Fraction) -> bool:
    """Whether a device is set to a mark: near enough to what is meant, and not under `least`."""
    return (least is None or mark >= least.amount) and comes_near(mark, meant, within)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why something may not be drawn up as asked, and the ways out; `which` says it of the figure
    in a few words."""

    because: str
    instead: tuple[str, ...]
    which: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Everything a problem gives. `limit` is the limit that the low end met, `limit_high` that of
    the high end; `steps` are the lines of the working, one for each figure found. `without` are
    figures that can be asked for and are not there, with the unit they would be in: the refusal
    says why. By the name of a figure, `beside` are the lines that it alone takes, and `refusals`
    its own reasons not to be set."""

    results: Mapping[str, Result]
    steps: tuple[str, ...]
    limit: str = ""
    limit_high: str = ""
    refusal: Refusal | None = None
    without: Mapping[str, str] = field(default_factory=dict)
    beside: Mapping[str, str] = field(default_factory=dict)
    refusals: Mapping[str, Refusal] = field(default_factory=dict)

    def refusal_of(self, result: Result) -> Refusal | None:
        """Why a figure of it is not set; None of one that is."""
        return None if result.rounded else self.refusals.get(result.name, self.refusal)

    @property
    def refused(self) -> str:
        """The name of the figure that `refusal` is of; empty where there is none."""
        if self.refusal is None:
            return ""
        named = (name for name, each in self.refusals.items() if each == self.refusal)
        unset = (name for name, each in self.results.items() if each.rounded is None)
        return next(chain(named, unset, self.without), "")


class Problem(Protocol):
    """A problem that can be worked out and judged."""

    kind: ClassVar[str]

    @property
    def unsafe_from(self) -> Fraction | None:
        """From which share off an answer is unsafe: a fifth, or a rule's tighter limit; None of
        what is no dose and leads to none."""

    def solve(self) -> Solution:
        """Work it out, each figure exact until the last."""

    def slips(self, asked: str) -> "tuple[Made, ...]":
        """What each slip that is of this kind of problem would have given instead."""

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """What an amount of another kind comes to as what was asked; None where it is nothing."""


def made_by(slip: Slip, wrong: Solution, asked: str) -> Iterator[Made]:
    """What a problem with a slip in it gives, each end of a range by itself.

    Of a weight no end that met a limit: the limit alone gives that figure, whatever was slipped.
    """
    result, limits = wrong.results[asked], (wrong.limit, wrong.limit_high)
    for end, set_to, limit in zip(result.ends, result.settings, limits, strict=False):
        if not (limit and slip in OF_WEIGHT):
            yield Made(slip, end, set_to)


def results_of(*results: Result) -> dict[str, Result]:
    """The results by their names."""
    return {each.name: each for each in results}
