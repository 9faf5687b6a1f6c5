"""A drip: how fast the pump or the drops run, and when the bag is empty."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.by_hand import ways_without_a_pump
from drills.engine.dosing.drip_working import a_minute_step, steps_of
from drills.engine.dosing.flowing import WHOLE_DROP, Flowing
from drills.engine.dosing.pump import MOST_DROPS, MOST_RATE, too_fast, up_to
from drills.engine.dosing.refusing import refused
from drills.engine.dosing.results import (
    MAXIMUM,
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
from drills.engine.dosing.slips import Made, Slip, sixtyfold, sixtyfold_time
from drills.engine.dosing.weight import wrong_weights
from drills.engine.lines import ends_in
from drills.engine.quantities import Quantity

ML_PER_H, ML_PER_MIN, GTT_PER_MIN, MINUTES = "mL_per_h", "mL_per_min", "gtt_per_min", "minutes"
DOSE_RATE, RUN_IN = "dose_rate", "volume"
FINER_PUMP = "Use a pump with finer settings, or a weaker mixture."
SMALLER_DROPS = "Use a drip set with smaller drops, or a pump."
LARGER_DROPS = "Use a drip set with larger drops, or a pump."
MOST_COUNTED = "the most that anybody counts"


@dataclass(frozen=True, slots=True, kw_only=True)
class DripProblem(Flowing):
    """A drip as it is ordered, and what it is set to.

    With a rate and a strength the dose that runs in is told; with a rate and `over` the volume. A
    range is set from the first mark inside it to the last, and its bag lasts as long as the fast
    end leaves it.
    """

    kind: ClassVar[str] = "drip"

    def solve(self) -> Solution:
        """Work out every figure that what is given leads to."""
        low = self.flow(self.dose_rate)
        high = self.flow(self.dose_rate_high) if self.dose_rate_high else low
        rates = list(self._rates(low, high))
        found = [*rates, *self._others(high)]
        steps = tuple(dict.fromkeys(steps_of(self, low, high, rates)))
        refusals = dict(self._refusals(rates))
        is_by_hour = not any(ends_in(each, low.each("min")) for each in steps)
        return Solution(
            results=results_of(*found),
            refusal=next(iter(refusals.values()), None),
            refusals=refusals,
            steps=steps,
            beside=dict.fromkeys([ML_PER_MIN], a_minute_step(low)) if is_by_hour else {},
            limit=MAXIMUM if self.is_capped(self.dose_rate) else "",
            limit_high=MAXIMUM if self.is_capped(self.dose_rate_high) else "",
        )

    def _refusals(self, rates: Iterable[Result]) -> Iterator[tuple[str, Refusal]]:
        """Why a rate is not set, by its name; nothing of those that are."""
        for each in rates:
            if refusal := self._too_fast(each) or self._between_marks(each):
                yield each.name, refusal

    def _too_fast(self, rate: Result) -> Refusal | None:
        if rate.name == ML_PER_H:
            return too_fast(rate.exact, *ways_without_a_pump(self))
        if rate.name != GTT_PER_MIN:
            return None
        is_pumped = self.flow(self.dose_rate).amount <= MOST_RATE.amount
        ways_out = [LARGER_DROPS] if is_pumped else ways_without_a_pump(self)
        which = "is more than anybody counts"
        return too_fast(rate.exact, *ways_out, most=MOST_DROPS, why=MOST_COUNTED, which=which)

    def _between_marks(self, rate: Result) -> Refusal | None:
        way_out = FINER_PUMP if rate.name == ML_PER_H else SMALLER_DROPS
        refusal = refused([rate], way_out, within=self.within)
        if refusal and rate.is_range and (gives := self.given_by(rate)):
            said = f"{refusal.because} {rate.mark} gives {gives}."
            return replace(refusal, because=said)
        return refusal

    def given_by(self, rate: Result) -> Quantity | None:
        """The dose that a setting gives, as it is told; None where it gives none, or of no dose."""
        if self.dose_rate is None or not rate.mark.amount or self.is_capped(self.dose_rate):
            return None
        return told(DOSE_RATE, self.dose_rate.times(rate.mark.ratio_to(rate.exact))).rounded

    def _rates(self, low: Quantity, high: Quantity) -> Iterator[Result]:
        yield self._result(ML_PER_H, low, high)
        yield self._result(ML_PER_MIN, low.each("min"), high.each("min"))
        if self.drip_set:
            yield self._result(GTT_PER_MIN, self.drops(low), self.drops(high))

    def _others(self, ml_h: Quantity) -> Iterator[Result]:
        """At the fastest that it may run: a bag that is counted by less runs dry before."""
        if self.bag:
            yield told(MINUTES, self.bag.over(ml_h).to("min"), down=True)
        if self.over and not self.volume:
            yield told(RUN_IN, ml_h.of(self.over).to("mL"), never_up=self.is_never_up)
        if running := self.running:
            yield told(DOSE_RATE, running, never_up=self.is_never_up)

    def _result(self, name: str, low: Quantity, high: Quantity) -> Result:
        """A rate, each end of it as its device gives it."""
        ends = [self._end(name, each) for each in (low, high)]
        if not self._marks(name, low):
            return spanned(*ends)
        found = self._from_the_start(ends[0], set_inside(*ends))
        if name == ML_PER_MIN:
            return found
        return up_to(found, self.within, MOST_RATE if name == ML_PER_H else MOST_DROPS)

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
        flow = self.flow(self.maximum)
        if of.kind == flow.kind:
            return flow
        return flow.each("min") if of.kind == flow.each("min").kind else self.drops(flow)

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
        yield from self._by_another(asked)

    def _by_another(self, asked: str) -> Iterator[tuple[Slip, "DripProblem"]]:
        """With what else is aboard: a drip set, or a strength of the medicine."""
        if asked == GTT_PER_MIN:
            for other in self.other_sets:
                yield slips.OTHER_SET, replace(self, drip_set=other)
        for strength in self.others:
            yield slips.OTHER_PRESENTATION, replace(self, strength=strength)

    def _drops_as_ml(self, asked: str, right: tuple[Quantity, ...]) -> Iterator[Made]:
        if self.drip_set is None or asked not in (GTT_PER_MIN, ML_PER_MIN):
            return
        yield from slips.without_the_set(right, self.drip_set, is_drops=asked == GTT_PER_MIN)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing: a rate in another unit of time is another kind of amount."""
        return None


def _sixtyfold(asked: str, right: Iterable[Quantity]) -> Iterator[Made]:
    """Between a minute and an hour: of a rate, or of how long a bag lasts."""
    return (sixtyfold_time if asked == MINUTES else sixtyfold)(right)
