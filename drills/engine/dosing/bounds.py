"""Out of which range a field of a problem is a slip in writing it and no amount for anybody.

The bounds are ours, no source: each is ten times or more beyond what we know of in practice, and
the weights are about the least that lives and the most that was ever weighed. None says that what
is within is safe.
"""

from dataclasses import dataclass
from functools import lru_cache

from drills.engine.dosing.results import ProblemError
from drills.engine.quantities import TIME, Quantity, family_of, kilograms, read_quantity


@dataclass(frozen=True, slots=True)
class Bound:
    """What an amount of a kind is at least and at most, and which fields have such a one.

    A rate has the bounds of what runs in, in whatever time.
    """

    least: Quantity
    most: Quantity
    what: str


def _bound(least: str, most: str, what: str) -> Bound:
    return Bound(read_quantity(least), read_quantity(most), what)


BOUNDS = (
    _bound("0.2 kg", "650 kg", "a body weight, in pounds too"),
    _bound("0.000001 mcg", "1,000 g", "a dose, a limit of one, and what is in a container"),
    _bound("0.000001 mcg/kg", "100 g/kg", "a dose by weight"),
    _bound("0.000001 units", "1,000,000,000 units", "the same in units"),
    _bound("0.000001 units/kg", "10,000,000 units/kg", "a dose by weight in units"),
    _bound("0.000001 mEq", "10,000 mEq", "the same in mEq"),
    _bound("0.000001 mEq/kg", "1,000 mEq/kg", "a dose by weight in mEq"),
    _bound("0.000001 mmol", "10,000 mmol", "the same in mmol"),
    _bound("0.000001 mmol/kg", "1,000 mmol/kg", "a dose by weight in mmol"),
    _bound("0.000001 mL", "100 L", "a volume, a bag, marks, a rate and a flow"),
    _bound("0.000001 mL/kg", "1 L/kg", "a bolus or a rate of fluid by weight"),
    _bound("0.01 tablet", "1,000 tablet", "tablets"),
    _bound("0.000001 mcg/mL", "10 g/mL", "a strength"),
    _bound("0.000001 mcg/tablet", "1,000 g/tablet", "the strength of a tablet"),
    _bound("0.000001 units/mL", "100,000,000 units/mL", "a strength in units"),
    _bound("0.000001 mEq/mL", "100 mEq/mL", "a strength in mEq"),
    _bound("0.000001 mmol/mL", "100 mmol/mL", "a strength in mmol"),
    _bound("1 gtt/mL", "1,000 gtt/mL", "a drip set"),
    _bound("0.01 gtt", "100,000 gtt", "a rate in drops"),
    _bound("0.01 J", "10,000 J", "an energy and its marks"),
    _bound("0.01 J/kg", "1,000 J/kg", "an energy by weight"),
    _bound("1 s", "720 h", "a time"),
    _bound("0.01 psi", "10,000 psi", "a gauge and a residual, where they are not nothing"),
    _bound("0.0001 L/psi", "100 L/psi", "the factor of a cylinder"),
    _bound("0.01 mL/kg/%", "100 mL/kg/%", "a formula for burns"),
)


def within_bounds(name: str, amount: Quantity) -> Quantity:
    """An amount of a field, where it can be one at all; what has no bounds, and nothing, is left to
    the field.

    Raises `ProblemError` naming the field, what came in and what would be accepted.
    """
    timed = [each for each in amount.per if family_of(each) == TIME]
    meant = _in_whatever_time(kilograms(amount) if amount.unit == "lb" else amount)
    bound = _bounds().get(meant.kind)
    if bound is None or not amount.amount:
        return amount
    if meant.ratio_to(bound.least) < 1 or meant.ratio_to(bound.most) > 1:
        ends = (Quantity(e.amount, "/".join((e.unit, *timed))) for e in (bound.least, bound.most))
        raise ProblemError(f"{name}: {amount} came in; {' to '.join(map(str, ends))} is accepted.")
    return amount


@lru_cache(maxsize=1)
def _bounds() -> dict[tuple[str, ...], Bound]:
    return {each.least.kind: each for each in BOUNDS}


def _in_whatever_time(amount: Quantity) -> Quantity:
    """What runs in, without the time that it takes."""
    counted, *per = amount.unit.split("/")
    return Quantity(amount.amount, "/".join((counted, *(e for e in per if family_of(e) != TIME))))
