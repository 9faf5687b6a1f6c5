"""An answer as a person wrote it: a number, and a unit in whatever plain words they use.

More is read here than in a problem: what is written by hand is never wrong for its spelling.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.figures import last_figure, last_told
from drills.engine.quantities import (
    LONGEST_TEXT,
    Quantity,
    QuantityError,
    as_decimals,
    below_zero,
    read_number,
    read_quantity,
)

# What is told without a unit, or counted: a bare number is read as it.
WITHOUT_UNIT = ("index", "points", "containers")
# Not read: a thousand of them are one mL, and a slip between the two is as large.
_MICROLITRES = ("µl", "μl", "ul", "mcl", "microlitre", "microliter")
# Plain words for a unit, in the singular; those that the arithmetic knows as well are not here.
_WORDS = {
    "container": "containers", "vial": "containers", "ampoule": "containers",
    "ampule": "containers", "bag": "containers", "syringe": "containers",
    "point": "points", "pt": "points", "beat": "beats", "pill": "tablet", "kilo": "kg",
    "millimetre": "mm", "millimeter": "mm", "joule": "J", "ml": "mL", "mg": "mg", "mcg": "mcg",
    "mil": "mL", "millilitre": "mL", "milliequivalent": "mEq", "millimole": "mmol",
}  # fmt: skip
# What is said of a whole rate or pressure.
_PHRASES = {"lpm": "L/min", "bpm": "beats/min", "dpm": "gtt/min", "mm hg": "mmHg"}
_PARTS = re.compile(r"\s*([0-9.,]+)\s*([^\s0-9.,].*?)\s*", re.ASCII | re.DOTALL)
# What keeps a number and its unit on one line of a page, and comes along when it is copied.
_UNSEEN = str.maketrans({"\u00a0": " ", "\u2060": ""})
# Hours with minutes, or minutes with seconds: whole ones, then what is less than one more.
_TIMES: dict[tuple[str | None, str], int] = {("h", "min"): 60, ("min", "s"): 60}
_TIME = re.compile(
    r"\s*([0-9]+)\s*([a-z]+)\.?\s*(?:and\s+)?([0-9.,]+)\s*([a-z].*?)\s*",
    re.ASCII | re.DOTALL | re.IGNORECASE,
)
# More than one number, and why none of them is taken; each ends with the second.
_COLON = re.compile(r"[0-9.,]+\s*:\s*[0-9][0-9.,]*", re.ASCII)
_SPAN = re.compile(
    r"[0-9.,]+\s*(?:[a-z/]+\s*)?(?:[-\u2013\u2014]|\bto\b|\bor\b)\s*[0-9][0-9.,]*", re.IGNORECASE
)
_TWO = re.compile(r"[0-9.,]+\s*([^\s0-9.,][^0-9]*?)\s*(?:and\s+|\+\s*)?[0-9][0-9.,]*", re.ASCII)
_PER = re.compile(r"\s+(?:per|an?)\s+|\s*/\s*")


class TwoUnitsError(QuantityError):
    """Two units in one answer; the text says which were written and chosen."""


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer as it was written and as it was read. `precision` is one of the last figure that
    says something, `least` of the last at all: 100 and 1 of 1,200, both 0.01 of 1.50."""

    text: str
    amount: Quantity
    precision: Fraction
    least: Fraction

    def by(self, one: Quantity) -> "Answered":
        """The same in another unit, `one` of its own being so much of that."""
        precision, least = self.precision * one.amount, self.least * one.amount
        return Answered(self.text, one.times(self.amount.amount), precision, least)


def read_answer(text: str, asked_in: str = "") -> Answered:
    """Read what a person wrote, such as `.5 mL`, `3 vials` or `2 lpm`; how it was written is judged
    apart. Where it is `asked_in` what has no unit, such as an index, a bare number does.

    A unit that was written beside the number and chosen as well is read once. Hours with minutes,
    `4 h 10 min`, are read in minutes, and minutes with seconds in seconds. Raises `TwoUnitsError`
    where two units disagree, else `QuantityError` naming what came in.
    """
    text = text.translate(_UNSEEN)
    if (time := _time(text)) is not None:
        return time
    match = _PARTS.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        return _bare(text, asked_in)
    number, told = match[1], match[2]
    amount = read_number(number)
    read_as, unit = _with_unit(number, told)
    text = text if read_as == told else f"{number} {read_as}"
    return Answered(text.strip(), Quantity(amount, unit), last_told(text), last_figure(text))


@dataclass(frozen=True, slots=True)
class Unread:
    """Why an answer cannot be read, in one sentence: the same wherever it is said, and whatever is
    right. `lacks` is what has to be added, a number or a unit; empty where something is wrong, as
    of what `is_strange`: no unit that there is, more than one number, or one below zero."""

    because: str
    lacks: str = ""
    is_strange: bool = False


