"""Which slips explain an answer: each that gives what was given, and pairs where none does."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from drills.engine.dosing.entered import Answered
from drills.engine.dosing.pairs import pairs
from drills.engine.dosing.results import (
    UNSAFE_FROM,
    Problem,
    Result,
    Rounding,
    comes_near,
    dial_marks,
)
from drills.engine.dosing.saying import DIALLED_IN, SET_IN
from drills.engine.dosing.slips import ARITHMETICAL, DECIMALS, OTHER_PRESENTATION, Made, Slip
from drills.engine.quantities import Quantity, half_up, round_down, told_step

# A slip explains an answer to the answer's own precision, and never wider than this.
SLIP_WITHIN = Fraction(1, 50)
# A pair is offered where the answer has two figures or more: one figure fits too much. Ours, no
# source.
LEAST_FIGURES = 10
# Rounded up, many weights come to the same count.
COUNTED = "containers"
# Two figures miss what they are rounded from by no more: so far, rounding alone explains it.
ROUNDED_WITHIN = Fraction(1, 20)


@dataclass(frozen=True, slots=True)
class Given:
    """An amount in the unit of what was asked, `size` being one of the last figure that says
    something, and `least` one of the last that was written."""

    amount: Fraction
    size: Fraction
    least: Fraction
    is_down: bool = False
    is_near: bool = False

    def fits(self, value: Fraction, within: Fraction = SLIP_WITHIN) -> bool:
        """Whether a value is what was given, as far as it was written out; where figures are
        rounded downwards, what was cut off too. Near to what is right it has to be met as it is
        told: there a coarse figure is no sign of it."""
        off = value - self.amount
        size = min(self.size, told_step(value)) if self.is_near else self.size
        is_same = abs(off) <= size / 2 or (self.is_down and 0 <= off < size)
        return is_same and abs(off) <= within * abs(value)

    def is_made(self, made: Made) -> bool:
        """Whether a slip gives what was given, or what the device would then be set to."""
        return self.fits(made.value.amount) or self.is_set(made)

    def is_set(self, made: Made) -> bool:
        """Whether it is what the device would be set to after a slip."""
        return any(each.amount == self.amount for each in made.set_to)


def as_given(answered: Answered, amount: Fraction, result: Result) -> Given:
    """An answer as an `amount` in the unit of a figure."""
    unit = amount / answered.amount.amount
    return Given(
        amount, answered.precision * unit, answered.least * unit, result.rounding is Rounding.LASTS
    )


def explained(
    problem: Problem, result: Result, given: Given
) -> tuple[tuple[Slip, ...], tuple[tuple[Slip, Slip], ...]]:
    """The slips that give what was given; pairs of them where no single one does.

    A count tells only where one slip alone gives it.
    None where the right figure itself is what was given, as far as it was written out, or as it
    is rounded to a mark on the other side.
    """
    nearest = result.nearest_to(given.amount)
    if given.fits(nearest, ROUNDED_WITHIN) or _is_next_mark(result, nearest, given.amount):
        return (), ()
    given = replace(given, is_near=abs(given.amount - nearest) < UNSAFE_FROM * nearest)
    made = list(_made(problem, result))
    found = _singly(made, given)
    if len(found) > 1 and result.exact.unit == COUNTED:
        return (), ()
    if found or given.amount < LEAST_FIGURES * given.size:
        return _likeliest(found, made, given), ()
    both = pairs(problem, result.name, made, nearest)
    fitting = ((first, each.slip) for first, each in both if given.is_made(each))
    return (), tuple(dict.fromkeys(fitting))


def _singly(made: list[Made], given: Given) -> dict[Slip, None]:
    """The slips that alone give what was given: to its last figure, else to its last that says
    something, else as a device is set."""
    closely = replace(given, size=given.least)
    return (
        _fitting(made, lambda each: closely.fits(each.value.amount))
        or _fitting(made, lambda each: given.fits(each.value.amount))
        or _fitting(made, given.is_set)
    )


def _likeliest(found: dict[Slip, None], made: list[Made], given: Given) -> tuple[Slip, ...]:
    """The slips found; without a moved point where another strength aboard gives the very figure,
    or what the point gives: that strength lay there to be taken. Ours, no source."""
    others = {each.value.amount for each in made if each.slip == OTHER_PRESENTATION}
    points = [each for each in made if each.slip in found and each.slip.error == ARITHMETICAL]
    figures = {given.amount, *(each.value.amount for each in points)}
    if OTHER_PRESENTATION not in found or not others & figures:
        return tuple(found)
    return tuple(each for each in found if each.error != ARITHMETICAL)


def _is_next_mark(result: Result, nearest: Fraction, given: Fraction) -> bool:
    """Whether it is a mark beside what is right: so far off, rounding alone explains it. Of what is
    counted it is one more or one less."""
    if result.exact.unit == COUNTED:
        return abs(given - nearest) <= 1
    step = result.step_at(nearest)
    return bool(step) and given % step == 0 and abs(given - nearest) < step


def _fitting(made: Iterable[Made], fits: Callable[[Made], bool]) -> dict[Slip, None]:
    return dict.fromkeys(each.slip for each in made if fits(each))


def _made(problem: Problem, result: Result) -> Iterator[Made]:
    """What every slip gives, and the device would be set to, in the unit of the figure.

    What comes to the right figure all the same, such as a maximum that did not apply, is none.
    """
    right = {each.amount for each in result.ends}
    for each in _every_slip(problem, result):
        made = each.to(result.exact.unit)
        if made.value.amount in right:
            continue
        yield made if made.set_to else replace(made, set_to=tuple(_set_to(made.value, result)))


def _every_slip(problem: Problem, result: Result) -> Iterator[Made]:
    yield from problem.slips(result.name)
    for slip, factor in DECIMALS:
        # The point may have been moved in the figure as it was rounded.
        for right in filter(None, (*result.ends, result.rounded)):
            yield Made(slip, right.times(factor))


def _set_to(value: Quantity, result: Result) -> Iterator[Quantity]:
    """What the device of a figure is set to for another value; nothing where it comes not near."""
    if not (result.rounding is Rounding.LASTS or value.unit in SET_IN):
        return
    step = dial_marks(value.amount) if value.unit == DIALLED_IN else result.step
    set_to = (round_down if result.rounding.is_down else half_up)(value.amount, step)
    if comes_near(set_to, value.amount):
        yield Quantity(set_to, value.unit)
