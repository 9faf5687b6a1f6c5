"""A burn from its regions: the area by a named chart, and the fluid for it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.ages import Age
from drills.engine.burns import burned_area, charts, regions
from drills.engine.dosing.burn import AT_ONCE, BurnProblem
from drills.engine.dosing.fields import Fields, one_of_field
from drills.engine.dosing.results import UNSAFE_FROM, ProblemError, Solution, results_of, set_by
from drills.engine.dosing.slips import Made
from drills.engine.quantities import Quantity, plain

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
    chart = fields.one_of("chart", "burn chart", charts())
    age, named = fields.age(), fields.named("regions", "left arm; head")
    there = regions(chart, age)
    burned = tuple(
        one_of_field("regions", f"region of the {chart}", each, there)
        for each in filter(None, (part.strip() for part in named.split(";")))
    )
    if not burned:
        raise ProblemError(f"regions: {named!r} came in; at least one is accepted.")
    for each in burned:
        if burned.count(each) > 1:
            raise ProblemError(f"regions: {each} came in more than once.")
    problem = BurnedProblem(chart=chart, age=age, burned=burned)
    problem = replace(problem, unsafe_from=fields.limit())
    return replace(problem, fluid=_fluid(fields, problem))


def _fluid(fields: Fields, burned: BurnedProblem) -> BurnProblem | None:
    """The fluid; None where neither the weight nor the formula is told."""
    weight, per = fields.weight(), fields.positive("per", "mL/kg/%")
    since, is_exact = fields.amount("since_injury", "h"), fields.has_exact_pounds()
    graduation, is_never_up = fields.positive("graduation", "mL", "mL/h"), fields.is_never_up()
    refused_from = fields.refused_from()
    if weight is None and per is None and since is None and graduation is None:
        return None
    if weight is None:
        raise ProblemError("weight: it is missing; the fluid needs one, such as 80 kg.")
    if per is None:
        raise ProblemError("per: it is missing; the fluid needs one, such as 2 mL/kg/%.")
    return BurnProblem(
        weight=weight,
        area=burned.area,
        per=per,
        since_injury=since or AT_ONCE,
        unsafe_from=burned.unsafe_from,
        refused_from=refused_from,
        graduation=graduation,
        is_never_up=is_never_up,
        is_exact_pounds=is_exact,
    )
