"""The energy of a shock by weight."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.results import (
    MAXIMUM,
    UNSAFE_FROM,
    Result,
    Solution,
    dial_of,
    made_by,
    measured_within,
    refused,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.slips import Made, Slip
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.quantities import Quantity, kilograms

ENERGY = "energy"


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyProblem:
    """A shock of so many joules for each kg, at most `maximum`; `high` where a range is right."""

    kind: ClassVar[str] = "energy"

    weight: Quantity
    per_weight: Quantity
    high: Quantity | None = None
    maximum: Quantity | None = None
    graduation: Quantity | None = None
    is_exact_pounds: bool = False
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def kg(self) -> Quantity:
        return kilograms(self.weight, exactly=self.is_exact_pounds)

    def solve(self) -> Solution:
        """The joules, no more than the maximum."""
        low, limit = self._limited(self.per_weight)
        high, limit_high = self._limited(self.high) if self.high else (low, limit)
        result, top = self._result(low), self._result(high)
        if high != low:
            result = replace(result, high=high, step_high=top.step, rounded_high=top.rounded)
        return Solution(
            results=results_of(result),
            limit=limit,
            limit_high=limit_high,
            steps=tuple(self._steps()),
            refusal=refused(
                [result],
                "Use a device with finer settings.",
                within=measured_within(self.unsafe_from),
            ),
        )

    def _result(self, energy: Quantity) -> Result:
        most = self.maximum.to(energy.unit) if self.maximum else None
        if self.graduation:
            within = measured_within(self.unsafe_from)
            return set_by(ENERGY, energy, self.graduation, most, within=within)
        # Told to three figures, and right by the settings of the device too.
        found, dial = told(ENERGY, energy, most=most), set_by(ENERGY, energy, dial_of(energy), most)
        return replace(found, step=dial.step, mark=dial.mark) if dial.rounded else found

    def _limited(self, per_weight: Quantity) -> tuple[Quantity, str]:
        meant = per_weight.of(self.kg)
        if self.maximum and meant.ratio_to(self.maximum) > 1:
            return self.maximum.to(meant.unit), MAXIMUM
        return meant, ""

    def _steps(self) -> Iterator[str]:
        yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
        for each in filter(None, (self.per_weight, self.high)):
            yield f"{self.kg} x {each} = {each.of(self.kg)}"
            if self._limited(each)[1]:
                yield f"The maximum is {self.maximum}: give {self._limited(each)[0]}"

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip with a shock would have given."""
        return tuple(
            each
            for slip, altered in self._altered()
            for each in made_by(slip, altered.solve(), asked)
        )

    def without_limits(self) -> "EnergyProblem":
        """The same where the maximum is forgotten."""
        return replace(self, maximum=None)

    def _altered(self) -> Iterator[tuple[Slip, "EnergyProblem"]]:
        for slip, weight in wrong_weights(self.weight):
            yield slip, replace(self, weight=weight)
        yield slips.NO_WEIGHT, replace(self, weight=Quantity(Fraction(1), "kg"))
        if self.maximum:
            yield slips.NO_MAXIMUM, replace(self, maximum=None)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for joules."""
        return None
