"""A dose as a rule states it, and what it comes to for a weight."""

from collections.abc import Iterator
from dataclasses import dataclass

from drills.engine.dosing.results import LIMIT_WORDS, MAXIMUM, MINIMUM
from drills.engine.quantities import Quantity, read_quantity


@dataclass(frozen=True, slots=True)
class DoseRule:
    """A dose as a rule states it, by weight where its unit says so (`mg/kg`), else as it stands.

    `dose_high` is set where the rule gives a range; anywhere inside it is right. `minimum` and
    `maximum` are of the whole dose.
    """

    dose: Quantity
    dose_high: Quantity | None = None
    minimum: Quantity | None = None
    maximum: Quantity | None = None

    @property
    def is_per_kg(self) -> bool:
        return "kg" in self.dose.per

    @property
    def doses(self) -> tuple[Quantity, ...]:
        """The dose, or both ends of its range, as the rule states them."""
        return (self.dose, *([self.dose_high] if self.dose_high else []))

    def for_weight(self, kg: Quantity | None) -> "Dose":
        """The dose for a weight within the rule's limits, and which limit each end met."""
        low, limit = self._limited(self.dose, kg)
        high, limit_high = self._limited(self.dose_high, kg) if self.dose_high else (low, limit)
        return Dose(low, high, limit, limit_high)

    def limit_steps(self, dose: "Dose") -> Iterator[str]:
        """The line of the limits that a dose met; of a range either end may meet one."""
        limits = {MAXIMUM: self.maximum, MINIMUM: self.minimum}
        if dose.limit and dose.limit == dose.limit_high:
            yield f"The {LIMIT_WORDS[dose.limit]} is {limits[dose.limit]}: give {dose.low}"
            return
        if MINIMUM in (dose.limit, dose.limit_high):
            yield f"The minimum is {self.minimum}: give no less"
        if MAXIMUM in (dose.limit, dose.limit_high):
            yield f"The maximum is {self.maximum}: give no more"

    def _limited(self, dose: Quantity, kg: Quantity | None) -> tuple[Quantity, str]:
        meant = dose.of(kg) if kg is not None and self.is_per_kg else dose
        if self.maximum and meant.ratio_to(self.maximum) > 1:
            return self.maximum.to(meant.unit), MAXIMUM
        if self.minimum and meant.ratio_to(self.minimum) < 1:
            return self.minimum.to(meant.unit), MINIMUM
        return meant, ""


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose from `low` to `high`, the same where there is no range, and the limit each met."""

    low: Quantity
    high: Quantity
    limit: str = ""
    limit_high: str = ""


def read_dose_rule(dose: str, *, high: str = "", minimum: str = "", maximum: str = "") -> DoseRule:
    """Make a rule from its printed texts; a dose by weight says so, as in `0.1 mg/kg`."""
    return DoseRule(
        read_quantity(dose),
        *(read_quantity(each) if each else None for each in (high, minimum, maximum)),
    )
