"""Oxygen through the changes: several cylinders of one size, each down to its residual."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.fields import Fields
from drills.engine.dosing.oxygen import MINUTES, NO_PRESSURE, usable, usable_step
from drills.engine.dosing.results import (
    UNSAFE_FROM,
    ProblemError,
    Solution,
    made_by,
    results_of,
    told,
)
from drills.engine.dosing.rounded import rounding_step
from drills.engine.dosing.slips import Made, Slip, sixtyfold_time
from drills.engine.lines import line
from drills.engine.quantities import Quantity, sum_of


@dataclass(frozen=True, slots=True, kw_only=True)
class CylindersProblem:
    """What several cylinders last one after the other, each with its own `pressures`."""

    kind: ClassVar[str] = "cylinders"

    factor: Quantity
    pressures: tuple[Quantity, ...]
    flows: tuple[Quantity, ...]
    residual: Quantity = NO_PRESSURE
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def used(self) -> tuple[Quantity, ...]:
        """What can be used of each."""
        return tuple(usable(each, self.residual) for each in self.pressures)

    def solve(self) -> Solution:
        """How long all of them last."""
        used = self.used
        litres = self.factor.of(sum_of(used))
        minutes = litres.over(sum_of(self.flows)).to("min")
        return Solution(
            results=results_of(told(MINUTES, minutes, down=True)),
            steps=tuple(self._steps(used, litres, minutes)),
        )

    def _steps(
        self, used: tuple[Quantity, ...], litres: Quantity, minutes: Quantity
    ) -> Iterator[str]:
        for pressure in dict.fromkeys(self.pressures):
            yield from usable_step(pressure, self.residual)
        together = sum_of(used)
        if len(used) > 1:
            yield line(" + ".join(map(str, used)), together, *used)
        yield line(f"{together} x {self.factor}", litres, together, self.factor)
        flow = sum_of(self.flows)
        if len(self.flows) > 1:
            yield line(" + ".join(map(str, self.flows)), flow, *self.flows)
        yield line(f"{litres} / {flow}", minutes, litres, flow)
        yield from rounding_step(told(MINUTES, minutes, down=True), "Rounded down")

    def slips(self, asked: str) -> tuple[Made, ...]:
        """The residual and the other patients forgotten, and hours for minutes."""
        made = [
            each
            for slip, altered in self._altered()
            for each in made_by(slip, altered.solve(), asked)
        ]
        return (*made, *sixtyfold_time([self.solve().results[asked].exact]))

    def _altered(self) -> Iterator[tuple[Slip, "CylindersProblem"]]:
        yield slips.NO_RESIDUAL, replace(self, residual=NO_PRESSURE)
        if len(self.flows) > 1:
            for flow in self.flows:
                yield slips.ONE_PATIENT, replace(self, flows=(flow,))

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for minutes."""
        return None


def read_cylinders(fields: Fields) -> CylindersProblem:
    """Several cylinders from their fields."""
    factor, residual = fields.needed("factor", "L/psi"), fields.residual()
    pressures, flows = fields.gauges("pressures"), fields.amounts("flow", "L/min")
    for name, there in (("pressures", pressures), ("flow", flows)):
        if not there:
            raise ProblemError(f"{name}: none came in; at least one is accepted.")
    return CylindersProblem(factor=factor, pressures=pressures, flows=flows, residual=residual)
