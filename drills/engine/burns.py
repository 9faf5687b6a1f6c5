"""Burned area by region and age, and the published formulas for fluid.

Area is in percent of the body surface; burns of the second and third degree alone count. A chart
is looked up by the band of an age and never interpolated.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from drills.engine.ages import Age
from drills.engine.quantities import plain
from drills.engine.tables import (
    BURN_FORMULAS,
    BURN_PARTS,
    PALM,
    START_RATES,
    OutsideError,
    at_age,
    one_of,
    over_zero,
)
from drills.engine.tables.kinds import BurnFormula, BurnPart, Sourced, StartRate
from drills.engine.tables.reading import read_file

RULE_OF_NINES, AGE_CHART = "rule of nines", "age-banded chart"
THERMAL, ELECTRICAL = "thermal or chemical", "high-voltage electrical"
ABLS = "ABLS 2010"
HEAVIEST = 500  # kg


@dataclass(frozen=True, slots=True, kw_only=True)
class Burned(Sourced):
    """What is burned, whole, of somebody with a problem by what is found: regions of the rule of
    nines."""

    problem: str
    findings: str
    regions: str


BURNED = read_file(Path(__file__).with_name("burned.csv"), Burned)
_BURNED = {(row.problem, row.findings): tuple(row.regions.split(";")) for row in BURNED}


def burned_of(problem: str, findings: str) -> tuple[str, ...]:
    """The regions of the rule of nines that are burned of somebody; none where nobody wrote which,
    as of a hand, and of findings that a service has put in words of its own."""
    return _BURNED.get((problem, findings), ())


def charts() -> tuple[str, ...]:
    """The names of the charts."""
    return tuple(dict.fromkeys(row.chart for row in BURN_PARTS))


def parts(chart: str, age: Age) -> tuple[BurnPart, ...]:
    """The rows of a chart that hold at an age, one for each part of the body.

    `NotThereError` for a chart that is not there.
    """
    name = one_of("burn chart", chart, charts())
    rows = [row for row in BURN_PARTS if row.chart == name]
    return tuple(
        at_age(f"{name}, {part}", age, (row for row in rows if row.part == part))
        for part in dict.fromkeys(row.part for row in rows)
    )


def band(chart: str, age: Age) -> str:
    """The band of a chart that an age is in, in words; `NotThereError` as above."""
    return parts(chart, age)[0].word


def regions(chart: str, age: Age) -> dict[str, Fraction]:
    """Each region of the body with its percent; together they are 100 at every age.

    A region is such as `head`, `left arm`, `front of the trunk`, `back of the right thigh`.
    """
    over_one = max(age.years - 1, 0)
    return {
        name: row.percent + row.per_year * over_one
        for row in parts(chart, age)
        for name in _region_names(row)
    }


def burned_area(chart: str, age: Age, burned: Mapping[str, Fraction]) -> Fraction:
    """The burned percent of the body from how much of each region is burned, over 0 to 1.

    `NotThereError` for a region that the chart does not have, `OutsideError` for a share that is
    none or for nothing burned at all.
    """
    if not burned:
        raise OutsideError("No region is burned; accepted is at least one, each with its share.")
    there = regions(chart, age)
    area = Fraction(0)
    for region, share in burned.items():
        if not 0 < share <= 1:
            raise OutsideError(f"{plain(share)} of {region}; accepted is over 0 to 1.")
        area += there[one_of(f"region of the {chart}", region, there)] * share
    return area


def palms_area(palms: Fraction) -> Fraction:
    """The percent that so many of the patient's own palms with the fingers cover."""
    return over_zero("number", palms, "palms", 100) * PALM.percent


def formula_sets() -> tuple[str, ...]:
    """The names of the sets of formulas, the first being the one we use unless told."""
    return tuple(dict.fromkeys(row.set for row in BURN_FORMULAS))


def burn_formula(kind: str, age: Age, kg: Fraction, of: str = ABLS) -> BurnFormula:
    """The mL for each kg and percent in the first 24 hours, by kind of burn and patient.

    A child is 14 years and under and under 40 kg: both, as the published limits are read (ours).
    `NotThereError` for a set, or a kind that the set does not have; `OutsideError` for the weight.
    """
    name = one_of("set of burn formulas", of, formula_sets())
    rows = [row for row in BURN_FORMULAS if row.set == name]
    chosen = one_of(f"kind of burn in {name}", kind, (row.kind for row in rows))
    over_zero("weight", kg, "kg", HEAVIEST)
    return next(row for row in rows if row.kind == chosen and _is_for(row, age, kg))


def start_rate(age: Age) -> StartRate:
    """The fluid in mL/h before the area is known. Here 14 years is an adult."""
    return at_age("Starting rate", age, START_RATES)


def _is_for(row: BurnFormula, age: Age, kg: Fraction) -> bool:
    is_young = row.below_months is None or age.months < row.below_months
    return is_young and (row.under_kg is None or kg < row.under_kg)


def _region_names(row: BurnPart) -> Iterator[str]:
    for side in ("left ", "right ") if row.sides else ("",):
        if row.faces:
            yield from (f"{face} of the {side}{row.part}" for face in ("front", "back"))
        else:
            yield side + row.part
