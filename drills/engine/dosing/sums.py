"""Small sums with one answer: a published line for an age, or what is measured put together.

A tube between two sizes may be either, as the table has it; a score and a count are whole.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.burns import start_rate
from drills.engine.dosing.fields import Fields, one_of_field
from drills.engine.dosing.refusing import refused
from drills.engine.dosing.results import (
    UNSAFE_FROM,
    Problem,
    ProblemError,
    Result,
    Solution,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.slips import Made
from drills.engine.estimates import (
    CUFFED,
    UNCUFFED,
    estimate_weight,
    formula_at,
    tube_by_age,
    weight_formulas,
)
from drills.engine.lines import line
from drills.engine.quantities import Quantity, plain
from drills.engine.scores import (
    COMA_PARTS,
    MOST_BEATS,
    MOST_MMHG,
    coma_scales,
    coma_step,
    coma_steps,
    coma_total,
    coma_words,
    least_systolic,
    mean_pressure,
)
from drills.engine.scores import shock_index as index_of
from drills.engine.tables import SYSTOLIC, NotThereError, OutsideError, at_age

SIZE, SYSTOLIC_MMHG, MEAN, INDEX, POINTS = "size", "systolic", "mean", "index", "points"
RATE, KG = "rate", "kg"
_HALF_MM = Quantity(Fraction(1, 2), "mm")
_HUNDREDTH = Quantity(Fraction(1, 100), "index")


@dataclass(frozen=True, slots=True, kw_only=True)
class SumProblem:
    """One figure with the lines of its working; of what is no dose no size is `unsafe_from`."""

    kind: ClassVar[str] = "sum"

    result: Result
    steps: tuple[str, ...]
    unsafe_from: Fraction | None = UNSAFE_FROM

    def solve(self) -> Solution:
        """The figure."""
        return Solution(
            results=results_of(self.result),
            steps=self.steps,
            refusal=refused([self.result], "Measure again: nobody is asked so small a figure."),
        )

    def slips(self, asked: str) -> tuple[Made, ...]:
        """None of its own."""
        return ()

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for it."""
        return None


def _tube(fields: Fields) -> SumProblem:
    """The inner width for an age; of two sizes either is right."""
    age, cuff = fields.age(), fields.choice("cuff", UNCUFFED, CUFFED)
    found = tube_by_age(age, cuff)
    smaller, larger = (Quantity(each, "mm") for each in (found.smaller, found.larger))
    result = set_by(SIZE, smaller, _HALF_MM)
    if larger != smaller:
        result = replace(result, high=larger, step_high=result.step, rounded_high=larger)
    lies = "" if smaller == larger else f": {plain(found.smaller)} or {larger}"
    return SumProblem(result=result, steps=(f"{age}, {cuff}: {plain(found.exact)} mm{lies}",))


def _least_systolic(fields: Fields) -> SumProblem:
    """The pressure below which it is low at an age."""
    age = fields.age()
    least = Quantity(least_systolic(age), "mmHg")
    row = at_age("Least systolic pressure", age, SYSTOLIC)
    by_year = f"{plain(row.mmhg)} + {plain(row.per_year)} x {age.years} = {least}"
    step = by_year if row.per_year else f"{age}: {least}"
    return SumProblem(result=told(SYSTOLIC_MMHG, least), steps=(step,), unsafe_from=None)


def _mean_pressure(fields: Fields) -> SumProblem:
    """One third of the systolic and two of the diastolic."""
    systolic, diastolic = (
        fields.measured(name, "mmHg", MOST_MMHG) for name in ("systolic", "diastolic")
    )
    mean = Quantity(mean_pressure(systolic.amount, diastolic.amount), "mmHg")
    twice = diastolic.times(2)
    both = Quantity(systolic.amount + twice.amount, "mmHg")
    return SumProblem(
        result=set_by(MEAN, mean, Quantity(Fraction(1), "mmHg")),
        steps=(
            f"2 x {diastolic} = {twice}",
            f"{systolic} + {twice} = {both}",
            line(f"{both} / 3", mean, both),
        ),
        unsafe_from=None,
    )


