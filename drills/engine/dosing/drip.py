"""A drip: how fast the pump or the drops run, and when the bag is empty."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.concentrations import told_strength
from drills.engine.dosing import slips
from drills.engine.dosing.refusing import refused
from drills.engine.dosing.results import (
    MAXIMUM,
    MEASURABLE_WITHIN,
    UNSAFE_FROM,
    Refusal,
    Result,
    Solution,
    comes_near,
    dial_of,
    made_by,
    results_of,
    set_by,
    set_inside,
    spanned,
    told,
)
from drills.engine.dosing.rounded import rounding_step
from drills.engine.dosing.slips import Made, Slip, sixtyfold, sixtyfold_time
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.lines import ends_in, line
from drills.engine.quantities import MASS, Quantity, kilograms

ML_PER_H, ML_PER_MIN, GTT_PER_MIN, MINUTES = "mL_per_h", "mL_per_min", "gtt_per_min", "minutes"
DOSE_RATE, RUN_IN = "dose_rate", "volume"
WHOLE_DROP = Quantity(Fraction(1), "gtt/min")  # published: drops are counted whole
FINER_PUMP = "Use a pump with finer settings, or a weaker mixture."
SMALLER_DROPS = "Use a drip set with smaller drops, or a pump."


@dataclass(frozen=True, slots=True, kw_only=True)
class DripProblem:
    """A drip by its `rate` (by volume or by drops), by a `volume` that runs `over` a time, or by a
    `dose_rate` of a `strength`, by weight where its unit says so; fluid by weight (mL/kg/h) is a
    dose rate without one.

    `drip_set` is in drops of a mL, `others` further sets aboard; `bag` is what runs in. With
    a rate and a strength the dose that runs in is told; with a rate and `over` the volume. A range
    is set from the first mark inside it to the last, and its bag lasts as long as the fast end
    leaves it. `is_never_up` is the service's choice never to round up for a child.
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
    refused_from: Fraction = MEASURABLE_WITHIN
    is_never_up: bool = False
    is_exact_pounds: bool = False

    @property
    def within(self) -> Fraction:
        """How far a mark may be off: less than the service's share, and than a tighter limit."""
        return min(self.refused_from, self.unsafe_from)

    @property
    def kg(self) -> Quantity | None:
        return kilograms(self.weight, exactly=self.is_exact_pounds) if self.weight else None

    @property
    def _is_by_drops(self) -> bool:
        return self.rate is not None and self.rate.family == WHOLE_DROP.family

    def solve(self) -> Solution:
        """Work out every figure that what is given leads to."""
        low = self._flow(self.dose_rate)
        high = self._flow(self.dose_rate_high) if self.dose_rate_high else low
        rates = list(self._rates(low, high))
        found = [*rates, *self._others(high)]
        steps = tuple(dict.fromkeys(self._steps(low, high, rates)))
        is_by_hour = not any(ends_in(each, low.each("min")) for each in steps)
        return Solution(
            results=results_of(*found),
            refusal=self._refusal(found),
            steps=steps,
            beside=dict.fromkeys([ML_PER_MIN], _a_minute(low)) if is_by_hour else {},
            limit=MAXIMUM if self._is_capped(self.dose_rate) else "",
            limit_high=MAXIMUM if self._is_capped(self.dose_rate_high) else "",
        )

    def _refusal(self, found: list[Result]) -> Refusal | None:
        for each, way_out in zip(found, (FINER_PUMP, *[SMALLER_DROPS] * len(found)), strict=False):
            refusal = refused([each], way_out, within=self.within)
            if refusal and each.is_range and (gives := self.given_by(each)):
                said = f"{refusal.because} {each.mark} gives {gives}."
                return replace(refusal, because=said)
            if refusal:
                return refusal
        return None

    def given_by(self, rate: Result) -> Quantity | None:
        """The dose that a setting gives, as it is told; None where it gives none, or of no dose."""
        if self.dose_rate is None or not rate.mark.amount or self._is_capped(self.dose_rate):
            return None
        return told(DOSE_RATE, self.dose_rate.times(rate.mark.ratio_to(rate.exact))).rounded

    def _rates(self, low: Quantity, high: Quantity) -> Iterator[Result]:
        yield self._result(ML_PER_H, low, high)
        yield self._result(ML_PER_MIN, low.each("min"), high.each("min"))
        if self.drip_set:
            yield self._result(GTT_PER_MIN, self._drops(low), self._drops(high))

    def _others(self, ml_h: Quantity) -> Iterator[Result]:
        """At the fastest that it may run: a bag that is counted by less runs dry before."""
        if self.bag:
            yield told(MINUTES, self.bag.over(ml_h).to("min"), down=True)
        if self.over and not self.volume:
            yield told(RUN_IN, ml_h.of(self.over).to("mL"), never_up=self.is_never_up)
        if running := self._running:
            yield told(DOSE_RATE, running, never_up=self.is_never_up)

    def _result(self, name: str, low: Quantity, high: Quantity) -> Result:
        """A rate, each end of it as its device gives it."""
        ends = [self._end(name, each) for each in (low, high)]
        if not self._marks(name, low):
            return spanned(*ends)
        return self._from_the_start(ends[0], set_inside(*ends))

    def _from_the_start(self, start: Result, ranged: Result) -> Result:
        """Set from the first setting inside the range where that comes near its start, else as the
        start alone is; where nothing does, not at all."""
        if not ranged.is_range or comes_near(ranged.mark.amount, start.low_amount, self.within):
            return ranged
        if start.rounded:
            return replace(ranged, mark=start.rounded, rounded=start.rounded)
        return replace(ranged, rounded=None, rounded_high=None)

    def _end(self, name: str, exact: Quantity) -> Result:
        marks, most, never_up = self._marks(name, exact), self._ceiling(exact), self.is_never_up
        if marks is None:
            return told(name, exact, most=most, never_up=never_up)
        return set_by(name, exact, marks, most, within=self.within, never_up=never_up)

    def _marks(self, name: str, at: Quantity) -> Quantity | None:
        """What the settings are apart: by the graduation where that is of its kind, else those of
        a pump, or whole drops; None of what is only told."""
        if self.graduation and self.graduation.kind == at.kind:
            return self.graduation
        if name == ML_PER_H:
            return dial_of(at)
        return WHOLE_DROP if name == GTT_PER_MIN else None

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
            by = self.drip_set if self._is_by_drops else None
            return _in_ml_per_h(self.rate.over(by) if by else self.rate)
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
        return (*made, *_sixtyfold(asked, right), *self._drops_as_ml(asked, right))

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
        yield from slips.without_the_set(right, self.drip_set, is_drops=asked == GTT_PER_MIN)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing: a rate in another unit of time is another kind of amount."""
        return None

    def _steps(self, low: Quantity, high: Quantity, rates: list[Result]) -> Iterator[str]:
        before = list(self._flow_steps(low))
        yield from before
        pump, *by_minute = rates
        if self.drip_set:
            for each in () if self._is_by_drops else dict.fromkeys((low, high)):
                yield from self._drop_steps(each, before)
            yield from rounding_step(by_minute[-1], self._drops_told(by_minute[-1]))
        elif not pump.is_range:
            apart = Quantity(pump.step, pump.exact.unit)
            yield from rounding_step(pump, f"By steps of the pump of {apart}")
        if self.bag and not _is_better_by_hour(high):
            yield from _minute_steps(high, before)
        yield from self._steps_of_others(high)

    def _flow_steps(self, low: Quantity) -> Iterator[str]:
        if self.dose_rate is not None:
            yield from self._titrated_steps(self.dose_rate)
        elif self.rate is not None:
            yield from self._rate_steps(self.rate, low)
        else:
            yield from self._volume_steps(self.volume, self.over, low)

    def _drops_told(self, drops: Result) -> str:
        """How drops are set: whole ones where nothing else is said."""
        apart = Quantity(drops.step, drops.exact.unit)
        return "Whole drops" if apart == WHOLE_DROP else f"By steps of {apart}"

    def _titrated_steps(self, start: Quantity) -> Iterator[str]:
        """Of a range the start, what the pump is set in, the high end, and what is never passed."""
        high = self.dose_rate_high
        if high is None or high == start:
            yield from self._dose_steps(start)
            return
        yield f"Start with {start}"
        yield from self._dose_steps(start)
        yield f"Go up to {high}"
        yield from self._dose_steps(high)
        if self.maximum and not self._is_capped(high):
            yield f"The maximum is {self.maximum}: {self._flow(self.maximum)} at most"
        pump = self._result(ML_PER_H, self._flow(start), self._flow(high))
        if pump.rounded:
            steps = dict.fromkeys((pump.step, pump.step_high or pump.step))
            apart = " and ".join(str(Quantity(each, pump.exact.unit)) for each in steps)
            yield f"By steps of the pump of {apart}: {pump.answer}"

    def _volume_steps(
        self, volume: Quantity | None, over: Quantity | None, ml_h: Quantity
    ) -> Iterator[str]:
        """By the hour where the time is told in hours, else by the minute first."""
        if volume is None or over is None:
            return
        volume = volume.to("mL")
        if over.unit == "h":
            yield line(f"{volume} / {over}", ml_h, volume, over)
            return
        minutes = over.to("min")
        if _is_better_by_hour(ml_h):
            yield line(f"{volume} / {minutes} x 60 min/h", ml_h, volume, minutes)
            return
        yield line(f"{volume} / {minutes}", ml_h.each("min"), volume, minutes)
        yield _by_the_hour(ml_h)

    def _drop_steps(self, ml_h: Quantity, before: list[str]) -> Iterator[str]:
        yield from _minute_steps(ml_h, before)
        a_minute, by = ml_h.each("min"), self.drip_set
        yield line(f"{a_minute} x {by}", self._drops(ml_h), a_minute, by)

    def _steps_of_others(self, ml_h: Quantity) -> Iterator[str]:
        if self.bag:
            bag, a_minute, lasts = self.bag.to("mL"), ml_h.each("min"), self.bag.over(ml_h)
            if _is_better_by_hour(ml_h):
                yield line(f"{bag} / {ml_h} x 60 min/h", lasts.to("min"), bag, ml_h)
            else:
                yield line(f"{bag} / {a_minute}", lasts.to("min"), bag, a_minute)
        if self.over and not self.volume:
            over = self.over.to("h")
            yield line(f"{ml_h} x {over}", ml_h.of(over).to("mL"), ml_h, over)

    def _rate_steps(self, rate: Quantity, ml_h: Quantity) -> Iterator[str]:
        if self._is_by_drops:
            drops, by = rate.each("min"), self.drip_set
            yield line(f"{drops} / {by}", ml_h.each("min"), drops, by)
        if rate.unit == "L/h":
            yield line(f"{rate}", ml_h, rate)
        elif rate.kind != ml_h.kind:
            yield _by_the_hour(ml_h)
        if self.strength is not None:
            yield from self._running_steps(self.strength, ml_h)

    def _running_steps(self, strength: Quantity, ml_h: Quantity) -> Iterator[str]:
        """The dose that a rate brings in, by the minute, and by the kg where there is a weight."""
        an_hour = strength.of(ml_h)
        a_minute = an_hour.each("min")
        yield line(f"{ml_h} x {told_strength(strength)}", an_hour, ml_h, strength)
        yield line(f"{an_hour} / 60 min/h", a_minute, an_hour)
        if a_minute.family == MASS and a_minute.unit != "mcg/min":
            told, a_minute = a_minute, a_minute.to("mcg/min")
            yield line(f"{told}", a_minute, told)
        if self.kg:
            yield from kg_steps(self.weight or self.kg, exactly=self.is_exact_pounds)
            yield line(f"{a_minute} / {self.kg}", a_minute.over(self.kg), a_minute, self.kg)

    def _dose_steps(self, dose_rate: Quantity) -> Iterator[str]:
        meant = self._limited(dose_rate)
        if self.weight is not None and self.kg is not None and "kg" in dose_rate.per:
            yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
            yield line(f"{self.kg} x {dose_rate}", dose_rate.of(self.kg), self.kg, dose_rate)
        if self._is_capped(dose_rate):
            yield f"The maximum is {self.maximum}: give {meant}"
        flow = meant
        if self.strength is not None:
            # In the unit of what is in the bag.
            own = meant.to("/".join((self.strength.unit.partition("/")[0], *meant.per)))
            if own != meant:
                yield line(f"{meant}", own, meant)
            flow = meant.over(self.strength)
            yield line(f"{own} / {told_strength(self.strength)}", flow, own, self.strength)
        if flow.kind != _in_ml_per_h(flow).kind:
            yield line(f"{flow} x 60 min/h", _in_ml_per_h(flow), flow)


def _by_the_hour(ml_h: Quantity) -> str:
    """The line from the minute to the hour."""
    a_minute = ml_h.each("min")
    return line(f"{a_minute} x 60 min/h", ml_h, a_minute)


def _minute_steps(ml_h: Quantity, before: Iterable[str]) -> Iterator[str]:
    """The line from the hour to the minute; none where a line before has the rate by the minute."""
    if not any(ends_in(each, ml_h.each("min")) for each in before):
        yield _a_minute(ml_h)


def _a_minute(ml_h: Quantity) -> str:
    """The line from the hour to the minute."""
    return line(f"{ml_h} / 60 min/h", ml_h.each("min"), ml_h)


def _is_better_by_hour(ml_h: Quantity) -> bool:
    """Whether the rate by the minute has figures that would be cut, and that by the hour none."""
    return ml_h.each("min").is_cut and not ml_h.is_cut


def _in_ml_per_h(flow: Quantity) -> Quantity:
    return flow.each("h").to("mL/h")


def _sixtyfold(asked: str, right: Iterable[Quantity]) -> Iterator[Made]:
    """Between a minute and an hour: of a rate, or of how long a bag lasts."""
    return (sixtyfold_time if asked == MINUTES else sixtyfold)(right)
