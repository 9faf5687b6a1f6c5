"""Dose arithmetic: from a rule, a weight and what is aboard to a volume, and the judgement of one.

The order is that of the printed tables: weight, dose for the weight, maximum, minimum, volume,
and one rounding at the end, to the marks of the device. Sources stand beside each figure.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.devices import BAG, Device, fitting
from drills.engine.quantities import (
    VOLUME,
    Quantity,
    QuantityError,
    half_up,
    kilograms,
    plain,
    read_quantity,
    round_down,
)

FIXED, PER_KG = "fixed", "per kg"
BASES = (FIXED, PER_KG)
RIGHT, OUT_OF_TOLERANCE, UNSAFE = "right", "out of tolerance", "unsafe"
MAXIMUM, MINIMUM = "maximum", "minimum"
LB, KG = "lb", "kg"

# The published definition of a dosing error: 20 % or more from what was meant.
UNSAFE_FROM = Fraction(1, 5)
# Ours, no source: what the marks miss by a tenth or more is too small to be drawn up undiluted.
MEASURABLE_WITHIN = Fraction(1, 10)
# Ours, no source: a slip explains an answer that is within 5 % of what the slip gives.
SLIP_WITHIN = Fraction(1, 20)


@dataclass(frozen=True, slots=True)
class Weight:
    """A body weight as it was told, in lb or kg."""

    amount: Fraction
    unit: str

    @property
    def kg(self) -> Fraction:
        return kilograms(self.amount) if self.unit == LB else self.amount

    def __str__(self) -> str:
        return f"{plain(self.amount)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Presentation:
    """How a medicine is packed: an amount dissolved in a volume."""

    amount: Quantity
    volume: Quantity

    def volume_of(self, dose: Quantity) -> Quantity:
        """The volume that holds a dose; `QuantityError` when the two cannot be compared."""
        return self.volume.to("mL").times(dose.ratio_to(self.amount))

    def amount_in(self, volume: Quantity) -> Quantity:
        return self.amount.times(volume.ratio_to(self.volume))

    def __str__(self) -> str:
        return f"{self.amount} / {self.volume}"


@dataclass(frozen=True, slots=True)
class DoseRule:
    """A dose as a rule states it; `dose` and `dose_high` are of one kilogram when `per kg`.

    `dose_high` is set where the rule gives a range; anywhere inside it is right.
    """

    basis: str
    dose: Quantity
    dose_high: Quantity | None = None
    minimum: Quantity | None = None
    maximum: Quantity | None = None

    def for_weight(self, kg: Fraction) -> "Dose":
        """The dose for a weight within the rule's limits, and which limit applied."""
        low, limit = self._limited(self.dose, kg)
        high, limit_high = self._limited(self.dose_high, kg) if self.dose_high else (low, limit)
        return Dose(low, high, limit, limit_high)

    def _limited(self, dose: Quantity, kg: Fraction) -> tuple[Quantity, str]:
        meant = dose.times(kg) if self.basis == PER_KG else dose
        if self.maximum and meant.ratio_to(self.maximum) > 1:
            return self.maximum, MAXIMUM
        if self.minimum and meant.ratio_to(self.minimum) < 1:
            return self.minimum, MINIMUM
        return meant, ""


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose from `low` to `high`, the same where there is no range, and the limit each met."""

    low: Quantity
    high: Quantity
    limit: str = ""
    limit_high: str = ""


@dataclass(frozen=True, slots=True)
class DoseProblem:
    """Everything a dose prompt asks: the rule, who for, what is aboard, and what to draw with."""

    rule: DoseRule
    weight: Weight
    presentation: Presentation
    devices: tuple[Device, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """The exact volume from `low` to `high` in mL, the device, and what it is set to.

    `drawn` is the mark nearest to the dose and, in a range, the first inside it; `drawn_high` is
    the last inside, the same where there is no range. `ceiling` is the volume of the rule's
    maximum, never to be passed. `steps` are the lines of the working, one for each figure found.
    """

    dose: Dose
    low: Fraction
    high: Fraction
    ceiling: Fraction | None
    device: Device
    drawn: Fraction
    drawn_high: Fraction
    steps: tuple[str, ...]

    @property
    def is_measurable(self) -> bool:
        """Whether the marks of the device come near enough to the dose to ask for it.

        Not where a single mark is past the maximum: then nothing can be drawn.
        """
        nearest = self.nearest_to(self.drawn)
        return abs(self.drawn - nearest) < MEASURABLE_WITHIN * nearest

    @property
    def answer(self) -> str:
        """What is drawn up, in words; anywhere inside a range."""
        drawn = f"{plain(self.drawn)} mL"
        is_range = self.drawn_high > self.drawn
        return f"{drawn}, up to {plain(self.drawn_high)} mL" if is_range else drawn

    def nearest_to(self, given: Fraction) -> Fraction:
        """The right volume that a volume in mL is nearest to."""
        return min(max(given, self.low), self.high)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The outcome of an answer, how far it is from right as a share, and the slip that made it."""

    outcome: str
    off_by: Fraction
    slip: str = ""
    past_maximum: bool = False


