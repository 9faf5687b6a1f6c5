"""Amounts with their units, on exact fractions.

A unit has a kind: what is counted, and per what. Amounts of different kinds are never added,
compared or turned into each other: mcg/min, mcg/kg/min, mL/h, mL/min and gtt/min are five kinds.
What may be multiplied or divided is decided by the units alone, so that a formula with a unit in
the wrong place is an error and never a number. Body weight (kg, lb) is no mass of a medicine.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from functools import cached_property, lru_cache

MASS, VOLUME, EQUIVALENT, MOLES, UNITS = "mass", "volume", "equivalent", "moles", "units"
ENERGY, DROPS, PIECES, WEIGHT, TIME = "energy", "drops", "pieces", "body weight", "time"
PRESSURE, PERCENT = "pressure", "percent"

_FAMILIES = {
    "mcg": MASS, "mg": MASS, "g": MASS, "mL": VOLUME, "L": VOLUME,
    "mEq": EQUIVALENT, "mmol": MOLES, "units": UNITS, "J": ENERGY, "gtt": DROPS, "tablet": PIECES,
    "kg": WEIGHT, "lb": "pounds", "s": TIME, "min": TIME, "h": TIME,
    "psi": PRESSURE, "mmHg": "blood pressure", "mm": "length", "beats": "beats",
    "points": "points", "index": "index", "containers": "containers", "%": PERCENT,
}  # fmt: skip
# How many of its family's smallest unit one is; one of the others is that smallest.
_SIZES = {"mg": 1_000, "g": 1_000_000, "L": 1_000, "min": 60, "h": 3_600}
# Other words for a unit that are understood; how a unit should be written is `writing`'s concern.
_WORDS = {
    "µg": "mcg", "μg": "mcg", "ug": "mcg", "microgram": "mcg", "micrograms": "mcg",
    "milligram": "mg", "milligrams": "mg", "gram": "g", "grams": "g", "gm": "g",
    "ml": "mL", "cc": "mL", "millilitre": "mL", "millilitres": "mL", "milliliter": "mL",
    "milliliters": "mL", "l": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L",
    "meq": "mEq", "unit": "units", "iu": "units", "u": "units",
    "j": "J", "joule": "J", "joules": "J", "drop": "gtt", "drops": "gtt", "gtts": "gtt",
    "container": "containers", "point": "points",
    "tablets": "tablet", "tab": "tablet", "tabs": "tablet",
    "kilogram": "kg", "kilograms": "kg", "kgs": "kg",
    "lbs": "lb", "pound": "lb", "pounds": "lb",
    "sec": "s", "second": "s", "seconds": "s", "minute": "min", "minutes": "min", "mins": "min",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "percent": "%",
}  # fmt: skip
# No two units differ by their capitals alone: a phone that begins with one is understood.
_WORDS |= {unit.lower(): unit for unit in _FAMILIES}

# A whole rate in one word.
_RATES = {"lpm": "L/min"}
# One of them has no s; of an index nothing is counted.
_PLURALS = ("containers", "points", "units")
BARE = "index"
# Nobody counts out more than hundredths of these.
_COUNTED = ("tablet", "containers")
# Of less, hundredths are more than a twentieth off. Ours, no source.
LEAST_IN_HUNDREDTHS = Fraction(1, 10)

_SUCH_AS = "such as mg, mcg/kg/min, mL/h or kg"

LONGEST_TEXT = 60
# More figures than any amount has; what is worked out of four such numbers is still exact.
MOST_FIGURES = 30
_CONTEXT_FIGURES = 250
_FRACTION = re.compile(r"(?:([0-9]{1,4})\s+)?([0-9]{1,4})\s*/\s*([0-9]{1,4})", re.ASCII)
_PLAIN_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+", re.ASCII)
THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"(?:0+,[0-9]*|[0-9]*,(?:[0-9]{0,2}|[0-9]{4,}))", re.ASCII)
_BELOW_ZERO = re.compile(
    r"(?:[-\u2010-\u2015\u2212\ufe63\uff0d]|minus\s)\s*[0-9.,]*[0-9]", re.ASCII | re.IGNORECASE
)
_QUANTITY = re.compile(r"([0-9.,]+)\s*([^\s0-9.,].*)", re.ASCII)
POUNDS_PER_KG = Fraction("2.2")
KG_PER_POUND = Fraction("0.45359237")
# How many figures are given of a number that does not end.
FIGURES = 6


class QuantityError(ValueError):
    """A text that is no amount, or amounts that cannot be brought together; the text says which."""


@dataclass(frozen=True)
class _Unit:
    """What is counted and per what, each as (unit, family, size)."""

    above: str
    below: tuple[str, ...]

    @cached_property
    def kind(self) -> tuple[str, ...]:
        """The family counted, then what it is counted per; each unit of time is its own."""
        per = (each if family_of(each) == TIME else family_of(each) for each in self.below)
        return (family_of(self.above), *sorted(per))

    @cached_property
    def size(self) -> Fraction:
        """How many of its kind's smallest one of it is."""
        size = Fraction(_size(self.above))
        for each in self.below:
            if family_of(each) != TIME:
                size /= _size(each)
        return size

    @cached_property
    def text(self) -> str:
        return "/".join((self.above, *self.below))

    def __str__(self) -> str:
        return self.text


