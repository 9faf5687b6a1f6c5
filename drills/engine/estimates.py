"""What is estimated of a child from age or weight, each by a named published formula.

A weight that was measured, or read from the length, is better than any of these.
"""

from dataclasses import dataclass
from fractions import Fraction

from drills.engine.ages import Age
from drills.engine.quantities import plain, round_down
from drills.engine.tables import (
    TUBES_BY_AGE,
    TUBES_BY_WEIGHT,
    WEIGHT_FORMULAS,
    NotThereError,
    OutsideError,
    at_age,
    one_of,
    over_zero,
)
from drills.engine.tables.kinds import Sourced, WeightFormula

UNCUFFED, CUFFED = "uncuffed", "cuffed"
HEAVIEST = 500  # kg

_HALF_SIZE = Fraction(1, 2)
_NAMES = tuple(dict.fromkeys(row.formula for row in WEIGHT_FORMULAS))


@dataclass(frozen=True, slots=True)
class WeightEstimate:
    """A weight in kg, exact, with the line of the formula that gave it."""

    kg: Fraction
    by: WeightFormula


@dataclass(frozen=True, slots=True)
class TubeSize:
    """An inner width in mm, exact, and the two sizes in half mm between which it lies.

    They are one size where the width is one. Which is taken between two is the crew's: ours.
    """

    exact: Fraction
    smaller: Fraction
    larger: Fraction
    by: Sourced


def weight_formulas(age: Age | None = None) -> tuple[str, ...]:
    """The names of the formulas, or of those that have a weight for an age."""
    return tuple(name for name in _NAMES if age is None or _has(name, age))


def estimate_weight(formula: str, age: Age) -> WeightEstimate:
    """The weight by a formula, from completed years (below one year by some, months).

    `NotThereError` for a name that is no formula and for an age that it is not for. By bands the
    weight steps: 18 kg at 5 years, 25 kg at 6. No formula is smoothed.
    """
    row = formula_at(formula, age)
    count = age.months if row.unit == "months" else age.years
    return WeightEstimate(row.times * count + row.plus, row)


def formula_at(formula: str, age: Age) -> WeightFormula:
    """The line of a formula for an age, such as 3 × age + 7; `NotThereError` as above."""
    name = one_of("weight formula", formula, _NAMES)
    return at_age(f"The formula {name}", age, (r for r in WEIGHT_FORMULAS if r.formula == name))


def tube_by_age(age: Age, cuff: str) -> TubeSize:
    """The tube for an age in completed years, cuffed or uncuffed; `NotThereError` from 13 years."""
    chosen = one_of("kind of tube", cuff, (UNCUFFED, CUFFED))
    row = at_age("Tube size", age, (row for row in TUBES_BY_AGE if row.cuff == chosen))
    return _size(row.mm + row.per_year * age.years, row)


def tube_by_weight(kg: Fraction, cuff: str) -> TubeSize:
    """The tube for a weight in kg; `OutsideError` below 6 kg and from 24 kg on."""
    chosen = one_of("kind of tube", cuff, (UNCUFFED, CUFFED))
    over_zero("weight", kg, "kg", HEAVIEST)
    rows = [row for row in TUBES_BY_WEIGHT if row.cuff == chosen]
    for row in rows:
        if row.from_kg <= kg < row.below_kg:
            return _size(row.mm, row)
    span = f"{plain(rows[0].from_kg)} to below {plain(rows[-1].below_kg)} kg"
    raise OutsideError(f"No tube by weight for {plain(kg)} kg; accepted is {span}.")


def _has(formula: str, age: Age) -> bool:
    try:
        formula_at(formula, age)
    except NotThereError:
        return False
    return True


def _size(exact: Fraction, row: Sourced) -> TubeSize:
    smaller = round_down(exact, _HALF_SIZE)
    return TubeSize(exact, smaller, smaller if smaller == exact else smaller + _HALF_SIZE, row)
