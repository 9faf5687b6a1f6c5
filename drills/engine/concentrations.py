"""How much of a medicine is in each mL: read from a label, always told as mg/mL and the like.

This is the one reader of a strength that is a text of its own, and the one that writes it;
`packing` looks for one among other words and has what it finds read here. A percent is grams in
100 mL; a ratio 1:N is one gram in N mL (USP chapter <7>). Both are mass by volume, no folds of a
dilution.
Ratios are read, since old labels and people use them, and never written: a single medicine for
injection is labelled by its strength alone (USP <7>, 2016).
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
    written,
)
from drills.engine.writing import remarks

SUBSTANCES = (MASS, EQUIVALENT, MOLES, UNITS)  # what is dissolved, so that a volume holds it
ACCEPTED = (
    "an amount per mL, in a volume or alone, a percentage or a ratio, such as 3 mg/mL, "
    "10 mg / 2 mL, 81 mg, 10 % (no more than 100 %) or 1:10,000"
)
VOLUME_ACCEPTED = "a volume in mL or L, such as 10 mL"
MG_PER_ML_OF_ONE_PERCENT = 10
MG_PER_ML_OF_ONE_TO_ONE = 1000
MOST_PERCENT = 100
_PERCENT = re.compile(r"([0-9.,]+)\s*(?:%|percent)", re.ASCII)
# The parts are whole: of 1:10,00 nobody knows whether it is 10 or 1,000.
_RATIO = re.compile(r"1\s*(?::|in)\s*([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)", re.ASCII)
_IN = re.compile(r"\s*/\s*(?=[0-9.,])", re.ASCII)
_SHOWN = "a strength is such as 3 mg/mL, 10 mg / 2 mL, 10% or 1:10,000"
# U is taken for 0 or 4 (the do-not-use list): nobody reads it out of a formulary.
_NEVER_KEPT = frozenset({"units", "mL"})


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

    def in_unit_of(self, dose: Quantity) -> "Presentation":
        """The same in the unit of a dose, whatever that is per, as it is divided by: 1 g / 10 mL as
        1,000 mg / 10 mL for mg/kg; as it is for a dose of another kind, such as one by volume."""
        if self.amount.family != dose.family:
            return self
        return Presentation(self.amount.to(dose.unit.partition("/")[0]), self.volume)

    def __str__(self) -> str:
        return f"{self.amount} / {self.volume}"


def of_percent(percent: Fraction) -> Quantity:
    """The strength that a percentage is: 10 % is 100 mg/mL; `QuantityError` for over 100 %."""
    if percent > MOST_PERCENT:
        raise QuantityError(f"{plain(percent)} % came in; a percentage is no more than 100 %.")
    return Quantity(percent * MG_PER_ML_OF_ONE_PERCENT, "mg/mL")


def of_ratio(parts: Fraction) -> Quantity:
    """The strength that one gram in so many mL is, more than none: 1:10,000 is 0.1 mg/mL."""
    return Quantity(MG_PER_ML_OF_ONE_TO_ONE / parts, "mg/mL")


def read_strength(given: str | Mapping[str, str]) -> Quantity:
    """Read `3 mg/mL`, `10 mg / 2 mL`, `10 %`, `1:10,000`, or `{"amount": "1 mg", "in": "250 mL"}`.

    Raises `QuantityError` naming what came in. What comes back is an amount of something in a
    volume, or in a piece; a percent and a ratio come back as mg/mL.
    """
    if parts := _parts(given):
        return _checked(Presentation(*parts).strength, given)
    text = str(given).strip()
    if match := _PERCENT.fullmatch(text):
        return _checked(of_percent(read_number(match[1])), given)
    if match := _RATIO.fullmatch(text):
        return _checked(of_ratio(read_number(match[1]) or _refuse(given)), given)
    return _checked(read_quantity(text), given)


def read_packed(given: str | Mapping[str, str]) -> Presentation:
    """Read what `read_strength` reads, with what it comes in: the 2 mL of `10mg/2mL`; one mL or
    one piece where none is told. Raises `QuantityError` as that does."""
    strength = read_strength(given)
    one = Quantity(Fraction(1), strength.per[0])
    return Presentation(*(_parts(given) or (strength.of(one), one)))


def has_container(given: str | Mapping[str, str]) -> bool:
    """Whether a strength that is read says what it comes in: a volume of its own, or a piece. Of
    3 mg/mL, 10 % and 1:10,000 nobody knows how much is in one."""
    return _parts(given) is not None or family_of(read_strength(given).per[0]) == PIECES


def _parts(given: str | Mapping[str, str]) -> tuple[Quantity, Quantity] | None:
    """The amount, and what it is in: `10 mg / 2 mL`; None of what is told for one mL or alone."""
    if isinstance(given, Mapping):
        return _parted(given)
    amount, *volume = _IN.split(given.strip(), maxsplit=1)
    return (read_quantity(amount), read_quantity(volume[0])) if volume else None


def _parted(given: Mapping[str, str]) -> tuple[Quantity, Quantity]:
    unknown = given.keys() ^ {"amount", "in"}
    if unknown or not all(isinstance(each, str) for each in given.values()):
        raise QuantityError("it is no strength; one has an amount and an in, both texts.")
    return read_quantity(given["amount"]), read_quantity(given["in"])


def _checked(strength: Quantity, given: object) -> Quantity:
    below = [family_of(each) for each in strength.per]
    is_medicine = strength.family in SUBSTANCES
    if not strength.amount or not is_medicine or below not in ([VOLUME], [PIECES]):
        raise _error(given)
    return strength


def _is_volume(amount: Quantity) -> bool:
    return amount.unit in ("mL", "L")


def _error(given: object) -> QuantityError:
    return QuantityError(f"{given!r} is no strength; {_SHOWN}.")


def _refuse(given: object) -> Fraction:
    raise _error(given)


def read_presentation(text: str) -> Presentation:
    """Read `10 mg / 2 mL`; raises `QuantityError` for what has no volume, such as a tablet."""
    parts = _parts(text)
    if parts is None:
        raise QuantityError(f"{text!r} has no volume; one is such as 10 mg / 2 mL.")
    if not all(each.amount for each in parts):
        raise QuantityError(f"{text!r} holds nothing.")
    return Presentation(*parts)


def told_strength(strength: Quantity) -> str:
    """A strength as it is written on a label: per mL, never as a ratio."""
    return str(strength)


def held_by(packed: Presentation) -> str:
    """How an amount becomes the volume that holds it, after the amount: through the strength, or
    through the label where more figures of it are to be told than there is room for."""
    if not packed.strength.is_cut:
        return f" / {told_strength(packed.strength)}"
    return f" x {packed.volume} / {packed.amount}"


def holding(packed: Presentation) -> str:
    """How a volume becomes what it holds, after the volume."""
    if not packed.strength.is_cut:
        return f" x {told_strength(packed.strength)}"
    return f" x {packed.amount} / {packed.volume}"


def figures_held(packed: Presentation) -> tuple[Quantity, ...]:
    """The figures that `held_by` and `holding` tell."""
    return (packed.amount, packed.volume) if packed.strength.is_cut else (packed.strength,)


def written_strength(text: str) -> str:
    """A strength as a formulary keeps it, with every figure; `QuantityError` for what is none.

    `1:10,000` becomes `0.1 mg/mL`, `10%` becomes `10 %`, `10mg/2ml` becomes `10 mg / 2 mL`, and
    `81 mg` of a tablet stays. A ratio that does not end as mg/mL is refused.
    """
    try:
        amounts = _kept(text.strip())
    except QuantityError as error:
        raise QuantityError(f"{text!r} is no strength; it takes {ACCEPTED}.") from error
    try:
        return " / ".join(map(written, amounts)).replace("%", " %")
    except QuantityError as error:
        raise QuantityError(
            f"{text!r} has no end as mg/mL; it takes a strength that ends, such as 0.1 mg/mL."
        ) from error


def _kept(text: str) -> tuple[Quantity, ...]:
    """What a strength says, in its own figures: a percentage, an amount in a volume, an amount in
    each mL, or an amount alone."""
    _refuse_letters(text)
    if match := _PERCENT.fullmatch(text):
        _ = read_strength(text)
        return (Quantity(read_number(match[1]), "%"),)
    if _RATIO.fullmatch(text):
        return (read_strength(text),)
    if parts := _parts(text):
        if not _is_volume(parts[1]):
            raise _error(text)
        _ = read_strength(text)
        return parts
    found = read_quantity(text)
    if found.per:
        return (read_strength(text).to(f"{found.unit.partition('/')[0]}/mL"),)
    if found.family not in SUBSTANCES or not found.amount:
        raise _error(text)
    return (found,)


def written_volume(text: str) -> str:
    """A volume as a formulary keeps it, such as `1,000 mL`; raises `QuantityError` for none."""
    try:
        _refuse_letters(text.strip())
        found = read_quantity(text)
    except QuantityError:
        found = Quantity(Fraction(0), "mL")
    if not _is_volume(found) or not found.amount:
        raise QuantityError(f"{text!r} is no volume; it takes {VOLUME_ACCEPTED}.")
    return written(found)


def _refuse_letters(text: str) -> None:
    if any(each.key in _NEVER_KEPT for each in remarks(text)):
        raise _error(text)


def packed(strength: str, volume: str) -> str:
    """What one container holds, such as `1 mg / 10 mL`; empty where that has no volume to draw up.

    Of `0.1 mg/mL` or `10 %` it takes the volume; `10 mg / 2 mL` says it alone. Raises
    `QuantityError` where the strength or the volume does not read.
    """
    kept = written_strength(strength) if strength else ""
    if " / " in kept:
        return kept
    if not volume or not kept.endswith(("/mL", "%")):
        return ""
    held = written_volume(volume)
    return f"{written(read_strength(kept).of(read_quantity(held)))} / {held}"
