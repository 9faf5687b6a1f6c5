"""Whether a volume is drawn up as it is, why not, and what is done instead."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.concentrations import Presentation, told_strength
from drills.engine.devices import BAG_FROM_ML, SYRINGES, Device
from drills.engine.dosing.results import Refusal, Result
from drills.engine.quantities import Quantity, plain, round_up

A_ML = Quantity(Fraction(1), "mL")
MOST_MIXED_ML = 60  # the largest syringe: ours, no source
# Each filling is read off and counted anew. Ours, no source.
MOST_FILLS = 3
# Both thighs and both hips. Ours, no source.
MOST_SITES = 4
STRONGER = "Use a stronger presentation, or ask medical direction for another route."


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """A `volume` of what is `packed` so, set to a `mark` of a device in the unit of the volume;
    without a device nobody knows what it is drawn up with. `per_site` is the most that goes into
    one site, and `step` what the marks are apart, by which it is shared out."""

    volume: Quantity
    mark: Fraction
    device: Device | None
    packed: Quantity
    step: Fraction
    per_site: Quantity | None = None

    @property
    def fills(self) -> int:
        """How often it is drawn: the fillings of the device, or the whole containers that hold
        exactly as much where they are fewer, since what comes ready to give is not drawn up."""
        return min(self._fillings, self.containers or self._fillings)

    @property
    def _fillings(self) -> int:
        return self.device.fills(self.mark) if self.device else 1

    @property
    def containers(self) -> int:
        """The containers that hold exactly as much; 0 where none do."""
        whole = self.volume.ratio_to(self.packed)
        return int(whole) if whole.denominator == 1 else 0

    @property
    def is_of_whole(self) -> bool:
        """Whether whole containers are given in place of fillings."""
        return 0 < self.containers < self._fillings

    @property
    def given_whole(self) -> str:
        """The whole containers, in words."""
        return f"{Quantity(Fraction(self.containers), 'containers')} of {self.packed}, given whole"

    @property
    def is_too_much(self) -> bool:
        """Whether nobody should draw it."""
        return self.fills > MOST_FILLS or self.sites > 1

    @property
    def sites(self) -> int:
        """How many sites what is drawn is divided between, each share on a mark; one more than
        anybody is told where no mark is within the most for one."""
        if self.per_site is None or self.mark <= self.per_site.to("mL").amount:
            return 1
        most = self.per_site.to("mL").amount // self.step
        return int(-(-self._marks // most)) if most else MOST_SITES + 1

    @property
    def _marks(self) -> int:
        return int(self.mark / self.step)

    def refusal(self, others: Iterator[str]) -> Refusal | None:
        """Why it is not drawn, `others` being the ways out by what else is aboard."""
        if not self.is_too_much:
            return None
        if self.fills <= MOST_FILLS:
            which = f"is more than the {self.per_site} that go into one site"
            return Refusal(f"{self.volume} {which}.", (*self._divided(), *others, STRONGER), which)
        often = f"takes {self.fills} fillings of {self.device}"
        return Refusal(
            f"{self.volume} {often}, the largest aboard, and no more than {MOST_FILLS} are "
            "accepted.",
            (*others, *self._drawn_otherwise()),
            often,
        )

    def _divided(self) -> Iterator[str]:
        """The shares of what is drawn: all alike, or some a mark more than the others."""
        if self.sites > MOST_SITES:
            return
        least, more = divmod(self._marks, self.sites)
        share, larger = (Quantity(each * self.step, "mL") for each in (least, least + 1))
        shares = f"{share} in each"
        if more:
            shares = f"{larger} in {more} of them and {share} in {self.sites - more}"
        yield f"Give it in {self.sites} sites, {shares}, as your protocols say."

    def _drawn_otherwise(self) -> Iterator[str]:
        enough = [size for size, each in SYRINGES.items() if each.fills(self.mark) <= MOST_FILLS]
        if enough:
            yield f"Use a larger syringe, of {enough[0]} mL or more."
        if self.packed.to("mL").amount >= BAG_FROM_ML:
            yield f"Run it in from the {self.packed} that it comes in, as your protocols say."
            return
        if self.packed != A_ML:
            yield f"If its {self.packed} come ready to give, give it from them."
        yield "Run it in from a bag, as your protocols say."


def diluted(
    aboard: Presentation, drawn_with: Callable[[Presentation], Result | None]
) -> Iterator[str]:
    """A tenth as strong, as much of it mixed as the dose takes, by the mL or by whole containers
    that hold less; nothing where even so no mark comes near, or no syringe holds it."""
    weaker = Quantity(aboard.strength.amount / 10, aboard.strength.unit)
    drawn = drawn_with(Presentation(weaker.of(A_ML), A_ML))
    if drawn is None:
        return
    most = drawn.rounded_high or drawn.exact
    needed, holds = most.amount / 10, aboard.volume.to("mL").amount
    taken = round_up(needed, Fraction(1))
    if taken > holds:
        taken = round_up(needed, holds)
    if taken * 10 <= MOST_MIXED_ML:
        yield (
            f"Dilute it as your protocols say: {plain(taken)} mL and {plain(taken * 9)} mL of "
            f"diluent are {told_strength(weaker)}, of which {drawn.answer} hold the dose."
        )