def family_of(unit: str) -> str:
    """The family of a plain unit, such as mass; of a unit with a stroke, of what it counts."""
    return _FAMILIES[_unit(unit).above if "/" in unit else unit]


def _size(unit: str) -> int:
    return _SIZES.get(unit, 1)


# Bounded: the texts come from people.
@lru_cache(maxsize=1024)
def _unit(text: str) -> _Unit:
    told = _RATES.get(text.strip().lower(), text.strip())
    parts = [_word(part) for part in re.sub(r"\s+per\s+", "/", told).split("/")]
    unknown = [part for part in parts if part not in _FAMILIES]
    if unknown:
        raise QuantityError(f"{unknown[0]!r} is no unit; one is {_SUCH_AS}.")
    families = [family_of(part) for part in parts]
    if len(set(families)) < len(families) or "lb" in parts[1:]:
        raise QuantityError(f"{text!r} is no unit that an amount can have.")
    return _Unit(parts[0], tuple(parts[1:]))


def _word(text: str) -> str:
    text = text.strip()
    return text if text in _FAMILIES else _WORDS.get(text.lower(), text)


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount of a unit, such as 0.1 of `mg/kg`. `amount` is exact: nothing is rounded before
    the last figure. Raises `QuantityError` for a unit that is none."""

    amount: Fraction
    unit: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", _unit(self.unit).text)

    @property
    def family(self) -> str:
        """What is counted, such as mass."""
        return family_of(self.unit)

    @property
    def kind(self) -> tuple[str, ...]:
        """What is counted and per what; only amounts of one kind are compared."""
        return _unit(self.unit).kind

    @property
    def per(self) -> tuple[str, ...]:
        """The units below the stroke."""
        return _unit(self.unit).below

    def to(self, unit: str) -> "Quantity":
        """The same amount in another unit of its kind; `QuantityError` otherwise."""
        if unit == self.unit:
            return self
        mine, other = _unit(self.unit), _unit(unit)
        if mine.kind != other.kind:
            raise QuantityError(f"{self.unit} and {unit} are different kinds of amount.")
        return Quantity(self.amount * mine.size / other.size, unit)

    def times(self, factor: Fraction | int) -> "Quantity":
        """So many times as much, of the same unit."""
        return Quantity(self.amount * factor, self.unit)

    def ratio_to(self, other: "Quantity") -> Fraction:
        """How many times the other this is; both of one kind, the other not nothing."""
        if not other.amount:
            raise QuantityError(f"Nothing can be measured by {other}.")
        return self.to(other.unit).amount / other.amount

    def of(self, other: "Quantity") -> "Quantity":
        """This for each of the other: 0.1 mg/kg of 20 kg is 2 mg.

        Raises `QuantityError` where no unit of one is below the stroke of the other.
        """
        mine, its = _unit(self.unit), _unit(other.unit)
        above, below = [mine.above, its.above], [*mine.below, *its.below]
        return _cancelled(self.amount * other.amount, above, below, f"{self} of {other}")

    def over(self, other: "Quantity") -> "Quantity":
        """This divided by the other: 2 mg over 3 mg/mL is 0.667 mL; 1 L over 8 h is 0.125 L/h."""
        if not other.amount:
            raise QuantityError(f"{self} cannot be divided by {other}.")
        mine, its = _unit(self.unit), _unit(other.unit)
        above, below = [mine.above, *its.below], [*mine.below, its.above]
        return _cancelled(self.amount / other.amount, above, below, f"{self} over {other}")

    def each(self, time: str) -> "Quantity":
        """A rate told per another unit of time: 2 mL/min each `h` is 120 mL/h.

        The one way between rates; raises `QuantityError` for what is no rate.
        """
        unit = _unit(self.unit)
        own = [each for each in unit.below if family_of(each) == TIME]
        if len(own) != 1 or family_of(time) != TIME:
            raise QuantityError(f"{self} is no rate.")
        below = tuple(time if each in own else each for each in unit.below)
        size = Fraction(_size(time), _size(own[0]))
        return Quantity(self.amount * size, str(_Unit(unit.above, below)))

    @property
    def is_cut(self) -> bool:
        """Whether fewer figures are told of it than it has."""
        return self.told != self.amount

    @property
    def told(self) -> Fraction:
        """The amount to the figures that are told of it."""
        return _number(self._figures.replace(",", ""))

    def exactly(self) -> str:
        """The amount with every figure, to be read again; it must be a decimal that ends."""
        text = exact_text(self.amount)
        if Fraction(text) != self.amount:
            raise QuantityError(f"{self.amount} {self.unit} is no decimal that ends.")
        return f"{text} {self.unit}"

    def __str__(self) -> str:
        gap = "" if self.unit == "%" else " "
        return f"{self._figures}{gap}{self._counted}".strip()

    @property
    def _figures(self) -> str:
        """The number as it is told; of what is counted hundredths, where they tell it from a whole
        one and it is a tenth at least."""
        if self.unit not in _COUNTED or self.amount < LEAST_IN_HUNDREDTHS:
            return plain(self.amount)
        hundredths = half_up(self.amount, Fraction(1, 100))
        is_short = hundredths % 1 or not self.amount % 1
        return plain(hundredths if is_short else self.amount)

    @property
    def _counted(self) -> str:
        if self.unit == BARE:
            return ""
        counted, stroke, per = self.unit.partition("/")
        if counted in _PLURALS and self.amount == 1:
            return f"{counted.removesuffix('s')}{stroke}{per}"
        return f"{self.unit}s" if self.unit == "tablet" and not 0 < self.amount <= 1 else self.unit


def _cancelled(amount: Fraction, above: list[str], below: list[str], told: str) -> Quantity:
    """What is above and below in one family falls out; one unit must stay above."""
    for each in list(below):
        match = next((one for one in above if family_of(one) == family_of(each)), None)
        if match is not None:
            amount *= Fraction(_size(match), _size(each))
            above.remove(match)
            below.remove(each)
    if len(above) != 1:
        raise QuantityError(f"{told} is no amount: the units do not go together.")
    below.sort(key=lambda unit: family_of(unit) == TIME)  # mcg/kg/min, never mcg/min/kg
    return Quantity(amount, "/".join((above[0], *below)))


def read_number(text: str) -> Fraction:
    """Read `1,000`, `0.5` or `0,5`; raises `QuantityError` naming what came in.

    A comma before exactly three figures, with no zero leading, is a thousands mark; any other
    single comma is a decimal one.
    """
    text = text.strip()
    if len(text) <= MOST_FIGURES and any(figure.isdecimal() for figure in text):
        if _PLAIN_NUMBER.fullmatch(text):
            return _number(text)
        if THOUSANDS.fullmatch(text):
            return _number(text.replace(",", ""))
        if _DECIMAL_COMMA.fullmatch(text):
            return _number(text.replace(",", "."))
    raise QuantityError(_no_number(text))


def _no_number(text: str) -> str:
    if low := below_zero(text):
        return f"{low}."
    written = as_decimals(text) or "1000, 1,000, 1.5 and 0,5 are"
    return f"{text[:LONGEST_TEXT]!r} is no number; {written}."


def below_zero(text: str) -> str:
    """That an amount is below zero, as it came in and why that is none; nothing of another."""
    found = _BELOW_ZERO.match(text.strip()[:LONGEST_TEXT])
    return f"{found[0]!r} is below zero, and no amount is" if found else ""


def as_decimals(text: str) -> str:
    """How a fraction such as `1 1/2` or `½` is written, in words; nothing of what is none."""
    match = _FRACTION.fullmatch(text.replace("½", " 1/2").replace("¼", " 1/4").strip())
    if match is None or not int(match[3]):
        return ""
    amount = int(match[1] or 0) + Fraction(int(match[2]), int(match[3]))
    half = half_up(amount, told_step(amount)) if amount else amount
    return f"write {plain(half)}"


def _number(text: str) -> Fraction:
    whole, _, part = text.partition(".")
    return Fraction(f"{whole or 0}.{part or 0}")


def read_quantity(text: str) -> Quantity:
    """Read `0.3 mg`, `1,000 mL` or `5 mcg/kg/min`; raises `QuantityError` naming what came in."""
    match = _QUANTITY.fullmatch(text.strip()) if len(text) <= LONGEST_TEXT else None
    if match is None:
        if low := below_zero(text):
            raise QuantityError(f"{low}.")
        raise QuantityError(
            f"{text[:LONGEST_TEXT]!r} is no amount; one is a number and a unit, {_SUCH_AS}."
        )
    return Quantity(read_number(match[1]), match[2])


def sum_of(amounts: Iterable[Quantity]) -> Quantity:
    """All of them together, in the unit of the first; `QuantityError` for different kinds."""
    first, *others = amounts
    return Quantity(sum((each.to(first.unit).amount for each in others), first.amount), first.unit)


def kilograms(weight: Quantity, *, exactly: bool = False) -> Quantity:
    """A body weight in kg. Pounds are divided by 2.2, as crews do and as the printed tables are,
    or `exactly` taken 0.45359237 kg each."""
    if weight.unit == "lb":
        amount = weight.amount * KG_PER_POUND if exactly else weight.amount / POUNDS_PER_KG
        return Quantity(amount, "kg")
    return weight.to("kg")


def half_up(amount: Fraction, step: Fraction) -> Fraction:
    """The multiple of `step` nearest to a positive amount; exactly half goes up."""
    return (amount / step + Fraction(1, 2)).__floor__() * step


def round_down(amount: Fraction, step: Fraction) -> Fraction:
    """The greatest multiple of `step` that is no greater than an amount."""
    return (amount / step).__floor__() * step


def round_up(amount: Fraction, step: Fraction) -> Fraction:
    """The least multiple of `step` that is no less than an amount."""
    return -round_down(-amount, step)


def told_step(amount: Fraction) -> Fraction:
    """The step that leaves three figures of an amount, and never more than one: ours, no source."""
    if not amount:
        return Fraction(1)
    order = Decimal(amount.numerator) / Decimal(amount.denominator)
    return min(Fraction(10) ** (order.adjusted() - 2), Fraction(1))


def exact_text(amount: Fraction, *, places: int = 12) -> str:
    """Every figure of a number that ends, else so many places and no fewer than six figures,
    halves up; to be read again."""
    with localcontext(prec=_CONTEXT_FIGURES):
        exact = Decimal(amount.numerator) / Decimal(amount.denominator)
        if Fraction(exact) != amount:
            places = max(places, FIGURES - 1 - exact.adjusted())
            exact = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    return f"{exact:f}"


def written(found: Quantity) -> str:
    """An amount to be kept and read again: `1,000 mL`, `0.5 mg/kg`, with every figure it has;
    `QuantityError` for one that does not end."""
    text = str(found)
    return text if read_quantity(text) == found else found.exactly()


# What each slip would have given repeats most figures of the right working.
@lru_cache(maxsize=4096)
def plain(amount: Fraction) -> str:
    """A number as it is written in medicine: leading zero, no trailing zero, commas from 1,000.

    Of what does not end six figures are given.
    """
    with localcontext(prec=_CONTEXT_FIGURES):
        exact = Decimal(amount.numerator) / Decimal(amount.denominator)
        if exact:
            places = max(FIGURES - 1 - exact.adjusted(), 0)
            exact = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
        text = f"{exact:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
