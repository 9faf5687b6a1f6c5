"""Fluid for burns: the total of a day, and the rate for the rest of the first eight hours.

Half of the total is due in the first eight hours, counted from the injury and not from arrival
(ABLS 2010, as printed on a hospital poster; University of Michigan burn centre). What is due when
the fluid starts late is run in over what is left of the eight hours (from memory).
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.results import (
    UNSAFE_FROM,
    Refusal,
    Result,
    Solution,
    dialled,
    refused,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.slips import Made, Slip, sixtyfold
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.quantities import Quantity, kilograms

TOTAL, FIRST_HALF_RATE = "total", "first_half_rate"
FIRST_HALF = Quantity(Fraction(8), "h")
AT_ONCE = Quantity(Fraction(0), "h")


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnProblem:
    """A burn of an `area` in percent, by a formula `per` kg and percent, `since_injury` ago."""

    kind: ClassVar[str] = "burn"

    weight: Quantity
    area: Quantity
    per: Quantity
    since_injury: Quantity = AT_ONCE
    graduation: Quantity | None = None
    is_exact_pounds: bool = False
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def kg(self) -> Quantity:
        return kilograms(self.weight, exactly=self.is_exact_pounds)

    @property
    def left(self) -> Quantity:
        """What is left of the first eight hours."""
        return Quantity(FIRST_HALF.amount - self.since_injury.to("h").amount, "h")

    def solve(self) -> Solution:
        """The total, and the rate until eight hours after the injury where any are left."""
        total = self._total
        found = [self._result(TOTAL, total)]
        if self.left.amount > 0:
            found.append(self._result(FIRST_HALF_RATE, total.times(Fraction(1, 2)).over(self.left)))
            refusal = refused(found, "Use a pump with finer settings.")
        else:
            refusal = Refusal(
                f"{self.since_injury} after the injury the first eight hours are over.",
                ("Ask medical direction for the rate: what is left is due in the next sixteen.",),
            )
        return Solution(
            results=results_of(*found), steps=tuple(self._steps(total)), refusal=refusal
        )

    @property
    def _total(self) -> Quantity:
        return self.per.of(self.kg).of(self.area).to("mL")

    def _result(self, name: str, exact: Quantity) -> Result:
        if self.graduation and self.graduation.kind == exact.kind:
            return set_by(name, exact, self.graduation)
        return dialled(name, exact) if name == FIRST_HALF_RATE else told(name, exact)

    def _steps(self, total: Quantity) -> Iterator[str]:
        yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
        yield f"{self.per} x {self.kg} x {self.area} = {total}"
        half, left = total.times(Fraction(1, 2)), self.left
        yield f"{total} / 2 = {half}"
        if left.amount <= 0:
            return
        if self.since_injury.amount:
            yield f"{FIRST_HALF} - {self.since_injury.to('h')} = {left}"
        yield f"{half} / {left} = {half.over(left)}"

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip with burns would have given."""
        right = self.solve().results[asked].exact
        made = [
            Made(slip, each.solve().results[asked].exact) for slip, each in self._altered(asked)
        ]
        return (
            *made,
            *(sixtyfold([right]) if asked == FIRST_HALF_RATE else ()),
            Made(slips.BURN_DOUBLED, right.times(2)),
            Made(slips.BURN_HALVED, right.times(Fraction(1, 2))),
        )

    def _altered(self, asked: str) -> Iterator[tuple[Slip, "BurnProblem"]]:
        for slip, weight in wrong_weights(self.weight):
            yield slip, replace(self, weight=weight)
        yield slips.NO_WEIGHT, replace(self, weight=Quantity(Fraction(1), "kg"))
        if asked == FIRST_HALF_RATE and self.since_injury.amount:
            yield slips.FROM_ARRIVAL, replace(self, since_injury=AT_ONCE)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for a volume of fluid."""
        return None
