"""A dilution: what a volume of one strength comes to when it is filled up."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from drills.engine.concentrations import MG_PER_ML_OF_ONE_PERCENT, told_strength
from drills.engine.dosing.results import UNSAFE_FROM, Result, Solution, results_of, told
from drills.engine.dosing.slips import DILUENT_FOR_TOTAL, Made
from drills.engine.lines import line
from drills.engine.quantities import MASS, Quantity

CONCENTRATION, PERCENT = "concentration", "percent"


@dataclass(frozen=True, slots=True, kw_only=True)
class DilutionProblem:
    """A `volume` of a `strength` filled up `to` a volume (C1 x V1 = C2 x V2).

    A mass by volume is told in percent as well.
    """

    kind: ClassVar[str] = "dilution"

    strength: Quantity
    volume: Quantity
    to: Quantity
    unsafe_from: Fraction = UNSAFE_FROM

    def solve(self) -> Solution:
        """The strength of what is then there."""
        volume, to = self.volume.to("mL"), self.to.to("mL")
        amount = self.strength.of(volume)
        exact = amount.over(to)
        percent = results_of(*_told(exact)).get(PERCENT)
        in_percent = _percent_line(exact, percent.exact) if percent else ""
        return Solution(
            results=results_of(*_told(exact)),
            beside={PERCENT: in_percent} if in_percent else {},
            steps=(
                line(f"{volume} x {told_strength(self.strength)}", amount, volume, self.strength),
                line(f"{amount} / {to}", exact, amount, to),
            ),
        )

    def slips(self, asked: str) -> tuple[Made, ...]:
        """The diluent taken for the whole."""
        diluent = self.to.to("mL").amount - self.volume.to("mL").amount
        if diluent <= 0:
            return ()
        strength = self.strength.of(self.volume).over(Quantity(diluent, "mL"))
        return tuple(
            Made(DILUENT_FOR_TOTAL, each.exact) for each in _told(strength) if each.name == asked
        )

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for a strength."""
        return None


def _percent_line(strength: Quantity, percent: Quantity) -> str:
    """How a strength becomes a percentage."""
    told = strength.to("mg/mL")
    return line(f"{told} x 1% / {MG_PER_ML_OF_ONE_PERCENT} mg/mL", percent, told)


def _told(strength: Quantity) -> Iterator[Result]:
    yield told(CONCENTRATION, strength)
    if strength.family == MASS:
        percent = strength.to("mg/mL").amount / MG_PER_ML_OF_ONE_PERCENT
        yield told(PERCENT, Quantity(percent, "%"))
