"""A drip: how fast the pump or the drops run, and when the bag is empty."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.concentrations import told_strength
from drills.engine.dosing import slips
from drills.engine.dosing.results import (
    MAXIMUM,
    UNSAFE_FROM,
    Result,
    Solution,
    dialled,
    made_by,
    measured_within,
    refused,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.slips import Made, Slip, sixtyfold
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.quantities import MASS, Quantity, kilograms

ML_PER_H, ML_PER_MIN, GTT_PER_MIN, MINUTES = "mL_per_h", "mL_per_min", "gtt_per_min", "minutes"
DOSE_RATE, RUN_IN = "dose_rate", "volume"
WHOLE_DROP = Quantity(Fraction(1), "gtt/min")  # published: drops are counted whole


@dataclass(frozen=True, slots=True, kw_only=True)
class DripProblem:
    """A drip by its `rate` (by volume or by drops), by a `volume` that runs `over` a time, or by a
    `dose_rate` of a `strength`, by weight where its unit says so; fluid by weight (mL/kg/h) is a
    dose rate without one.

    `drip_set` is in drops of a mL, `others` further sets aboard; `bag` is what runs in. With
    a rate and a strength the dose that runs in is told; with a rate and `over` the volume.
    """

    kind: ClassVar[str] = "drip"

    rate: Quantity | None = None
    volume: Quantity | None = None
    over: Quantity | None = None
    dose_rate: Quantity | None = None
    strength: Quantity | None = None
    weight: Quantity | None = None
    drip_set: Quantity | None = None
    others: tuple[Quantity, ...] = ()
    bag: Quantity | None = None
    graduation: Quantity | None = None
    maximum: Quantity | None = None
    dose_rate_high: Quantity | None = None
    unsafe_from: Fraction = UNSAFE_FROM
    is_exact_pounds: bool = False

    @property
    def kg(self) -> Quantity | None:
        return kilograms(self.weight, exactly=self.is_exact_pounds) if self.weight else None

    def solve(self) -> Solution:
        """Work out every figure that what is given leads to."""
        ml_h = self._flow(self.dose_rate)
        found = [*self._rates(ml_h), *self._others(ml_h)]
        return Solution(
            results=results_of(*found),
            refusal=refused(
                found,
                "Use a drip set with smaller drops, or a pump.",
                within=measured_within(self.unsafe_from),
            ),
            steps=tuple(dict.fromkeys(self._steps(ml_h))),
            limit=MAXIMUM if self._is_capped(self.dose_rate) else "",
            limit_high=MAXIMUM if self._is_capped(self.dose_rate_high) else "",
        )

    def _rates(self, ml_h: Quantity) -> Iterator[Result]:
        high = self._flow(self.dose_rate_high) if self.dose_rate_high else ml_h
        yield self._result(ML_PER_H, ml_h, high)
        yield self._result(ML_PER_MIN, ml_h.each("min"), high.each("min"))
        if self.drip_set:
            yield self._result(GTT_PER_MIN, self._drops(ml_h), self._drops(high), WHOLE_DROP)

    def _others(self, ml_h: Quantity) -> Iterator[Result]:
        if self.bag:
            yield told(MINUTES, self.bag.over(ml_h).to("min"), down=True)
        if self.over and not self.volume:
            yield told(RUN_IN, ml_h.of(self.over).to("mL"))
        if running := self._running:
            yield told(DOSE_RATE, running)

    def _result(
        self, name: str, exact: Quantity, high: Quantity, usual: Quantity | None = None
    ) -> Result:
        """A rate, by the graduation where that is of its kind."""
        own = self.graduation if self.graduation and self.graduation.kind == exact.kind else usual
        most = self._ceiling(exact)
        plainly, within = (
            dialled if name == ML_PER_H else told,
            measured_within(self.unsafe_from),
        )
        found, top = (
            set_by(name, each, own, most, within=within) if own else plainly(name, each, most=most)
            for each in (exact, high)
        )
        if high == exact:
            return found
        return replace(found, high=high, step_high=top.step, rounded_high=top.rounded)

    def _ceiling(self, of: Quantity) -> Quantity | None:
        """What the maximum comes to in the kind of a result."""
        if self.maximum is None:
            return None
        flow = self._flow(self.maximum)
        if of.kind == flow.kind:
            return flow
        return flow.each("min") if of.kind == flow.each("min").kind else self._drops(flow)

    def _limited(self, dose_rate: Quantity) -> Quantity:
        """The dose rate of the whole patient, no more than the maximum."""
        kg = self.kg
        meant = dose_rate.of(kg) if "kg" in dose_rate.per and kg else dose_rate
        if self.maximum is None:
            return meant
        most = self.maximum.of(kg) if "kg" in self.maximum.per and kg else self.maximum
        return most.to(meant.unit) if meant.ratio_to(most) > 1 else meant

    def _is_capped(self, dose_rate: Quantity | None) -> bool:
        if dose_rate is None or self.maximum is None:
            return False
        free = replace(self, maximum=None)
        return self._limited(dose_rate) != free._limited(dose_rate)

    def _flow(self, dose_rate: Quantity | None) -> Quantity:
        """The rate in mL/h."""
        if dose_rate is not None:
            meant = self._limited(dose_rate)
            return _in_ml_per_h(meant.over(self.strength) if self.strength else meant)
        if self.rate is not None:
            is_drops = self.rate.family == WHOLE_DROP.family
            by_volume = self.rate.over(self.drip_set) if is_drops and self.drip_set else self.rate
            return _in_ml_per_h(by_volume)
        if self.volume is None or self.over is None:
            raise ValueError("A drip has a rate, a volume with a time, or a dose rate.")
        return _in_ml_per_h(self.volume.over(self.over))

    def _drops(self, ml_h: Quantity) -> Quantity:
        if self.drip_set is None:
            raise ValueError("Drops need a drip set.")
        return self.drip_set.of(ml_h).each("min")

    @property
    def _running(self) -> Quantity | None:
        """The dose that a rate brings in, in mcg a minute where it is a mass; by weight where one
        is given."""
        if self.rate is None or self.strength is None:
            return None
        dose = self.strength.of(self._flow(None)).each("min")
        if dose.family == MASS:
            dose = dose.to("mcg/min")
        return dose.over(self.kg) if self.kg else dose

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip of a drip would have given."""
        right = self.solve().results[asked].ends
        made = [
            each
            for slip, altered in self._altered(asked)
            for each in made_by(slip, altered.solve(), asked)
        ]
        return (*made, *sixtyfold(right), *self._drops_as_ml(asked, right))

    def without_limits(self) -> "DripProblem":
        """The same where the maximum is forgotten."""
        return replace(self, maximum=None)

    def _altered(self, asked: str) -> Iterator[tuple[Slip, "DripProblem"]]:
        by_weight = self.dose_rate is not None and "kg" in self.dose_rate.per
        if self.weight is not None and by_weight:
            for slip, weight in wrong_weights(self.weight):
                yield slip, replace(self, weight=weight)
            yield slips.NO_WEIGHT, replace(self, weight=Quantity(Fraction(1), "kg"))
        if self.maximum is not None:
            yield slips.NO_MAXIMUM, replace(self, maximum=None)
        if asked == GTT_PER_MIN:
            for other in self.others:
                yield slips.OTHER_SET, replace(self, drip_set=other)

    def _drops_as_ml(self, asked: str, right: tuple[Quantity, ...]) -> Iterator[Made]:
        if self.drip_set is None or asked not in (GTT_PER_MIN, ML_PER_MIN):
            return
        of_a_ml = self.drip_set.amount
        factor = 1 / of_a_ml if asked == GTT_PER_MIN else of_a_ml
        for value in right:
            yield Made(slips.DROPS_AS_ML, value.times(factor))

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing: a rate in another unit of time is another kind of amount."""
        return None

    def _steps(self, ml_h: Quantity) -> Iterator[str]:
        if self.dose_rate is not None:
            yield from self._dose_steps(self.dose_rate)
        elif self.rate is not None:
            yield from self._rate_steps(self.rate, ml_h)
        else:
            yield from self._volume_steps(self.volume, self.over, ml_h)
        yield from self._steps_of_others(ml_h)

    def _volume_steps(
        self, volume: Quantity | None, over: Quantity | None, ml_h: Quantity
    ) -> Iterator[str]:
        """By the hour where the time is told in hours, else by the minute first."""
        if volume is None or over is None:
            return
        volume = volume.to("mL")
        if over.unit == "h":
            yield f"{volume} / {over} = {ml_h}"
            return
        yield f"{volume} / {over.to('min')} = {ml_h.each('min')}"
        yield f"{ml_h.each('min')} x 60 min/h = {ml_h}"

    def _steps_of_others(self, ml_h: Quantity) -> Iterator[str]:
        a_minute = ml_h.each("min")
        if self.drip_set or self.bag:
            yield f"{ml_h} / 60 min/h = {a_minute}"
        if self.drip_set:
            yield f"{a_minute} x {self.drip_set} = {self._drops(ml_h)}"
        if self.bag:
            yield f"{self.bag.to('mL')} / {a_minute} = {self.bag.over(ml_h).to('min')}"
        if self.over and not self.volume:
            yield f"{ml_h} x {self.over.to('h')} = {ml_h.of(self.over).to('mL')}"

    def _rate_steps(self, rate: Quantity, ml_h: Quantity) -> Iterator[str]:
        if rate.family == WHOLE_DROP.family:
            yield f"{rate.each('min')} / {self.drip_set} = {ml_h.each('min')}"
        if rate.unit == "L/h":
            yield f"{rate} = {ml_h}"
        elif rate.kind != ml_h.kind:
            yield f"{ml_h.each('min')} x 60 min/h = {ml_h}"
        if self.strength is not None:
            yield from self._running_steps(self.strength, ml_h)

    def _running_steps(self, strength: Quantity, ml_h: Quantity) -> Iterator[str]:
        """The dose that a rate brings in, by the minute, and by the kg where there is a weight."""
        an_hour = strength.of(ml_h)
        a_minute = an_hour.each("min")
        yield f"{ml_h} x {told_strength(strength)} = {an_hour}"
        yield f"{an_hour} / 60 min/h = {a_minute}"
        if a_minute.family == MASS and a_minute.unit != "mcg/min":
            yield f"{a_minute} = {a_minute.to('mcg/min')}"
            a_minute = a_minute.to("mcg/min")
        if self.kg:
            yield from kg_steps(self.weight or self.kg, exactly=self.is_exact_pounds)
            yield f"{a_minute} / {self.kg} = {a_minute.over(self.kg)}"

    def _dose_steps(self, dose_rate: Quantity) -> Iterator[str]:
        meant = self._limited(dose_rate)
        if self.weight is not None and self.kg is not None and "kg" in dose_rate.per:
            yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
            yield f"{self.kg} x {dose_rate} = {dose_rate.of(self.kg)}"
        if self._is_capped(dose_rate):
            yield f"The maximum is {self.maximum}: give {meant}"
        flow = meant
        if self.strength is not None:
            # In the unit of what is in the bag.
            own = meant.to("/".join((self.strength.unit.partition("/")[0], *meant.per)))
            if own != meant:
                yield f"{meant} = {own}"
            flow = meant.over(self.strength)
            yield f"{own} / {told_strength(self.strength)} = {flow}"
        if flow.kind != _in_ml_per_h(flow).kind:
            yield f"{flow} x 60 min/h = {_in_ml_per_h(flow)}"


def _in_ml_per_h(flow: Quantity) -> Quantity:
    return flow.each("h").to("mL/h")