def solve(problem: DoseProblem) -> Solution:
    """Work a dose out, each figure exact until the last."""
    dose = problem.rule.for_weight(problem.weight.kg)
    low, high = (problem.presentation.volume_of(each).amount for each in (dose.low, dose.high))
    maximum = problem.rule.maximum
    ceiling = problem.presentation.volume_of(maximum).amount if maximum else None
    device = device_for(low, problem)
    drawn = _first_mark(low, high, device)
    if ceiling is not None and drawn > ceiling:
        # Rounding never takes a dose past its maximum.
        drawn = round_down(ceiling, device.marks)
    return Solution(
        dose=dose,
        low=low,
        high=high,
        ceiling=ceiling,
        device=device,
        drawn=drawn,
        drawn_high=max(round_down(high, device_for(high, problem).marks), drawn),
        steps=tuple(_steps(problem, dose, low, high, drawn)),
    )


def _first_mark(low: Fraction, high: Fraction, device: Device) -> Fraction:
    """The first mark inside a range, else the one nearest to the dose; never none at all."""
    inside = -round_down(-low, device.marks)
    if low < high and inside <= high:
        return inside
    return half_up(low, device.marks) or device.marks


def device_for(volume: Fraction, problem: DoseProblem) -> Device:
    """What a volume in mL is drawn up with, of what is aboard."""
    return fitting(volume, problem.devices, packed=problem.presentation.volume.to("mL").amount)


def judge(problem: DoseProblem, answered: Quantity) -> Judgement:
    """Judge an answer against the exact value.

    Past the maximum it is unsafe at any size, and so it is 20 % or more from the nearest right
    dose. Within half a mark of the device, or anywhere inside a range, it is right, and so is
    what the device is set to. An amount in the place of a volume is a right dose badly told at
    best: out of tolerance.
    """
    solution = solve(problem)
    is_volume = answered.family == VOLUME
    given = volume_said(problem, answered)
    nearest = solution.nearest_to(given.amount)
    off_by = (given.amount - nearest) / nearest
    past = solution.ceiling is not None and given.amount > solution.ceiling
    if past or abs(off_by) >= UNSAFE_FROM:
        outcome = UNSAFE
    elif is_volume and _is_measured(problem, solution, given.amount, nearest):
        outcome = RIGHT
    else:
        outcome = OUT_OF_TOLERANCE
    slip = "" if outcome == RIGHT else _slip(problem, solution, answered, given.amount)
    return Judgement(outcome, off_by, slip, past)


def _is_measured(
    problem: DoseProblem, solution: Solution, given: Fraction, nearest: Fraction
) -> bool:
    """Whether a volume is as near to the right one as the marks of its device let it be."""
    marks = device_for(nearest, problem).marks
    return given == solution.drawn or abs(given - nearest) <= marks / 2


def volume_said(problem: DoseProblem, answered: Quantity) -> Quantity:
    """What an answer comes to in mL; `QuantityError` for an amount of something else."""
    if answered.family == VOLUME:
        return answered.to("mL")
    return problem.presentation.volume_of(answered)


TENFOLD_OVER = "ten times the dose: a decimal point moved right"
TENFOLD_UNDER = "a tenth of the dose: a decimal point moved left"
THOUSANDFOLD = "a thousandfold: mcg and mg taken for each other"
POUNDS = "pounds used as kilograms"
HALVED_WRONGLY = "kilograms divided by 2.2 as if they were pounds"
NO_MAXIMUM = "the maximum was forgotten"
AMOUNT = "the amount of the medicine, not the volume to draw up"
AMOUNT_AS_VOLUME = "the number of the dose, taken for millilitres"


def _slip(problem: DoseProblem, solution: Solution, answered: Quantity, given: Fraction) -> str:
    """The slip that explains an answer, when exactly one does."""
    if answered.family != VOLUME:
        inside = solution.low <= given <= solution.high
        return AMOUNT if inside or _close(given, solution.low) else ""
    made = {name: value for name, value in _slips(problem, solution) if _close(given, value)}
    return next(iter(made)) if len(made) == 1 else ""


