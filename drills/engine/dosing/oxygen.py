"""Oxygen: how long what is in a cylinder lasts.

minutes = (gauge pressure - residual pressure) x factor / flow, rounded down; at the residual and
below it nothing is given, and the cylinder is changed. The factor belongs to the cylinder and is
data with a source; letters are not global.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.results import (
    UNSAFE_FROM,
    Solution,
    made_by,
    results_of,
    told,
)
from drills.engine.dosing.rounded import rounding_step
from drills.engine.dosing.slips import Made, Slip, sixtyfold_time
from drills.engine.lines import line
from drills.engine.quantities import Quantity, sum_of

LITRES, MINUTES = "litres", "minutes"
NO_PRESSURE = Quantity(Fraction(0), "psi")


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenProblem:
    """What lasts how long: a cylinder by its `factor` (L/psi), at a `pressure`, down to a
    `residual`, with a `flow` for each patient on it."""

    kind: ClassVar[str] = "oxygen"

    factor: Quantity
    pressure: Quantity
    flows: tuple[Quantity, ...]
    residual: Quantity = NO_PRESSURE
    other_factors: tuple[Quantity, ...] = ()
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def flow(self) -> Quantity:
        return sum_of(each.to("L/min") for each in self.flows)

    def solve(self) -> Solution:
        """The litres that can be used, and how long they last."""
        used = usable(self.pressure, self.residual)
        litres = self.factor.of(used)
        minutes = litres.over(self.flow).to("min")
        return Solution(
            results=results_of(told(LITRES, litres, down=True), told(MINUTES, minutes, down=True)),
            steps=tuple(self._steps(used, litres, minutes)),
        )

    def _steps(self, used: Quantity, litres: Quantity, minutes: Quantity) -> Iterator[str]:
        yield from usable_step(self.pressure, self.residual)
        yield line(f"{used} x {self.factor}", litres, used, self.factor)
        if len(self.flows) > 1:
            flows = [each.to("L/min") for each in self.flows]
            yield line(" + ".join(map(str, flows)), self.flow, *flows)
        yield line(f"{litres} / {self.flow}", minutes, litres, self.flow)
        yield from rounding_step(told(MINUTES, minutes, down=True), "Rounded down")

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip with a cylinder would have given."""
        made = [
            each
            for slip, altered in self._altered()
            for each in made_by(slip, altered.solve(), asked)
        ]
        if asked == MINUTES:
            made += sixtyfold_time([self.solve().results[MINUTES].exact])
        return tuple(made)

    def _altered(self) -> Iterator[tuple[Slip, "OxygenProblem"]]:
        if self.residual.amount:
            yield slips.NO_RESIDUAL, replace(self, residual=NO_PRESSURE)
        for factor in self.other_factors:
            yield slips.OTHER_CYLINDER, replace(self, factor=factor)
        if len(self.flows) > 1:
            for flow in self.flows:
                yield slips.ONE_PATIENT, replace(self, flows=(flow,))

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for minutes or litres."""
        return None


def usable(pressure: Quantity, residual: Quantity) -> Quantity:
    """What a gauge has above the residual; nothing at the residual and below it."""
    above = pressure.to("psi").amount - residual.to("psi").amount
    return Quantity(max(above, Fraction(0)), "psi")


def usable_step(pressure: Quantity, residual: Quantity) -> Iterator[str]:
    """The line to what can be used of a cylinder, or that there is none; no line where nothing is
    kept back."""
    used = usable(pressure, residual)
    if not used.amount:
        yield (
            f"The gauge, {pressure}, is at or below the residual, {residual}: nothing to give; "
            "change it"
        )
    elif residual.amount:
        yield line(f"{pressure} - {residual}", used, pressure, residual)
