"""A dilution: what a volume of one strength comes to when it is filled up."""

from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from drills.engine.concentrations import told_strength
from drills.engine.dosing.results import UNSAFE_FROM, Solution, results_of, told
from drills.engine.dosing.slips import DILUENT_FOR_TOTAL, Made
from drills.engine.quantities import Quantity

CONCENTRATION = "concentration"


@dataclass(frozen=True, slots=True, kw_only=True)
class DilutionProblem:
    """A `volume` of a `strength` filled up `to` a volume (C1 x V1 = C2 x V2)."""

    kind: ClassVar[str] = "dilution"

    strength: Quantity
    volume: Quantity
    to: Quantity
    graduation: Quantity | None = None
    unsafe_from: Fraction = UNSAFE_FROM

    def solve(self) -> Solution:
        """The strength of what is then there."""
        amount = self.strength.of(self.volume)
        exact = amount.over(self.to.to("mL"))
        step = self.graduation
        return Solution(
            results=results_of(told(CONCENTRATION, exact, step=step)),
            steps=(
                f"{self.volume} x {told_strength(self.strength)} = {amount}",
                f"{amount} / {self.to} = {exact}",
            ),
        )

    def slips(self, asked: str) -> tuple[Made, ...]:
        """The diluent taken for the whole."""
        diluent = self.to.to("mL").amount - self.volume.to("mL").amount
        if diluent <= 0:
            return ()
        amount = self.strength.of(self.volume)
        return (Made(DILUENT_FOR_TOTAL, amount.over(Quantity(diluent, "mL"))),)

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for a strength."""
        return None
