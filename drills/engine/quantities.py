"""Amounts with their units, on exact decimals.

A unit belongs to one family; amounts of different families are never added, compared or turned
into each other. Rates are no amounts and are not here.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

MASS, VOLUME, EQUIVALENT, UNITS, ENERGY = "mass", "volume", "equivalent", "units", "energy"

# A unit's family, and how many of the family's smallest unit it is.
_UNITS = {
    "mcg": (MASS, 1),
    "mg": (MASS, 1_000),
    "g": (MASS, 1_000_000),
    "kg": (MASS, 1_000_000_000),
    "mL": (VOLUME, 1),
    "L": (VOLUME, 1_000),
    "mEq": (EQUIVALENT, 1),
    "mmol": (EQUIVALENT, 1),
    "units": (UNITS, 1),
    "J": (ENERGY, 1),
}
_QUANTITY = re.compile(r"([0-9][0-9,]*(?:\.[0-9]+)?) ?([A-Za-z]+)")
POUNDS_PER_KG = Fraction("2.2")


class QuantityError(ValueError):
    """A text that is no amount, or amounts that cannot be compared; the text says which."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount of a unit. `amount` is exact: no figure is rounded before the last."""

    amount: Fraction
    unit: str

    @property
    def family(self) -> str:
        return _UNITS[self.unit][0]

    def to(self, unit: str) -> "Quantity":
        """The same amount in another unit of its family; `QuantityError` otherwise."""
        family, size = _UNITS[unit]
        if family != self.family:
            raise QuantityError(f"{self.unit} is {self.family}, {unit} is {family}.")
        return Quantity(self.amount * _UNITS[self.unit][1] / size, unit)

    def times(self, factor: Fraction | int) -> "Quantity":
        return Quantity(self.amount * factor, self.unit)

    def ratio_to(self, other: "Quantity") -> Fraction:
        """How many times the other this is; both of one family."""
        return self.to(other.unit).amount / other.amount

    def exactly(self) -> str:
        """The amount with every figure, to be read again; it must be a decimal that ends."""
        exact = Decimal(self.amount.numerator) / Decimal(self.amount.denominator)
        if Fraction(exact) != self.amount:
            raise QuantityError(f"{self.amount} {self.unit} is no decimal that ends.")
        return f"{exact:f} {self.unit}"

    def __str__(self) -> str:
        return f"{plain(self.amount)} {self.unit}"


def read_quantity(text: str) -> Quantity:
    """Read `0.3 mg` or `1,000 mL`; raises `QuantityError` naming what came in."""
    match = _QUANTITY.fullmatch(text.strip())
    if match is None or match[2] not in _UNITS:
        raise QuantityError(f"{text!r} is no amount; one is a number and {', '.join(_UNITS)}.")
    return Quantity(Fraction(match[1].replace(",", "")), match[2])


def kilograms(pounds: Fraction) -> Fraction:
    """Pounds as kilograms, divided by 2.2 as crews do and as the printed tables are."""
    return pounds / POUNDS_PER_KG


def half_up(amount: Fraction, step: Fraction) -> Fraction:
    """The multiple of `step` nearest to a positive amount; exactly half goes up."""
    return (amount / step + Fraction(1, 2)).__floor__() * step


def round_down(amount: Fraction, step: Fraction) -> Fraction:
    """The greatest multiple of `step` that is no greater than an amount."""
    return (amount / step).__floor__() * step


def plain(amount: Fraction) -> str:
    """A number as it is written in medicine: leading zero, no trailing zero, commas from 1,000.

    What does not end is given to four figures after the point.
    """
    exact = Decimal(amount.numerator) / Decimal(amount.denominator)
    short = exact.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP)
    text = f"{short:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
