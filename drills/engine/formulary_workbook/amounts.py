"""Cells that hold an amount, written one way, and what each basis of a dose may be counted in."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine import quantities
from drills.engine.concentrations import SUBSTANCES, written_strength, written_volume
from drills.engine.formulary_workbook.columns import AMOUNT_LENGTH, MAX_AMOUNT, WORD_LENGTH
from drills.engine.quantities import (
    ENERGY,
    MASS,
    PERCENT,
    PIECES,
    VOLUME,
    WEIGHT,
    Quantity,
    QuantityError,
    read_quantity,
)
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import quote


@dataclass(frozen=True, slots=True)
class Counted:
    """What a basis counts: families of unit, each per what; with a dose that shows it.

    `is_range` says that it has two ends.
    """

    families: tuple[str, ...]
    per: tuple[str, ...]
    example: str
    is_range: bool = False

    def takes(self, dose: Quantity) -> bool:
        """Whether a dose is counted so."""
        return dose.family in self.families and dose.kind[1:] == self.per

    def whole(self, dose: Quantity) -> tuple[str, ...]:
        """The kind of one whole dose, which its limits are told in; a rate stays one."""
        return (dose.family, *(each for each in self.per if each not in (WEIGHT, PERCENT)))


WHOLE = (*SUBSTANCES, VOLUME, ENERGY, PIECES)
BASES = {
    "fixed": Counted(WHOLE, (), "1 mg"),
    "per kg": Counted(SUBSTANCES, (WEIGHT,), "0.1 mg/kg"),
    "range": Counted(WHOLE, (), "2 mg to 4 mg", is_range=True),
    "range per kg": Counted(SUBSTANCES, (WEIGHT,), "0.5 g/kg to 1 g/kg", is_range=True),
    "per minute": Counted((*SUBSTANCES, VOLUME), ("min",), "2 mcg/min"),
    "per kg per minute": Counted(SUBSTANCES, (WEIGHT, "min"), "5 mcg/kg/min"),
    "per hour": Counted((*SUBSTANCES, VOLUME), ("h",), "250 mL/h"),
    "mL per kg": Counted((VOLUME,), (WEIGHT,), "20 mL/kg"),
    "mL per kg per percent": Counted((VOLUME,), (WEIGHT, PERCENT), "2 mL/kg/%"),
    "J per kg": Counted((ENERGY,), (WEIGHT,), "2 J/kg"),
}


def choice(row: Row, column: str, words: Iterable[str], *, required: bool = False) -> str:
    """One of some words, whatever its case and whether spaces or hyphens part it; else empty."""
    text = row.text(column, required=required)
    by_plain = {_plain(word): word for word in words}
    found = by_plain.get(_plain(text), "")
    if text and not found:
        row.refuse(column, quote(text), f"one of {', '.join(by_plain.values())}")
    return found


def _plain(word: str) -> str:
    return word.casefold().replace("_", " ").replace("-", " ")


def amount(row: Row, column: str, accepted: str, *, required: bool = False) -> Quantity | None:
    """The amount of a cell, above nothing; None where it is empty or refused."""
    text = row.text(column, limit=AMOUNT_LENGTH, required=required)
    if not text:
        return None
    try:
        found = read_quantity(text)
    except QuantityError as error:
        row.refuse(column, quote(text), f"{accepted}. {str(error).rstrip('.')}")
        return None
    if 0 < found.amount <= MAX_AMOUNT and len(written(found)) <= AMOUNT_LENGTH:
        return found
    row.refuse(column, quote(text), f"{accepted}, more than 0 and at most {MAX_AMOUNT:,}")
    return None


def written(found: Quantity | None) -> str:
    """An amount as a rule keeps it: `1,000 mL`, `0.5 mg/kg`; with every figure it has."""
    if found is None:
        return ""
    return quantities.written(found)


def strength(row: Row, column: str) -> str:
    """A strength as it is kept: an amount per mL, in a volume or alone, or a percentage.

    A ratio becomes mg/mL. What cannot be written so that it is read back the same is refused.
    """
    text = row.text(column, limit=WORD_LENGTH)
    if not text:
        return ""
    try:
        found = written_strength(text)
    except QuantityError as error:
        accepted = str(error).partition("it takes ")[2].rstrip(".") or "a strength, such as 3 mg/mL"
        row.refuse(column, quote(text), accepted)
        return ""
    if len(found) <= WORD_LENGTH:
        return found
    row.refuse(column, quote(text), f"a strength of at most {WORD_LENGTH} letters, as it is kept")
    return ""


def volume(row: Row, column: str) -> str:
    """A volume as it is kept, such as `1,000 mL`."""
    text = row.text(column, limit=AMOUNT_LENGTH)
    if not text:
        return ""
    try:
        found = written_volume(text)
    except QuantityError:
        row.refuse(column, quote(text), "a volume in mL or L, more than 0, such as 10 mL")
        return ""
    return found


def family_in(strength_text: str) -> str:
    """What a written strength counts, such as mass; empty for none, such as a plain fluid."""
    if not strength_text:
        return ""
    if strength_text.endswith("%"):
        return MASS
    return read_quantity(strength_text.partition(" / ")[0]).family
