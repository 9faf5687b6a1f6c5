"""How a medicine or a fluid is packed: how much is in it, in what volume, and so how strong it is.

It is a second reader beside `concentrations` since it is about another text: people's own words
for an item, such as *Epi 1:10,000 prefilled, 10 mL* or *18 G needle*, in which a strength is looked
for, and where what says nothing or two things is no error. What it finds is read by the same code:
numbers and units by `quantities`, percentages and ratios by `concentrations`.

Strength is what a dose depends on, and is compared exactly: `10 mg / 2 mL` is as strong as
`25 mg / 5 mL`, and `1 mg / 10 mL` is ten times weaker than `1 mg / 1 mL`.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from drills.engine.concentrations import MOST_PERCENT, of_percent, of_ratio, told_strength
from drills.engine.quantities import (
    EQUIVALENT,
    MASS,
    MOLES,
    Quantity,
    QuantityError,
    plain,
    read_number,
)
from drills.engine.quantities import UNITS as OF_UNITS

SAME, OTHER, UNSAID = "same", "other", "unsaid"
MG, MEQ, MMOL, UNITS = "mg", "mEq", "mmol", "units"

_THOUSANDS = r"[1-9]\d{0,2}(?:,\d{3})+(?!\d)(?:\.\d+)?"
_NUMBER = rf"(?<![\d.,:])({_THOUSANDS}|\d+(?:[.,]\d+)?)"  # a comma before three digits parts them
# What each kind of amount is compared in. Equivalents are kept apart from moles: of calcium and
# magnesium one mole is two equivalents.
_COMPARED_IN = {MASS: MG, EQUIVALENT: MEQ, MOLES: MMOL, OF_UNITS: UNITS}
_UNIT = "mcg|ug|µg|μg|mg|g|meq|mmol|units|unit|iu"  # a lone U is too often something else
_AMOUNT = rf"{_NUMBER}\s*({_UNIT})\b"
_PER_VOLUME = re.compile(rf"{_AMOUNT}\s*(?:/|per\b|in\b)\s*(?:{_NUMBER}\s*)?(mL|cc|L)\b", re.I)
_ALONE = re.compile(_AMOUNT, re.I)
_IN = re.compile(rf"{_NUMBER}\s*(mL|cc|L)\b", re.I)
_PERCENT = re.compile(rf"{_NUMBER}\s*%")
# The strengths that sugar in water is made in; common practice, no source.
_SUGAR = re.compile(r"\bD(5|10|12\.5|25|50)W?\b")
# A gram in so many mL. Below 1:1,000 it is no ratio of a medicine; common practice, no source.
_RATIO = re.compile(rf"(?<![\d:.,])1\s*:\s*({_THOUSANDS}|\d{{4,7}})(?![\d:])")
TEXTS_KEPT = 4096  # a rig's items are read again for each prompt; bounded, as people write them
_GAUGES = range(10, 31)  # a capital G after one of these is no gram; common practice, no source


@dataclass(frozen=True, slots=True)
class Packing:
    """How one container is packed.

    `per_ml` is the strength in `unit` (mg, mEq, mmol or units) in one mL, None of what has no
    volume, such as a tablet, and of a plain fluid. `amount` is what the whole container holds in
    `unit`, `volume_ml` its volume; each is None where it is not said. `is_fluid` is whether it is
    written as a bare volume, `1000 mL bag`; its strength is then at most in its name.
    """

    unit: str = ""
    per_ml: Fraction | None = None
    amount: Fraction | None = None
    volume_ml: Fraction | None = None
    is_fluid: bool = False

    def of_strength_in(self, *names: str) -> "Packing":
        """The same with the strength that names say, where they say just one."""
        found = {
            (each.unit, each.per_ml)
            for each in map(read_packing, names)
            if each is not None and each.per_ml is not None
        }
        if len(found) != 1:
            return self
        ((unit, per_ml),) = found
        amount = per_ml * self.volume_ml if self.volume_ml else None
        return replace(self, unit=unit, per_ml=per_ml, amount=amount)

    @property
    def strength(self) -> str:
        """The strength in words: `0.1 mg/mL`, `81 mg each`, or the size of a plain fluid."""
        if self.per_ml is not None:
            return told_strength(_small(Quantity(self.per_ml, f"{self.unit}/mL")))
        if self.amount is not None:
            return f"{_small(Quantity(self.amount, self.unit))} each"
        return self.volume

    @property
    def volume(self) -> str:
        """The volume of one container in words, empty where it is not said."""
        return "" if self.volume_ml is None else f"{plain(self.volume_ml)} mL"


@dataclass(frozen=True, slots=True)
class Beside:
    """Two packings beside each other: whether strength and volume are the same.

    Strength is never unsaid: what cannot be compared is another.
    """

    strength: str
    volume: str


def beside(one: Packing, other: Packing) -> Beside:
    """Compare two packings exactly; no figure is rounded."""
    if one.volume_ml is None or other.volume_ml is None:
        volume = UNSAID
    else:
        volume = SAME if one.volume_ml == other.volume_ml else OTHER
    return Beside(SAME if _is_as_strong(one, other) else OTHER, volume)


def _is_as_strong(one: Packing, other: Packing) -> bool:
    """Of two fluids one may leave its strength unwritten, as crews do with saline."""
    if one.is_fluid and other.is_fluid and None in (one.per_ml, other.per_ml):
        return True
    mine, theirs = ((each.unit, each.per_ml, _dry(each)) for each in (one, other))
    return mine == theirs


def _dry(packing: Packing) -> Fraction | None:
    """What is in a tablet or a powder; of what has a volume it says nothing of the strength."""
    return packing.amount if packing.per_ml is None else None


@lru_cache(maxsize=TEXTS_KEPT)
def read_packing(text: str) -> Packing | None:
    """How a text says that something is packed; None where it does not, or says two things.

    Read are `10 mg / 2 mL`, `1 mg/mL`, `10 %` and `D10` (grams in 100 mL), `1:10,000` (a gram in
    so many mL), `81 mg tablet` and `1000 mL bag`, and these within other words.
    """
    strengths = {*_per_volume(text), *_in_percent(text), *_in_ratio(text)}
    volume = volume_in(text)
    if not strengths:
        return _without_strength(text, volume)
    unit, per_ml = strengths.pop()
    if strengths or not per_ml or volume == 0:
        return None
    return Packing(unit, per_ml, per_ml * volume if volume else None, volume)


def own_packing(presentation: str, name: str) -> Packing | None:
    """How an item says that it is packed: by its presentation, else by a strength in its name.

    An amount or a volume in a name is no strength: *1 mg syringe* does not say in how many mL. Of a
    bare volume the name may say the strength.
    """
    if not presentation:
        named = read_packing(name)
        return named if named and named.per_ml is not None else None
    packing = read_packing(presentation)
    return packing.of_strength_in(name) if packing and packing.is_fluid else packing


def meant_packing(size: str, *names: str) -> Packing | None:
    """How the medicine that a need is comes by its size; of a bare volume its names may say the
    strength. None where the size is none, such as *adult*."""
    packing = read_packing(size)
    return packing.of_strength_in(*names) if packing and packing.is_fluid else packing


@lru_cache(maxsize=TEXTS_KEPT)
def volume_in(text: str) -> Fraction | None:
    """The volume in mL that a text speaks of; None where it does of none or of two."""
    volumes = set(_volumes(text))
    return volumes.pop() if len(volumes) == 1 else None


def _without_strength(text: str, volume: Fraction | None) -> Packing | None:
    """What has no volume, such as a tablet, or nothing but a volume, such as a fluid."""
    amounts = set(_amounts(_ALONE.findall(text)))
    if not amounts:
        return Packing(volume_ml=volume, is_fluid=True) if volume else None
    if len(amounts) > 1 or volume is not None:
        return None
    unit, amount = amounts.pop()
    return Packing(unit, amount=amount) if amount else None


def _per_volume(text: str) -> Iterable[tuple[str, Fraction]]:
    for number, unit, volume, in_unit in _PER_VOLUME.findall(text):
        for name, amount in _amounts([(number, unit)]):
            holds = _ml(volume or "1", in_unit)
            yield name, amount / holds if holds else Fraction(0)


def _in_percent(text: str) -> Iterable[tuple[str, Fraction]]:
    for number in (*_PERCENT.findall(text), *_SUGAR.findall(text)):
        percent = _number(number)
        yield MG, of_percent(percent).amount if percent <= MOST_PERCENT else Fraction(0)


def _in_ratio(text: str) -> Iterable[tuple[str, Fraction]]:
    parts = filter(None, map(_number, _RATIO.findall(text)))
    return ((MG, of_ratio(each).amount) for each in parts)


def _volumes(text: str) -> Iterable[Fraction]:
    return (_ml(number, unit) for number, unit in _IN.findall(text))


def _ml(number: str, unit: str) -> Fraction:
    return Quantity(_number(number), unit).to("mL").amount


def _amounts(found: Iterable[tuple[str, str]]) -> Iterable[tuple[str, Fraction]]:
    for number, unit in found:
        amount = Quantity(_number(number), unit)
        if unit != "G" or amount.amount not in _GAUGES:
            compared_in = _COMPARED_IN[amount.family]
            yield compared_in, amount.to(compared_in).amount


def _number(digits: str) -> Fraction:
    """A number that was found; nothing where it is none, such as one of forty figures."""
    try:
        return read_number(digits)
    except QuantityError:
        return Fraction(0)


def _small(found: Quantity) -> Quantity:
    """In micrograms where it is under a hundredth of a milligram."""
    is_small = found.family == MASS and found.amount < Fraction(1, 100)
    return found.to(found.unit.replace(MG, "mcg", 1)) if is_small else found
