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
from drills.engine.dosing.pump import LIGHT_BELOW, MOST_RATE, THE_MOST, too_fast, up_to
from drills.engine.dosing.refusing import refused
from drills.engine.dosing.results import (
    Refusal,
    Result,
    Solution,
    dial_of,
    made_by,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.service import InService
from drills.engine.dosing.slips import Made, Slip, sixtyfold
from drills.engine.dosing.weight import kg_steps, wrong_weights
from drills.engine.lines import line
from drills.engine.quantities import Quantity, half_up, kilograms, round_down

TOTAL, FIRST_HALF_RATE = "total", "first_half_rate"
FIRST_HALF = Quantity(Fraction(8), "h")
SECOND_HALF = Quantity(Fraction(16), "h")
DAY = Quantity(Fraction(24), "h")
AT_ONCE = Quantity(Fraction(0), "h")
# The fluid of a day comes out of bags: from a litre on nobody tells it closer. Ours, no source.
BAGS_FROM_ML, BAG_MARKS = 1000, Fraction(10)
# In less than that nobody catches up what was due in eight hours: ours, no source.
LEAST_LEFT = Quantity(Fraction(1), "h")
# No faster is it run: what a pump is set to at most, and into whom weighs less than a child's
# formula is for, a bolus of 20 mL/kg every hour. Both ours, no source: twice what any published
# case of the formulas comes to.
MOST_RATE_OF_THE_LIGHT = Quantity(Fraction(20), "mL/kg/h")


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnProblem(InService):
    """A burn of an `area` in percent, by a formula `per` kg and percent, `since_injury` ago."""

    kind: ClassVar[str] = "burn"

    weight: Quantity
    area: Quantity
    per: Quantity
    since_injury: Quantity = AT_ONCE
    graduation: Quantity | None = None

    @property
    def kg(self) -> Quantity:
        return kilograms(self.weight, exactly=self.is_exact_pounds)

    @property
    def left(self) -> Quantity:
        """What is left of the first eight hours."""
        return Quantity(FIRST_HALF.amount - self.since_injury.to("h").amount, "h")

    def solve(self) -> Solution:
        """The total, and the rate until eight hours after the injury where any are left."""
        total = self._result(TOTAL, self._total)
        found = [total, *self._first_half_rate()]
        return Solution(
            results=results_of(*found),
            steps=tuple(self._steps(self._total)),
            refusal=self._not_run()
            or refused(
                found,
                "Use a pump with finer settings.",
                within=self.within,
            ),
            without={} if self.left.amount > 0 else {FIRST_HALF_RATE: "mL/h"},
        )

    def _first_half_rate(self) -> Iterator[Result]:
        """None after eight hours: there is nothing left to divide by."""
        if self.left.amount > 0:
            found = self._result(FIRST_HALF_RATE, self._half.over(self.left))
            yield replace(found, rounded=None) if self._not_run() else found

    @property
    def _total(self) -> Quantity:
        return self.per.of(self.kg).of(self.area).to("mL")

    @property
    def _half(self) -> Quantity:
        return self._total.times(Fraction(1, 2))

    @property
    def most_rate(self) -> Quantity:
        """The fastest that it is run into somebody of the weight."""
        by_weight = MOST_RATE_OF_THE_LIGHT.of(self.kg)
        return by_weight if self.kg.amount < LIGHT_BELOW.amount else MOST_RATE

    def _not_run(self) -> Refusal | None:
        """Why there is no rate to set; None where there is one."""
        return self._too_late() or self._too_fast()

    def _too_fast(self) -> Refusal | None:
        """Why a rate is not run, though the formula comes to it; None of one that is."""
        way_out = (
            "Ask medical direction or the burn centre for the rate, and tell what has run in: "
            f"{self._half} are due by eight hours."
        )
        return self._faster(self._half.over(self.left), way_out)

    def _faster(self, rate: Quantity, *ways_out: str) -> Refusal | None:
        """Why nothing runs in at a rate; None of one that can be run."""
        most = self.most_rate
        why = THE_MOST if most == MOST_RATE else f"{MOST_RATE_OF_THE_LIGHT} for {self.kg}"
        return too_fast(rate, *ways_out, most=most, why=why, which="is too fast to be run")

    def _too_late(self) -> Refusal | None:
        """Why no rate catches up what was due by eight hours; None where there is time."""
        since = f"{self.since_injury} after the injury"
        due = (
            f"Ask medical direction, and tell what has run in: {self._half} were due by eight hours"
        )
        if self.left.amount >= LEAST_LEFT.amount:
            return None
        if self.left.amount > 0:
            return Refusal(
                f"{since} only {self.left} of the first eight hours are left, and half of the "
                f"fluid is not run in within less than {LEAST_LEFT}.",
                (f"{due}.",),
                "is too fast to be run",
            )
        if self.since_injury.ratio_to(DAY) >= 1:
            return Refusal(
                f"{since} the day that the fluid is worked out for is over.",
                (f"Ask medical direction, and tell what has run in: {self._total} were due.",),
                "is no longer run in",
            )
        rest = self._half.over(SECOND_HALF)
        faster = self._faster(rest)
        at = f". {faster.because}" if faster else f", at {rest}."
        return Refusal(
            f"{since} the first eight hours are over.",
            (f"{due}, and the other half in the sixteen after them{at}",),
            "is no longer run in so",
        )

    def _result(self, name: str, exact: Quantity) -> Result:
        own = self.graduation if self.graduation and self.graduation.kind == exact.kind else None
        marks = own or (dial_of(exact) if name == FIRST_HALF_RATE else None)
        if marks is None:
            return _by_bags(told(name, exact, never_up=self.is_never_up))
        found = set_by(name, exact, marks, within=self.within, never_up=self.is_never_up)
        return up_to(found, self.within) if name == FIRST_HALF_RATE else found

    def _steps(self, total: Quantity) -> Iterator[str]:
        yield from kg_steps(self.weight, exactly=self.is_exact_pounds)
        yield line(f"{self.per} x {self.kg} x {self.area}", total, self.per, self.kg, self.area)
        half, left = self._half, self.left
        yield line(f"{total} / 2", half, total)
        if left.amount <= 0:
            return
        if self.since_injury.amount:
            since = self.since_injury.to("h")
            yield line(f"{FIRST_HALF} - {since}", left, since)
        yield line(f"{half} / {left}", half.over(left), half, left)

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What each slip with burns would have given."""
        right = self.solve().results[asked].exact
        made = [
            each
            for slip, altered in self._altered(asked)
            for each in made_by(slip, altered.solve(), asked)
        ]
        return (
            *made,
            *(sixtyfold([right]) if asked == FIRST_HALF_RATE else ()),
            *(self._whole_from_arrival() if asked == FIRST_HALF_RATE else ()),
            Made(slips.BURN_DOUBLED, right.times(2)),
            Made(slips.BURN_HALVED, right.times(Fraction(1, 2))),
        )

    def _whole_from_arrival(self) -> Iterator[Made]:
        if self.since_injury.amount:
            yield Made(slips.WHOLE_FROM_ARRIVAL, self._total.over(FIRST_HALF))

    def _altered(self, asked: str) -> Iterator[tuple[Slip, "BurnProblem"]]:
        for slip, weight in wrong_weights(self.weight):
            yield slip, replace(self, weight=weight)
        yield slips.NO_WEIGHT, replace(self, weight=Quantity(Fraction(1), "kg"))
        if asked == FIRST_HALF_RATE and self.since_injury.amount:
            yield slips.FROM_ARRIVAL, replace(self, since_injury=AT_ONCE)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for a volume of fluid."""
        return None


def _by_bags(total: Result) -> Result:
    """A total of a litre and more, right to the marks of a bag."""
    if total.exact.amount < BAGS_FROM_ML:
        return total
    nearest = round_down if total.rounding.is_down else half_up
    mark = Quantity(nearest(total.exact.amount, BAG_MARKS), total.exact.unit)
    return replace(total, step=BAG_MARKS, mark=mark)
