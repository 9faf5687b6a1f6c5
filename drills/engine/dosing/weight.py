"""A body weight: told in pounds or kilograms, worked with in kilograms."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing import slips
from drills.engine.dosing.refusing import refused
from drills.engine.dosing.results import (
    ONE,
    TENTH,
    UNSAFE_FROM,
    Result,
    Solution,
    results_of,
    set_by,
    told,
)
from drills.engine.dosing.slips import Made, Slip
from drills.engine.lines import line
from drills.engine.quantities import (
    KG_PER_POUND,
    POUNDS_PER_KG,
    Quantity,
    exact_text,
    half_up,
    kilograms,
    round_down,
)

KG = "kg"
# How a weight may be told: ours, no source. Half a kg of 40 kg, and half a tenth of 4 kg.
TENTHS_FROM_KG, MOST_OFF = 4, Fraction(1, 80)
# Ours, no source: whoever takes the other factor of a pound is a fifth of a percent off.
EITHER_FACTOR = Fraction(1, 400)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightProblem:
    """A weight as it was told, wanted in kilograms."""

    kind: ClassVar[str] = "weight"

    weight: Quantity
    graduation: Quantity | None = None
    is_exact_pounds: bool = False
    unsafe_from: Fraction = UNSAFE_FROM

    def solve(self) -> Solution:
        """Turn it into kilograms."""
        kg = kilograms(self.weight, exactly=self.is_exact_pounds)
        result = self._by_marks(kg, self.graduation) if self.graduation else _told(kg)
        return Solution(
            results=results_of(result),
            steps=tuple(kg_steps(self.weight, exactly=self.is_exact_pounds)) or (f"{kg}",),
            refusal=refused([result], "Tell it to a smaller part of a kg.", within=UNSAFE_FROM),
        )

    def _by_marks(self, kg: Quantity, marks: Quantity) -> Result:
        """A weight is written down, never drawn up: it is refused only where that is unsafe."""
        return set_by(KG, kg, marks, within=UNSAFE_FROM)

    def slips(self, asked: str) -> tuple[Made, ...]:
        """What the slips with pounds would have given."""
        return tuple(Made(slip, kilograms(weight)) for slip, weight in wrong_weights(self.weight))

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Pounds are never an answer in kilograms."""
        return None


def _told(kg: Quantity, *, never_up: bool = False) -> Result:
    """A weight as it is told: to three figures; from 4 kg on by tenths, as scales are.

    To the whole kg, or a smaller weight to the tenth, it is right where that misses by no more
    than half a kg does of 40 kg; and so is what either factor of a pound gives.
    """
    found = told(KG, kg, never_up=never_up)
    step = max(found.step, TENTH) if kg.amount >= TENTHS_FROM_KG else found.step
    step = max(step, 2 * EITHER_FACTOR * kg.amount)
    nearest = round_down if never_up else half_up
    coarser = (Quantity(nearest(kg.amount, each), KG) for each in (ONE, TENTH))
    near = (each for each in coarser if abs(each.amount - kg.amount) <= MOST_OFF * kg.amount)
    return replace(found, step=step, mark=next(near, found.mark))


def told_weights(
    weight: Quantity, *, exactly: bool = False, never_up: bool = False
) -> tuple[Quantity, ...]:
    """How a weight in pounds may be told in kg; none where it is told in kg, and worked with.

    Where the dose is never rounded up, no weight that it hangs on is either.
    """
    if weight.unit != "lb":
        return ()
    found = _told(kilograms(weight, exactly=exactly), never_up=never_up)
    return tuple(dict.fromkeys(filter(None, (found.rounded, found.mark))))


def wrong_weights(told_as: Quantity) -> Iterator[tuple[Slip, Quantity]]:
    """Each slip with pounds, and the weight in kg that it would have made of one that was told."""
    amount = told_as.amount
    if told_as.unit == "lb":
        yield slips.POUNDS_AS_KG, Quantity(amount, "kg")
        yield slips.POUNDS_TIMES, Quantity(amount * POUNDS_PER_KG, "kg")
        yield slips.POUNDS_TWICE, Quantity(amount / POUNDS_PER_KG**2, "kg")
        return
    yield slips.KG_AS_POUNDS, Quantity(amount / POUNDS_PER_KG, "kg")
    yield slips.KG_TO_POUNDS, Quantity(amount * POUNDS_PER_KG, "kg")


def kg_steps(weight: Quantity, *, exactly: bool = False) -> Iterator[str]:
    """The line that turns pounds into kilograms; none where they were told."""
    if weight.unit == "lb":
        by = f"x {exact_text(KG_PER_POUND)}" if exactly else "/ 2.2"
        yield line(f"{weight} {by}", kilograms(weight, exactly=exactly), weight)
