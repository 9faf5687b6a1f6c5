"""The energy of a shock by weight."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.refusing import off_by
from drills.engine.dosing.results import (
    MAXIMUM,
    UNSAFE_FROM,
    Refusal,
    Result,
    Rounding,
    Solution,
    made_by,
    results_of,
    set_by,
    set_inside,
)
from drills.engine.dosing.rounded import maximum_step, rounding_step
from drills.engine.dosing.slips import Made, Slip
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.lines import line
from drills.engine.quantities import Quantity, kilograms, plain, round_down

ENERGY = "energy"
A_JOULE = Quantity(Fraction(1), "J")  # whole ones where nobody says more: ours, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyProblem:
    """A shock of so many joules for each kg, at most `maximum`; `high` where a range is right.

    It is set to the nearest energy that can be selected, `graduation` apart, and to none past the
    maximum. Only one that is as far off as is unsafe is refused, and its neighbours are told.
    """

    kind: ClassVar[str] = "energy"

    weight: Quantity
    per_weight: Quantity
    high: Quantity | None = None
    maximum: Quantity | None = None
    graduation: Quantity | None = None
    is_never_up: bool = False
    is_exact_pounds: bool = False
    unsafe_from: Fraction = UNSAFE_FROM

    @property
    def kg(self) -> Quantity:
        return kilograms(self.weight, exactly=self.is_exact_pounds)

    def solve(self) -> Solution:
        """The joules, no more than the maximum."""
        low, limit = self._limited(self.per_weight)
        high, limit_high = self._limited(self.high) if self.high else (low, limit)
        result = set_inside(self._set_to(low), self._set_to(high))
        return Solution(
            results=results_of(result),
            limit=limit,
            limit_high=limit_high,
            steps=(*self._steps(), *self._set_steps(result)),
            refusal=self._refusal(result),
        )

    def _set_to(self, energy: Quantity) -> Result:
        marks = self.graduation or A_JOULE
        return set_by(
            ENERGY, energy, marks, self.maximum, within=self.unsafe_from, never_up=self.is_never_up
        )

    def _around(self, result: Result) -> tuple[Quantity, Quantity]:
        """The settings below and above what is meant."""
        below = round_down(result.exact.amount, result.step)
        unit = result.exact.unit
        return Quantity(below, unit), Quantity(below + result.step, unit)

    def _set_steps(self, result: Result) -> Iterator[str]:
        """The neighbours of what is set, where the device has no such energy."""
        below, above = self._around(result)
        set_to = result.rounded.amount if result.rounded else Fraction(0)
        if result.is_range and result.nearest_to(set_to) == set_to:
            apart = Quantity(result.step, result.exact.unit)
            yield from rounding_step(result, f"By settings {apart} apart")
            return
        if result.exact == below:
            return
        said = (
            f"The device has {self._between(below, above)}" if self.graduation else "Whole joules"
        )
        yield f"{said}: set {result.rounded}" if result.rounded else said

    def _between(self, below: Quantity, above: Quantity) -> str:
        most = self.maximum
        past = ", which is past the maximum" if most and above.ratio_to(most) > 1 else ""
        return f"{below} and {above}{past}" if below.amount else f"no less than {above}{past}"

    def _refusal(self, result: Result) -> Refusal | None:
        """No bare one: what the settings next to it are, and which is the nearest."""
        if result.rounded:
            return None
        below, above = self._around(result)
        nearest = result.mark if result.mark.amount else above
        barred = ""
        if result.rounding is Rounding.NEVER_UP and nearest == below:
            barred = f" {above} is more, and a child's dose is never rounded up."
        return Refusal(
            f"{result.exact} cannot be selected: the device has {self._between(below, above)}. The "
            f"nearest, {nearest}, is {off_by(nearest, result.exact)}, and less than "
            f"{plain(self.unsafe_from * 100)}% is accepted.{barred}",
            ("Ask medical direction, or use a device with finer settings.",),
            "cannot be selected",
        )

    def _limited(self, per_weight: Quantity) -> tuple[Quantity, str]:
        meant = per_weight.of(self.kg)
        if self.maximum and meant.ratio_to(self.maximum) > 1:
            return self.maximum.to(meant.unit), MAXIMUM
        return meant, ""

    def _steps(self) -> Iterator[str]:
        yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
        for each in filter(None, (self.per_weight, self.high)):
            yield line(f"{self.kg} x {each}", each.of(self.kg), self.kg, each)
            given, limit = self._limited(each)
            if limit:
                yield maximum_step(self.maximum, given, is_high=each == self.high)

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
