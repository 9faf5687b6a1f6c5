"""What is ordered of a drip, and how fast that is: exact, whatever it is set by."""

from dataclasses import dataclass, replace
from fractions import Fraction

from drills.engine.devices import Device
from drills.engine.dosing.service import InService
from drills.engine.quantities import MASS, Quantity, kilograms

WHOLE_DROP = Quantity(Fraction(1), "gtt/min")  # published: drops are counted whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Flowing(InService):
    """A drip by its `rate` (by volume or by drops), by a `volume` that runs `over` a time, or by a
    `dose_rate` of a `strength`, by weight where its unit says so; fluid by weight (mL/kg/h) is a
    dose rate without one.

    `drip_set` is in drops of a mL, `other_sets` are further ones aboard, `others` further
    strengths of the medicine; `bag` is what runs in. `is_medicine` says that it is more than plain
    fluid where no strength is told, and `devices` are the syringes aboard.
    """

    rate: Quantity | None = None
    volume: Quantity | None = None
    over: Quantity | None = None
    dose_rate: Quantity | None = None
    strength: Quantity | None = None
    weight: Quantity | None = None
    drip_set: Quantity | None = None
    other_sets: tuple[Quantity, ...] = ()
    others: tuple[Quantity, ...] = ()
    bag: Quantity | None = None
    graduation: Quantity | None = None
    maximum: Quantity | None = None
    dose_rate_high: Quantity | None = None
    is_medicine: bool = False
    devices: tuple[Device, ...] = ()

    @property
    def kg(self) -> Quantity | None:
        """The weight in kg, where one is told."""
        return kilograms(self.weight, exactly=self.is_exact_pounds) if self.weight else None

    @property
    def is_by_drops(self) -> bool:
        """Whether what is told is how many drops run in a time."""
        return self.rate is not None and self.rate.family == WHOLE_DROP.family

    def limited(self, dose_rate: Quantity) -> Quantity:
        """The dose rate of the whole patient, no more than the maximum."""
        kg = self.kg
        meant = dose_rate.of(kg) if "kg" in dose_rate.per and kg else dose_rate
        if self.maximum is None:
            return meant
        most = self.maximum.of(kg) if "kg" in self.maximum.per and kg else self.maximum
        return most.to(meant.unit) if meant.ratio_to(most) > 1 else meant

    def is_capped(self, dose_rate: Quantity | None) -> bool:
        """Whether the maximum cuts a dose rate."""
        if dose_rate is None or self.maximum is None:
            return False
        free = replace(self, maximum=None)
        return self.limited(dose_rate) != free.limited(dose_rate)

    def flow(self, dose_rate: Quantity | None) -> Quantity:
        """The rate in mL/h, by a dose rate where one is given; `ValueError` of nothing told."""
        if dose_rate is not None:
            meant = self.limited(dose_rate)
            return in_ml_per_h(meant.over(self.strength) if self.strength else meant)
        if self.rate is not None:
            by = self.drip_set if self.is_by_drops else None
            return in_ml_per_h(self.rate.over(by) if by else self.rate)
        if self.volume is None or self.over is None:
            raise ValueError("A drip has a rate, a volume with a time, or a dose rate.")
        return in_ml_per_h(self.volume.over(self.over))

    def drops(self, ml_h: Quantity) -> Quantity:
        """The drops a minute of a rate in mL/h, by the set; `ValueError` without one."""
        if self.drip_set is None:
            raise ValueError("Drops need a drip set.")
        return self.drip_set.of(ml_h).each("min")

    @property
    def running(self) -> Quantity | None:
        """The dose that a rate brings in, in mcg a minute where it is a mass; by weight where one
        is given."""
        if self.rate is None or self.strength is None:
            return None
        dose = self.strength.of(self.flow(None)).each("min")
        if dose.family == MASS:
            dose = dose.to("mcg/min")
        return dose.over(self.kg) if self.kg else dose


def in_ml_per_h(flow: Quantity) -> Quantity:
    """A rate of fluid by the hour."""
    return flow.each("h").to("mL/h")
