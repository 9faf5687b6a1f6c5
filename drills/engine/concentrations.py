"""How much of a medicine is in each mL: read from a label, always told as mg/mL and the like.

A percent is grams in 100 mL; a ratio 1:N is one gram in N mL (USP chapter <7>). Both are mass by
volume, no folds of a dilution. Ratios are read, since old labels and people use them, and never
written: a single medicine for injection is labelled by its strength alone (USP <7>, 2016).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.quantities import (
    EQUIVALENT,
    MASS,
    MOLES,
    PIECES,
    UNITS,
    VOLUME,
    Quantity,
    QuantityError,
    family_of,
    plain,
    read_number,
    read_quantity,
)

_PERCENT = re.compile(r"([0-9.,]+)\s*(?:%|percent)", re.ASCII)
_RATIO = re.compile(r"1\s*(?::|in)\s*([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)", re.ASCII)
MG_PER_ML_OF_ONE_PERCENT = 10
MG_PER_ML_OF_ONE_TO_ONE = 1000
_ACCEPTED = "a strength is such as 3 mg/mL, 10 mg / 2 mL, 10% or 1:10,000"


@dataclass(frozen=True, slots=True)
class Presentation:
    """How a medicine is packed: an amount in a volume, or in a piece such as a tablet."""

    amount: Quantity
    volume: Quantity

    @property
    def strength(self) -> Quantity:
        """How much is in each mL or piece."""
        return self.amount.over(self.volume.to("mL") if _is_volume(self.volume) else self.volume)

    def volume_of(self, dose: Quantity) -> Quantity:
        """The volume, or the pieces, that hold a dose; `QuantityError` for a dose of another
        kind."""
        return dose.over(self.strength)

    def amount_in(self, volume: Quantity) -> Quantity:
        """What is in a volume."""
        return self.strength.of(volume).to(self.amount.unit)

    def __str__(self) -> str:
        return f"{self.amount} / {self.volume}"


def read_strength(given: str | Mapping[str, str]) -> Quantity:
    """Read `3 mg/mL`, `10 mg / 2 mL`, `10 %`, `1:10,000`, or `{"amount": "1 mg", "in": "250 mL"}`.

    Raises `QuantityError` naming what came in. What comes back is an amount of something in a
    volume, or in a piece; a percent and a ratio come back as mg/mL.
    """
    if isinstance(given, Mapping):
        return _parted(given)
    text = given.strip()
    if match := _PERCENT.fullmatch(text):
        return _strong(read_number(match[1]) * MG_PER_ML_OF_ONE_PERCENT, given)
    if match := _RATIO.fullmatch(text):
        return _strong(MG_PER_ML_OF_ONE_TO_ONE / (read_number(match[1]) or _refuse(given)), given)
    amount, stroke, volume = text.partition(" / ")
    if stroke:
        return _parted({"amount": amount, "in": volume})
    return _checked(read_quantity(text), given)


def _strong(amount: Fraction, given: object) -> Quantity:
    return _checked(Quantity(amount, "mg/mL"), given)


def _parted(given: Mapping[str, str]) -> Quantity:
    unknown = given.keys() ^ {"amount", "in"}
    if unknown or not all(isinstance(each, str) for each in given.values()):
        raise QuantityError("it is no strength; one has an amount and an in, both texts.")
    volume = read_quantity(given["in"])
    if _is_volume(volume):
        volume = volume.to("mL")
    return _checked(read_quantity(given["amount"]).over(volume), given)


def _checked(strength: Quantity, given: object) -> Quantity:
    below = [family_of(each) for each in strength.per]
    is_medicine = strength.family in (MASS, EQUIVALENT, MOLES, UNITS)
    if not strength.amount or not is_medicine or below not in ([VOLUME], [PIECES]):
        raise _error(given)
    return strength


def _is_volume(amount: Quantity) -> bool:
    return amount.unit in ("mL", "L")


def _error(given: object) -> QuantityError:
    return QuantityError(f"{given!r} is no strength; {_ACCEPTED}.")


def _refuse(given: object) -> Fraction:
    raise _error(given)


def read_presentation(text: str) -> Presentation:
    """Read `10 mg / 2 mL`; raises `QuantityError` for what has no volume, such as a tablet."""
    amount, stroke, volume = text.partition(" / ")
    if not stroke:
        raise QuantityError(f"{text!r} has no volume; one is such as 10 mg / 2 mL.")
    read = Presentation(read_quantity(amount), read_quantity(volume))
    if not read.amount.amount or not read.volume.amount:
        raise QuantityError(f"{text!r} holds nothing.")
    return read


def told_strength(strength: Quantity) -> str:
    """A strength as it is written on a label: per mL, never as a ratio."""
    return f"{plain(strength.amount)} {strength.unit}"
