"""Whom a rule is worked out for, and whether it is for them."""

from dataclasses import dataclass
from fractions import Fraction

from drills.engine.ages import MONTHS, Age
from drills.engine.dosing.results import ProblemError
from drills.engine.estimates import estimate_weight, weight_formulas
from drills.engine.medicines import Bounds, MedicineRule
from drills.engine.quantities import Quantity, half_up, kilograms, plain
from drills.engine.weights import weight_at

# Whose doses are not rounded up where a service never does so for a child: ours, no source.
CHILD_BELOW_Y = 18
# A weight that one in a thousand of an age is below, or above, is asked back: ours, no source.
RARE = 0.001
JUST_NOW = Quantity(Fraction(0), "h")


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """Whom it is for: the age, and a weight as it was told or a published `formula` for one.

    `area` in percent and `since_injury` are of a burn.
    """

    age: Age
    weight: Quantity | None = None
    formula: str = ""
    area: Quantity | None = None
    since_injury: Quantity = JUST_NOW

    @property
    def is_child(self) -> bool:
        """Whether the service's rule for the doses of children is meant."""
        return self.age.years < CHILD_BELOW_Y


@dataclass(frozen=True, slots=True)
class Weighed:
    """A weight as it was told or estimated, in kg as well, and the line that says by what.

    `notice` asks for another look at a weight that hardly anybody of the age has.
    """

    told: Quantity
    kg: Quantity
    steps: tuple[str, ...] = ()
    notice: str = ""


def weigh(patient: Patient, rule: MedicineRule, *, exactly: bool) -> Weighed | None:
    """The weight of a patient; None where there is none and none is needed.

    Raises `ProblemError` where it is needed and missing, or the rule is for other ages or weights;
    `NotThereError` where a formula has no weight for the age.
    """
    found = _weighed(patient, exactly=exactly)
    total = rule.max_total
    is_most_by_weight = total is not None and "kg" in total.per
    if found is None and (rule.is_by_weight or is_most_by_weight):
        names = ", ".join(weight_formulas(patient.age)) or "none is for this age"
        why = "" if rule.is_by_weight else f"the most in all, {total}, goes by it; "
        raise ProblemError(
            f"weight: it is missing; {why}it is told in kg or lb, or by a formula: {names}."
        )
    _refuse_outside("age", Fraction(patient.age.months, MONTHS), rule.ages, "years")
    if found is not None:
        _refuse_outside("weight", found.kg.amount, rule.weights, "kg")
    return found


def _weighed(patient: Patient, *, exactly: bool) -> Weighed | None:
    told = patient.weight
    if told is not None:
        if not told.amount:
            raise ProblemError(f"weight: {told} came in; it is more than nothing.")
        kg = kilograms(told, exactly=exactly)
        return Weighed(told, kg, notice=_doubt(patient.age, told, kg))
    if not patient.formula:
        return None
    found = estimate_weight(patient.formula, patient.age)
    kg = Quantity(found.kg, "kg")
    line = f"Weight by {found.by.formula} at {patient.age}: {found.by.written} = {kg}"
    return Weighed(kg, kg, (line,))


def _doubt(age: Age, told: Quantity, kg: Quantity) -> str:
    """Why a weight is looked at again, by published weights of the age; empty where it is usual."""
    years = age.months / MONTHS
    low = min(weight_at(RARE, years, is_female=each) for each in (False, True))
    # Told in years, an age may be a year more.
    high = max(weight_at(1 - RARE, years + 1, is_female=each) for each in (False, True))
    if low <= kg.amount <= high:
        return ""
    ends = (
        plain(half_up(Fraction(each), Fraction(1, 10 if each < 10 else 1))) for each in (low, high)
    )
    about = Quantity(half_up(kg.amount, Fraction(1, 10)), "kg")
    in_kg = f"{told}, which is {about}," if told != kg else f"{told}"
    return (
        f"Check the weight and its unit: {in_kg} came in, and at {age} hardly anybody weighs less "
        f"than {' or more than '.join(ends)} kg."
    )


def _refuse_outside(what: str, value: Fraction, bounds: Bounds, unit: str) -> None:
    start, below = bounds
    if (start is None or value >= start) and (below is None or value < below):
        return
    ends = (("from", start or None), ("under", below))
    said = " to ".join(f"{word} {plain(each)}" for word, each in ends if each is not None)
    raise ProblemError(
        f"{what}: {plain(value)} {unit} came in; the rule is for {what}s {said} {unit}."
    )
