"""A burn from its regions: the area by a named chart, and the fluid for it."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from drills.engine.ages import Age, AgeError, read_age
from drills.engine.burns import burned_area, regions
from drills.engine.dosing.burn import BurnProblem
from drills.engine.dosing.fields import Fields
from drills.engine.dosing.results import UNSAFE_FROM, ProblemError, Solution, results_of, set_by
from drills.engine.dosing.slips import Made
from drills.engine.quantities import Quantity, plain
from drills.engine.tables import NotThereError

AREA = "area"


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnedProblem:
    """Regions that are burned whole, by a chart at an age; with a weight and a formula the fluid
    that `fluid` works out for the area."""

    kind: ClassVar[str] = "burned"

    chart: str
    age: Age
    burned: tuple[str, ...]
    fluid: BurnProblem | None = None
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def area(self) -> Quantity:
        """What is burned, in percent of the body."""
        found = burned_area(self.chart, self.age, dict.fromkeys(self.burned, Fraction(1)))
        return Quantity(found, "%")

    def solve(self) -> Solution:
        """The area, and what of the fluid is asked."""
        area = set_by(AREA, self.area, Quantity(Fraction(1, 4), "%"))
        after = self.fluid.solve() if self.fluid else Solution(results={}, steps=())
        return Solution(
            results=results_of(area, *after.results.values()),
            steps=(*self._steps(), *after.steps),
            refusal=after.refusal,
            without=after.without,
        )

    def _steps(self) -> Iterator[str]:
        there = regions(self.chart, self.age)
        parts = [there[each] for each in self.burned]
        for name, percent in zip(self.burned, parts, strict=True):
            yield f"{name}: {plain(percent)}%"
        if len(parts) > 1:
            yield f"{' + '.join(map(plain, parts))} = {self.area}"

    def slips(self, asked: str) -> tuple[Made, ...]:
        """Those of the fluid; the area has none of its own."""
        return () if asked == AREA or self.fluid is None else self.fluid.slips(asked)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for an area."""
        return None


def read_burned(fields: Fields) -> BurnedProblem:
    """A burn from its regions, with the weight and the formula where the fluid is asked."""
    chart, named = fields.text("chart"), fields.text("regions")
    burned = tuple(filter(None, (each.strip() for each in named.split(";"))))
    try:
        age = read_age(fields.text("age"))
        area = BurnedProblem(chart=chart, age=age, burned=burned).area
    except (AgeError, NotThereError, ValueError) as error:
        raise ProblemError(f"regions: {error}") from error
    weight, per = fields.amount("weight", "kg", "lb"), fields.amount("per", "mL/kg/%")
    since = fields.amount("since_injury", "h") or Quantity(Fraction(0), "h")
    is_exact = fields.has_exact_pounds()
    if weight is None or per is None:
        return BurnedProblem(chart=chart, age=age, burned=burned)
    fluid = BurnProblem(
        weight=weight, area=area, per=per, since_injury=since, is_exact_pounds=is_exact
    )
    return BurnedProblem(chart=chart, age=age, burned=burned, fluid=fluid)
