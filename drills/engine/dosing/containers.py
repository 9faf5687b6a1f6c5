"""How many containers a dose takes, where one does not hold it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from drills.engine.dosing.dose import VOLUME, DoseProblem
from drills.engine.dosing.opening import how_many, taken_of
from drills.engine.dosing.results import UNSAFE_FROM, Result, Solution, results_of, told
from drills.engine.dosing.slips import Made
from drills.engine.lines import line
from drills.engine.quantities import Quantity, plain, round_up

OPEN = "open"
ONE = Fraction(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersProblem:
    """The containers of the presentation of a `dose` that its volume takes; none is half opened."""

    kind: ClassVar[str] = "containers"

    dose: DoseProblem
    unsafe_from: Fraction = UNSAFE_FROM

    def solve(self) -> Solution:
        """How many are opened, beside all that the dose gives."""
        worked = self.dose.solve()
        each = self.dose.presentation
        if each is None or VOLUME not in worked.results:
            return worked
        volume, holds = taken_of(worked.results[VOLUME]), each.volume
        many = Quantity(Fraction(how_many(volume, holds)), "containers")
        found: Result = told(OPEN, many)
        steps = [*worked.steps]
        ratio = Quantity(volume.ratio_to(holds), "containers")
        steps.append(line(f"{volume} / {holds}", ratio, volume, holds))
        steps += self._rounded_up(many.amount, ratio.amount)
        return Solution(
            results=results_of(*worked.results.values(), found),
            steps=tuple(steps),
            limit=worked.limit,
            limit_high=worked.limit_high,
            refusal=worked.refusal,
            refusals=worked.refusals,
        )

    def _rounded_up(self, many: Fraction, exactly: Fraction) -> Iterator[str]:
        """The line to whole ones, or to all doses; none where neither changes the figure."""
        is_cut = many != exactly
        if is_cut or self.dose.doses > 1:
            yield f"{'Rounded up: ' if is_cut else ''}{plain(many)}{self._for_all(many)}"

    def _for_all(self, many: Fraction) -> str:
        """That it is for one dose, where more are asked, and how many for all of them."""
        doses = self.dose.doses
        if doses == 1:
            return ""
        of_all = plain(many * doses)
        return f" for one dose; {of_all} for all {doses}, where each has containers of its own"

    def slips(self, asked: str) -> tuple[Made, ...]:
        """Those of the dose, as many containers as each would have taken."""
        each = self.dose.presentation
        if asked != OPEN or each is None:
            return self.dose.slips(asked)
        return tuple(
            Made(made.slip, Quantity(round_up(made.value.ratio_to(each.volume), ONE), "containers"))
            for made in self.dose.slips(VOLUME)
            if made.value.kind == each.volume.kind
        )

    def without_limits(self) -> "ContainersProblem":
        """The same where the limits of its dose are forgotten."""
        return replace(self, dose=self.dose.without_limits())

    def instead(self, asked: str, given: Quantity) -> Quantity | None:
        """Nothing stands for a count."""
        return None