def why_unread(text: str) -> Unread:
    """What of an answer cannot be read: its number, its unit, or that one of them is not there."""
    shown = text.strip()[:LONGEST_TEXT]
    number, unit = _number_and_unit(shown)
    if not number:
        return Unread(_without_number(shown), "number")
    if why := _no_amount(shown):
        return Unread(why, is_strange=True)
    try:
        read_number(number)
    except QuantityError as error:
        return Unread(str(error))
    if not unit:
        return Unread(f"{shown!r} came in without a unit.", "unit")
    if small := microlitres(f"{number} {unit}").strip():
        return Unread(small)
    return Unread(f"{unit!r} is no unit that is read.", is_strange=True)


def _without_number(shown: str) -> str:
    return f"{shown!r} came in without a number." if shown else "Nothing came in."


def _no_amount(shown: str) -> str:
    """Why what is below zero, or more than one number, is no answer; nothing of one amount."""
    if low := below_zero(shown):
        return f"{low}."
    if found := _COLON.match(shown):
        return (
            f"{found[0]!r} is no amount: with a colon it is a ratio or a time of day. Write one "
            "number."
        )
    if found := _SPAN.match(shown):
        return f"{found[0]!r} is a span: write the one number that you would give."
    found = _TWO.match(shown)
    if found and _unit(found[1]):
        return f"{shown!r} holds two numbers: write one."
    return ""


def microlitres(text: str) -> str:
    """That microlitres are not read, and what to write; nothing of any other amount."""
    match = _PARTS.fullmatch(text)
    if match is None or match[2].lower().rstrip(".").removesuffix("s") not in _MICROLITRES:
        return ""
    try:
        volume = Quantity(read_number(match[1]) / 1000, "mL")
    except QuantityError:
        return ""
    return f" {match[2]!r} is not read: write {volume}."


def _number_and_unit(shown: str) -> tuple[str, str]:
    """What stands for the number, and for the unit: written beside it, chosen, or both."""
    words = shown.split()
    at = len(words)
    while first := next((each for each in range(at) if _unit(" ".join(words[each:at]))), at) - at:
        at += first
    number = " ".join(words[:at])
    match = None if as_decimals(number) else _PARTS.fullmatch(number)
    return (match[1], match[2]) if match else (number, " ".join(words[at:]))


def as_read(text: str) -> str:
    """An answer with its unit once; as it stands where it has none."""
    try:
        return read_answer(text).text
    except QuantityError:
        return text


def _time(text: str) -> Answered | None:
    """Hours and minutes as people say them; None of any other amount, and of sixty minutes."""
    match = _TIME.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        return None
    whole, greater, part, told = match.groups()
    if _unit(greater) not in ("h", "min"):
        return None
    told, smaller = _with_unit(f"{whole} {greater} {part}", told)
    size, rest = _TIMES.get((_unit(greater), smaller)), read_number(part)
    if size is None or rest >= size:
        return None
    amount = Quantity(read_number(whole) * size + rest, smaller)
    text = f"{whole} {greater} {part} {told}"
    return Answered(text, amount, last_told(part), last_figure(part))


def _bare(text: str, asked_in: str) -> Answered:
    if asked_in not in WITHOUT_UNIT:
        return Answered(text, read_quantity(text), last_told(text), last_figure(text))
    amount = Quantity(read_number(text), asked_in)
    return Answered(text.strip(), amount, last_told(text), last_figure(text))


def _with_unit(number: str, told: str) -> tuple[str, str]:
    """A unit as it was written, once, and as it is read; `QuantityError` for what is none."""
    unit = _unit(told)
    return (told, unit) if unit else _once(number, told)


def _once(number: str, told: str) -> tuple[str, str]:
    """The unit of `mg mg`, written and chosen."""
    words = told.split()
    for place in range(1, len(words)):
        written, chosen = " ".join(words[:place]), " ".join(words[place:])
        first, second = _unit(written), _unit(chosen)
        if first is None or second is None:
            continue
        if first != second:
            raise TwoUnitsError(
                f"{number} {written} was written, and {chosen} chosen: give it in one unit."
            )
        return written, first
    raise QuantityError(f"{told!r} is no unit.")


def _unit(told: str) -> str | None:
    """The unit that words stand for; None for what is none."""
    words = _PHRASES.get(" ".join(told.lower().rstrip(".").split()), told)
    try:
        return Quantity(Fraction(1), "/".join(map(_word, _PER.split(words)))).unit
    except QuantityError:
        return None


def _word(part: str) -> str:
    bare = part.strip().rstrip(".")
    singular = bare.lower().removesuffix("s")
    return _WORDS.get(singular, bare)