def _slips(problem: DoseProblem, solution: Solution) -> Iterable[tuple[str, Fraction]]:
    """What each slip would have given, in mL; those that change nothing are left out."""
    rule, kg, aboard = problem.rule, problem.weight.kg, problem.presentation
    yield TENFOLD_OVER, solution.low * 10
    yield TENFOLD_UNDER, solution.low / 10
    yield THOUSANDFOLD, solution.low * 1_000
    yield THOUSANDFOLD, solution.low / 1_000
    dose = solution.dose.low
    if not _close(dose.amount, solution.low):
        yield AMOUNT_AS_VOLUME, dose.amount
    if rule.basis != PER_KG:
        return
    told = problem.weight
    wrong_kg = told.amount if told.unit == LB else kilograms(told.amount)
    other = aboard.volume_of(rule.for_weight(wrong_kg).low).amount
    if not _close(other, solution.low):
        yield (POUNDS if told.unit == LB else HALVED_WRONGLY), other
    if solution.dose.limit_high == MAXIMUM:
        most = rule.dose_high or rule.dose
        yield NO_MAXIMUM, aboard.volume_of(most.times(kg)).amount


def _close(given: Fraction, value: Fraction) -> bool:
    return abs(given - value) <= SLIP_WITHIN * value


HAND_OVER = "hand it over"
DOSE_UNITS = ("mL", "mg", "mcg", "g", "mEq", "units")


def read_answer(text: str) -> Quantity:
    """Read what a person wrote, such as `.5 mL` or `1. mL`; how it was written is judged apart.

    Raises `QuantityError` for a number without a figure and a unit that is none of `DOSE_UNITS`.
    """
    number, _, unit = text.partition(" ")
    whole, _, part = number.partition(".")
    if not (whole or part) or unit not in DOSE_UNITS:
        raise QuantityError(f"{text!r} is no dose; one is a number and {', '.join(DOSE_UNITS)}.")
    return read_quantity(f"{whole or 0}.{part or 0} {unit}")


def written_badly(text: str) -> tuple[str, ...]:
    """What is unsafe in how a number was written; the published do-not-use list of the trade."""
    found = []
    whole, point, part = text.strip().partition(".")
    if point and not whole:
        found.append("no zero before the point: write 0.5, never .5")
    if point and (not part or part.endswith("0")):
        found.append("a zero that ends the number: write 1, never 1.0")
    return tuple(found)


def _steps(
    problem: DoseProblem, dose: Dose, low: Fraction, high: Fraction, drawn: Fraction
) -> Iterable[str]:
    """The working in lines, each with its figures."""
    yield from _dose_steps(problem.rule, problem.weight, dose)
    aboard = problem.presentation
    given, volume = _span(dose.low, dose.high), _span(Quantity(low, "mL"), Quantity(high, "mL"))
    yield f"{given} / {aboard.amount} x {aboard.volume} = {volume}"
    if low == high:
        device = device_for(low, problem)
        held = "bag" if device == BAG else f"{plain(device.holds)} mL syringe"
        yield f"By the marks of the {held}, {plain(device.marks)} mL apart: {plain(drawn)} mL"


def _dose_steps(rule: DoseRule, weight: Weight, dose: Dose) -> Iterable[str]:
    if rule.basis != PER_KG:
        yield f"Fixed dose: {_span(rule.dose, rule.dose_high)}"
        if rule.maximum:
            yield f"The maximum is {rule.maximum}"
        return
    kg = weight.kg
    if weight.unit == LB:
        yield f"{weight} / 2.2 = {plain(kg)} kg"
    meant = _span(rule.dose.times(kg), rule.dose_high.times(kg) if rule.dose_high else None)
    yield f"{_span(rule.dose, rule.dose_high)} for each kg, {plain(kg)} kg: {meant}"
    yield from _limit_steps(rule, dose)


def _limit_steps(rule: DoseRule, dose: Dose) -> Iterable[str]:
    """The limits that a dose met; of a range either end may meet one."""
    limits = {MAXIMUM: rule.maximum, MINIMUM: rule.minimum}
    if dose.limit and dose.limit == dose.limit_high:
        yield f"The {dose.limit} is {limits[dose.limit]}: give {limits[dose.limit]}"
    elif dose.limit:
        yield f"The minimum is {rule.minimum}: give no less"
    elif dose.limit_high:
        yield f"The maximum is {rule.maximum}: give no more"


def _span(low: Quantity, high: Quantity | None) -> str:
    return str(low) if high is None or high == low else f"{low} to {high}"


def read_dose_rule(
    basis: str, dose: str, *, high: str = "", minimum: str = "", maximum: str = ""
) -> DoseRule:
    """Make a rule from its printed texts; a dose `per kg` is given without its `/kg`."""
    return DoseRule(
        basis,
        read_quantity(dose),
        *(read_quantity(each) if each else None for each in (high, minimum, maximum)),
    )


def read_presentation(text: str) -> Presentation:
    """Read `10 mg / 2 mL`; raises `QuantityError` for what has no volume, such as a tablet."""
    amount, _, volume = text.partition(" / ")
    return Presentation(read_quantity(amount), read_quantity(volume))
