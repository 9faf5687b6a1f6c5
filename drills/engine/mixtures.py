"""How a medicine is mixed before it is given: so much of it, filled up to so much."""

from dataclasses import dataclass, replace

from drills.engine.concentrations import Presentation, read_strength, told_strength
from drills.engine.lines import line
from drills.engine.quantities import Quantity, QuantityError, family_of, read_quantity, sum_of

ONE_ML = "1 mL"


@dataclass(frozen=True, slots=True)
class Container:
    """One way a medicine comes: the `amount` that one holds, in a `volume` or in a piece.

    A plain fluid has no amount, and a powder no volume. `need` is the key of what it is tied to
    aboard, `printed` how it is named on a page. `is_ready` says that it is a syringe that is given
    as it is.
    """

    need: str
    printed: str
    amount: Quantity | None = None
    volume: Quantity | None = None
    is_ready: bool = False

    @property
    def presentation(self) -> Presentation | None:
        """As what is drawn up from it; None of a plain fluid and of a powder."""
        if self.amount is None or self.volume is None:
            return None
        return Presentation(self.amount, self.volume)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """An `amount` of a medicine in a `volume`, as one mixes it; `how` says it in words."""

    amount: Quantity
    volume: Quantity
    how: str

    @property
    def presentation(self) -> Presentation:
        """The mixture as what is drawn up, or run in."""
        return Presentation(self.amount, self.volume)

    @property
    def steps(self) -> tuple[str, ...]:
        """How it is mixed, and how strong it is then."""
        strength = self.presentation.strength
        return (f"Mix {self.how}", line(f"{self.amount} / {self.volume}", strength))


def read_mixture(
    of: Container, *, take: str = "", added: str = "", diluent: str = "", strength: str = ""
) -> Mixture:
    """Make a mixture from its printed figures; raises `QuantityError` where they do not agree.

    `take` is a volume or an amount of a container, all of one where it is empty. `added` is put to
    a volume and to a powder (`1 mL` and `9 mL` are 10 mL), and is what an amount is in (`4 mg` in
    `250 mL`). Without it `strength` says how far 1 mL, or a powder, is filled up.
    """
    if not added:
        mixture = _filled_up(of, take, diluent, strength)
    else:
        mixture = _put_together(of, take, read_quantity(added).to("mL"), diluent)
    return _made_sure(mixture, read_strength(strength)) if strength else mixture


def _put_together(of: Container, take: str, put: Quantity, diluent: str) -> Mixture:
    amount, measured, taken = _taken(of, take)
    sign = "+" if measured or of.volume is None else "in"
    return Mixture(
        amount=amount,
        volume=sum_of((measured, put)) if measured else put,
        how=f"{taken} {sign} {put} {diluent}".strip(),
    )


def _filled_up(of: Container, take: str, diluent: str, strength: str) -> Mixture:
    if not strength:
        raise QuantityError("no figures say how it is mixed.")
    amount, _, taken = _taken(of, take or (ONE_ML if of.presentation else ""))
    volume = amount.over(read_strength(strength))
    fluid = f" with {diluent}" if diluent else ""
    return Mixture(amount=amount, volume=volume, how=f"{taken}, filled up to {volume}{fluid}")


def _made_sure(mixture: Mixture, makes: Quantity) -> Mixture:
    """The mixture in the unit of its strength; `QuantityError` where it is another."""
    amount = mixture.amount.to(makes.unit.partition("/")[0])
    found = amount.over(mixture.volume)
    if found.ratio_to(makes) != 1:
        raise QuantityError(f"{amount} in {mixture.volume} is {found} and not {makes}.")
    return replace(mixture, amount=amount)


def _taken(of: Container, take: str) -> tuple[Quantity, Quantity | None, str]:
    """How much of the medicine is taken, in what volume where it is measured by one, in words."""
    what = read_quantity(take) if take else of.amount
    if what is None or not what.amount:
        raise QuantityError("nothing of it is taken to be mixed.")
    packed = of.presentation
    if what.family == family_of("mL"):
        if packed is None:
            raise QuantityError(f"{what} of what has no volume is nothing.")
        return packed.amount_in(what), what.to("mL"), f"{what} of {told_strength(packed.strength)}"
    if packed is None:
        return what, None, f"{what} powder"
    return what, None, f"{what} ({packed.volume_of(what)} of {told_strength(packed.strength)})"