def _shock_index(fields: Fields) -> SumProblem:
    """Heart rate by systolic pressure."""
    beats = fields.measured("pulse", "beats/min", MOST_BEATS)
    systolic = fields.measured("systolic", "mmHg", MOST_MMHG)
    index = Quantity(index_of(beats.amount, systolic.amount), "index")
    return SumProblem(
        result=set_by(INDEX, index, _HUNDREDTH),
        steps=(line(f"{plain(beats.amount)} / {plain(systolic.amount)}", index, beats, systolic),),
        unsafe_from=None,
    )


def _coma_score(fields: Fields) -> SumProblem:
    """The points of a named scale from the words seen."""
    scale = fields.one_of("scale", "coma scale", coma_scales())
    seen = {part: _coma_words(fields, scale, part) for part in COMA_PARTS}
    total = coma_total(scale, seen)
    points = {part: coma_step(scale, part, seen[part]).points for part in COMA_PARTS}
    parts = ", ".join(f"{part} {many}" for part, many in points.items())
    return SumProblem(
        result=told(POINTS, Quantity(Fraction(total), "points")),
        steps=(parts, f"{' + '.join(map(str, points.values()))} = {total} points"),
        unsafe_from=None,
    )


def _coma_words(fields: Fields, scale: str, part: str) -> str:
    """What was seen of one part, in the words of the scale."""
    names = [step.words for step in coma_steps(scale, part)]
    asked = coma_words(scale, part, fields.named(part, names[0]))
    return one_of_field(part, f"answer for {part} in the scale {scale}", asked, names)


def _weight_by_age(fields: Fields) -> SumProblem:
    """The weight by a named formula."""
    formula, age = fields.one_of("formula", "weight formula", weight_formulas()), fields.age()
    row = formula_at(formula, age)
    kg = Quantity(estimate_weight(formula, age).kg, "kg")
    count = age.months if row.unit == "months" else age.years
    times = row.times * count
    return SumProblem(
        result=told(KG, kg),
        steps=(
            f"{plain(row.times)} x {count} = {plain(times)}",
            f"{plain(times)} + {plain(row.plus)} = {kg}",
        ),
    )


def _start_rate(fields: Fields) -> SumProblem:
    """The fluid of a burn before its area is known."""
    age = fields.age()
    rate = Quantity(start_rate(age).ml_per_h, "mL/h")
    return SumProblem(result=told(RATE, rate), steps=(f"{age}: {rate}",))


def _mixing(fields: Fields) -> SumProblem:
    """How strong a powder is in what it is made up with."""
    amount, volume = fields.needed("amount", "mg", "units", "mEq"), fields.needed("in", "mL")
    strength = amount.over(volume.to("mL"))
    return SumProblem(
        result=told("concentration", strength),
        steps=(line(f"{amount} / {volume}", strength, amount, volume),),
        unsafe_from=fields.limit(),
    )


# What is read by each kind of sum, and the field that its table may have nothing for.
_SUMS: Mapping[str, tuple[Callable[[Fields], SumProblem], str]] = {
    "tube": (_tube, "age"),
    "least_systolic": (_least_systolic, "age"),
    "mean_pressure": (_mean_pressure, "systolic"),
    "shock_index": (_shock_index, "pulse"),
    "coma_score": (_coma_score, "scale"),
    "weight_by_age": (_weight_by_age, "age"),
    "start_rate": (_start_rate, "age"),
    "mixing": (_mixing, "amount"),
}


def _reader(field: str, make: Callable[[Fields], SumProblem]) -> Callable[[Fields], Problem]:
    def read(fields: Fields) -> Problem:
        try:
            return make(fields)
        except (NotThereError, OutsideError) as error:
            raise ProblemError(f"{field}: {error}") from error

    return read


SUMS = {kind: _reader(field, make) for kind, (make, field) in _SUMS.items()}
