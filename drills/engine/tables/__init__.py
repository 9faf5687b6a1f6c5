"""Published figures that the engine uses, each row with its source and its status.

`reading` reads the files beside it into the rows of `kinds`; here they are, with the look-ups that
are no more than a look-up. What is asked for and is not there is a `NotThereError`, a number that
cannot be is an `OutsideError`.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import TypeVar

from drills.engine.ages import Age
from drills.engine.quantities import plain
from drills.engine.tables.kinds import (
    Banded,
    BurnFormula,
    BurnPart,
    ComaPatient,
    ComaStep,
    Cylinder,
    DripSet,
    Energy,
    InjectionSite,
    LeastPressure,
    Palm,
    Residual,
    ShockBand,
    StartRate,
    Systolic,
    TubeByAge,
    TubeByWeight,
    VitalSign,
    WeightFormula,
)
from drills.engine.tables.reading import read

CYLINDERS = read("cylinders", Cylinder)
RESIDUALS = read("residuals", Residual)
LEAST_PRESSURES = read("least_pressures", LeastPressure)
DRIP_SETS = read("drip_sets", DripSet)
WEIGHT_FORMULAS = read("weight_formulas", WeightFormula)
SYSTOLIC = read("systolic", Systolic)
VITAL_SIGNS = read("vital_signs", VitalSign)
TUBES_BY_AGE = read("tubes_by_age", TubeByAge)
TUBES_BY_WEIGHT = read("tubes_by_weight", TubeByWeight)
ENERGIES = read("energies", Energy)
COMA_SCALES = read("gcs", ComaStep)
COMA_PATIENTS = read("gcs_patients", ComaPatient)
SHOCK_BANDS = read("shock_bands", ShockBand)
BURN_PARTS = read("burn_parts", BurnPart)
BURN_FORMULAS = read("burn_formulas", BurnFormula)
START_RATES = read("start_rates", StartRate)
INJECTION_SITES = read("injection_sites", InjectionSite)
(PALM,) = read("palm", Palm)

US_LETTERS = "US letters"
USUAL_RESIDUAL = "usual"

Band = TypeVar("Band", bound=Banded)


class NotThereError(ValueError):
    """Something asked of a table that is not in it; the text names it and what there is."""


class OutsideError(ValueError):
    """A number outside what is accepted; the text names it and the limits."""


def over_zero(what: str, amount: Fraction, unit: str, most: int) -> Fraction:
    """The amount itself, if it is over 0 and at most that; `OutsideError` otherwise.

    The limits are beyond anything that lives: they catch a wrong unit and a slip of the hand.
    """
    if not 0 < amount <= most:
        limit = plain(Fraction(most))
        raise OutsideError(
            f"A {what} of {plain(amount)} {unit}; accepted is over 0 to {limit} {unit}."
        )
    return amount


def one_of(what: str, asked: str, there: Iterable[str]) -> str:
    """The name asked for, if it is there, whatever its capitals; `NotThereError` otherwise."""
    names = list(dict.fromkeys(there))
    for name in names:
        if name.casefold() == asked.strip().casefold():
            return name
    # A name may hold a comma itself.
    apart = "; " if any("," in name for name in names) else ", "
    raise NotThereError(f"{asked!r} is no {what}; accepted is {apart.join(names)}.")


def at_age(what: str, age: Age, rows: Iterable[Band]) -> Band:
    """The row whose band holds an age; `NotThereError` names the ages that have one."""
    bands = list(rows)
    for row in bands:
        end = row.below_months
        if row.from_months <= age.months and (end is None or age.months < end):
            return row
    ends = [row.below_months for row in bands if row.below_months is not None]
    first = Age(min(row.from_months for row in bands))
    span = f"from {first}" + (f" to below {Age(max(ends))}" if len(ends) == len(bands) else "")
    raise NotThereError(f"{what} has nothing for {age}; it is for ages {span}.")


def cylinder(letter: str, among: str = US_LETTERS) -> Cylinder:
    """A size of cylinder by its letter and the list that the letter is of.

    A letter alone is read in the US list: the same letter is another size elsewhere.
    """
    chosen = one_of("list of cylinders", among, (row.list for row in CYLINDERS))
    rows = {row.letter: row for row in CYLINDERS if row.list == chosen}
    return rows[one_of(f"cylinder among {chosen}", letter, rows)]


def cylinder_by_key(key: str) -> Cylinder:
    """A size of cylinder by its key, such as `us-d`, which names its list too."""
    rows = {row.key: row for row in CYLINDERS}
    return rows[one_of("cylinder", key, rows)]


def residual(key: str = USUAL_RESIDUAL) -> Residual:
    """The pressure at which a cylinder counts as empty, by its name in the table."""
    rows = {row.key: row for row in RESIDUALS}
    return rows[one_of("residual pressure", key, rows)]


def drip_set(key: str) -> DripSet:
    """A giving set by its drops for each mL, such as `60`."""
    rows = {row.key: row for row in DRIP_SETS}
    return rows[one_of("drip set", key, rows)]


def energy(use: str, step: str) -> Energy:
    """The energy of a step (first, second, later) of defibrillation or cardioversion."""
    chosen = one_of("use of a shock", use, (row.use for row in ENERGIES))
    rows = {row.step: row for row in ENERGIES if row.use == chosen}
    return rows[one_of(f"step of {chosen}", step, rows)]
