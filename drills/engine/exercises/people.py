"""Whom an exercise is about: ages and weights that go together, and on paper."""

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from random import Random

from drills.engine.ages import MONTHS, Age
from drills.engine.calls import Patient
from drills.engine.chance import drawn_evenly
from drills.engine.exercises.exercise import Told
from drills.engine.medicines import MedicineRule
from drills.engine.quantities import KG_PER_POUND, exact_text, kilograms, plain, read_quantity
from drills.engine.weights import LB_IN_KG, draw_weight, weight_words

HALF, FULL = Fraction("5.5"), Fraction(11)  # lb that are 2.5 and 5 kg
# How far from another one a weight is told: ours, no source.
_WITHIN = Fraction(1, 4)
OLDEST_Y = 80


def age_drawn(random: Random, years: Sequence[int]) -> Age:
    """An age in whole years out of some."""
    return Age.of_years(drawn_evenly(years, random))


def weight_for(age: Age, random: Random, *, pounds: bool) -> str:
    """A weight as it is told that a person of an age may have: whole kg, or pounds that come out.

    From 50 kg on kg are told in steps of 5. Pounds are told in steps of 5.5, from 20 kg on of 11.
    """
    drawn = draw_weight(age.months / MONTHS, is_female=random.random() < 0.5, random=random)
    kg = Fraction(max(round(drawn), 1))
    step, as_told = (_pounds_step(kg), kg * LB_IN_KG) if pounds else (_kg_step(kg), kg)
    return f"{plain(max(round(as_told / step), 1) * step)} {'lb' if pounds else 'kg'}"


def weight_near(kg: Fraction, random: Random, *, pounds: bool) -> str:
    """A weight as it is told, near another one."""
    return drawn_evenly(weights_near(kg, pounds=pounds), random)


@lru_cache(maxsize=512)
def weights_near(kg: Fraction, *, pounds: bool) -> tuple[str, ...]:
    """Every weight that is told near another one."""
    low, high = kg * (1 - _WITHIN), kg * (1 + _WITHIN)
    if pounds:
        step = _pounds_step(kg)
        steps = [step * n for n in range(1, 40) if low <= step * n / LB_IN_KG <= high]
        return tuple(f"{plain(each)} lb" for each in steps or [step])
    step = _kg_step(kg)
    kgs = [step * n for n in range(1, 60) if low <= step * n <= high]
    return tuple(f"{plain(each)} kg" for each in kgs or [kg])


def _pounds_step(kg: Fraction) -> Fraction:
    return FULL if kg >= 20 else HALF


def _kg_step(kg: Fraction) -> Fraction:
    return Fraction(5) if kg >= 50 else Fraction(1)


def weight_in(patient: Patient, *, pounds: bool) -> str:
    """What a patient of a call weighs, as it is told in kg or in lb: the same whoever asks."""
    return weight_words(kg_of(patient), pounds=pounds)


def is_in_pounds(patient: Patient | None, random: Random) -> bool:
    """Whether a weight is told in lb where the question takes either: as it was told of the patient
    of a call, else half of the time."""
    return patient.weight.endswith("lb") if patient else random.random() < 0.5


def weight_of(rule: MedicineRule, patient: Patient | None, random: Random, *, pounds: bool) -> str:
    """The weight of the patient, else of somebody whom a rule is for."""
    if patient is not None:
        return weight_in(patient, pounds=pounds)
    from_y, below_y = rule.ages
    before = min(int(below_y or OLDEST_Y), OLDEST_Y)
    # The newborn get little of what a child gets: they are drawn where a minimum may be met.
    youngest = int(from_y or 0) if rule.rule.minimum or before <= 1 else max(int(from_y or 0), 1)
    years = range(youngest, before)
    return weight_for(age_drawn(random, years), random, pounds=pounds)


def is_for(rule: MedicineRule, age: Age, weight: str = "", *, exactly: bool = False) -> bool:
    """Whether a rule is for somebody of an age, and of a weight as it was told."""
    from_y, below_y = rule.ages
    years = Fraction(age.months, MONTHS)
    is_of_age = (from_y is None or years >= from_y) and (below_y is None or years < below_y)
    return is_of_age and (not weight or is_weight_for(rule, weight, exactly=exactly))


def bounds_told(rule: MedicineRule) -> str:
    """Whom a rule is for, such as `from 6 to below 14 years, below 40 kg`; empty for everybody."""
    bounds = ((rule.ages, "years"), (rule.weights, "kg"))
    return ", ".join(filter(None, (_bounds(low, below, unit) for (low, below), unit in bounds)))


def _bounds(low: Fraction | None, below: Fraction | None, unit: str) -> str:
    start = f"from {plain(low)}" if low else ""
    end = f"below {plain(below)}" if below is not None else ""
    words = " to ".join(filter(None, (start, end)))
    return f"{words} {unit}" if words else ""


def is_weight_for(rule: MedicineRule, weight: str, *, exactly: bool = False) -> bool:
    """Whether a rule is for somebody of a weight as it was told."""
    kg = kilograms(read_quantity(weight), exactly=exactly).amount
    low, below = rule.weights
    return (low is None or kg >= low) and (below is None or kg < below)


def told_weight(weight: str, pounds: str) -> Told:
    """A weight as it is told, and beside it how many kg a pound is where it is taken exactly."""
    note = f"1 lb = {exact_text(KG_PER_POUND)} kg" if pounds else ""
    return Told("Weight as told", weight, note)


def kg_of(patient: Patient) -> Fraction:
    """What a patient of a call weighs."""
    return kilograms(read_quantity(patient.weight)).amount


def age_of(patient: Patient) -> Age:
    """The age of a patient of a call."""
    return Age(round(patient.age_y * MONTHS))


def told_age(age: Age) -> str:
    """An age as it is told before a noun: `6-year-old`, `7-month-old`."""
    count, word = (age.months, "month") if age.months < 2 * MONTHS else (age.years, "year")
    return f"{count}-{word}-old"
