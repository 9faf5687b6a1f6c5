"""How strong a medicine is as it comes, written one way whatever way it came in.

A single medicine for injection is labelled per mL, never as a ratio (USP chapter <7>, from 1 May
2016), so that a ratio is read and written as mg/mL. Percent and ratio are mass per volume: 10 % is
10 g in 100 mL, 1:10,000 is 1 g in 10,000 mL (USP chapter <7>, table).
"""

import re
from decimal import Decimal
from fractions import Fraction

ACCEPTED = (
    "an amount per mL, in a volume or alone, a percentage or a ratio, such as 3 mg/mL, "
    "10 mg / 2 mL, 81 mg, 10 % or 1:10,000"
)
VOLUME_ACCEPTED = "a volume in mL or L, such as 10 mL"
_NUMBER = r"([0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,7}(?:[.,][0-9]{1,4})?)"
_UNIT = r"(mcg|mg|g|mEq|mmol|units)"
_RATIO = re.compile(rf"1 ?: ?{_NUMBER}")
_PERCENT = re.compile(rf"{_NUMBER} ?%")
_PER_ML = re.compile(rf"{_NUMBER} ?{_UNIT} ?/ ?mL", re.IGNORECASE)
_IN_VOLUME = re.compile(rf"{_NUMBER} ?{_UNIT} ?/ ?{_NUMBER} ?(mL|L)", re.IGNORECASE)
_ALONE = re.compile(rf"{_NUMBER} ?{_UNIT}", re.IGNORECASE)
_VOLUME = re.compile(rf"{_NUMBER} ?(mL|L)", re.IGNORECASE)
_WRITTEN = {each.casefold(): each for each in ("mcg", "mg", "g", "mEq", "mmol", "units", "mL", "L")}


class StrengthError(ValueError):
    """A text that is no strength or no volume; it names what came in and what is accepted."""


def written_strength(text: str) -> str:
    """A strength as the product writes it; raises `StrengthError` for what is none.

    `1:10,000` becomes `0.1 mg/mL`, `10%` becomes `10 %`, `10mg/2ml` becomes `10 mg / 2 mL`.
    """
    if match := _RATIO.fullmatch(text.strip()):
        return f"{_plain(1000 / _number(match[1], text))} mg/mL"
    if match := _PERCENT.fullmatch(text.strip()):
        return f"{_plain(_number(match[1], text))} %"
    if match := _PER_ML.fullmatch(text.strip()):
        return f"{_amount(match[1], match[2], text)}/mL"
    if match := _IN_VOLUME.fullmatch(text.strip()):
        return f"{_amount(match[1], match[2], text)} / {_amount(match[3], match[4], text)}"
    if match := _ALONE.fullmatch(text.strip()):
        return _amount(match[1], match[2], text)
    raise StrengthError(f"{text!r} is no strength; it takes {ACCEPTED}.")


def written_volume(text: str) -> str:
    """A volume as the product writes it, such as `1,000 mL`; raises `StrengthError` for none."""
    if match := _VOLUME.fullmatch(text.strip()):
        return _amount(match[1], match[2], text)
    raise StrengthError(f"{text!r} is no volume; it takes {VOLUME_ACCEPTED}.")


def packed(strength: str, volume: str) -> str:
    """What one container holds, such as `1 mg / 10 mL`; empty where that has no volume to draw up.

    Of `0.1 mg/mL` or `10 %` it takes the volume; `10 mg / 2 mL` says it alone. Raises
    `StrengthError` where the strength or the volume does not read.
    """
    written = written_strength(strength) if strength else ""
    if " / " in written:
        return written
    if not volume or not written.endswith(("/mL", "%")):
        return ""
    held = written_volume(volume)
    amount, unit = per_ml(written)
    number, _, of = held.partition(" ")
    total = amount * _number(number, held) * (1000 if of == "L" else 1)
    return f"{_plain(total)} {unit} / {held}"


def per_ml(strength: str) -> tuple[Fraction, str]:
    """A strength as an amount in each mL with its unit; raises `StrengthError` where it has none.

    10 % is 100 mg (p % = p g in 100 mL).
    """
    written = written_strength(strength)
    if match := _PERCENT.fullmatch(written):
        return _number(match[1], strength) * 10, "mg"
    if match := _PER_ML.fullmatch(written):
        return _number(match[1], strength), match[2]
    if match := _IN_VOLUME.fullmatch(written):
        volume = _number(match[3], strength) * (1000 if match[4] == "L" else 1)
        return _number(match[1], strength) / volume, match[2]
    raise StrengthError(f"{strength!r} is dissolved in nothing, so it has no amount per mL.")


def _amount(number: str, unit: str, text: str) -> str:
    return f"{_plain(_number(number, text))} {_WRITTEN[unit.casefold()]}"


def _number(text: str, whole: str) -> Fraction:
    """A number above nothing; a comma before three figures is a thousands mark, else a point."""
    is_thousands = re.fullmatch(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+", text)
    number = Fraction(Decimal(text.replace(",", "" if is_thousands else ".")))
    if not number:
        raise StrengthError(f"{whole!r} holds nothing; it takes {ACCEPTED}.")
    return number


def _plain(number: Fraction) -> str:
    """A leading zero, no trailing zero, commas from 1,000; six figures after the point at most."""
    exact = Decimal(number.numerator) / Decimal(number.denominator)
    text = f"{exact.quantize(Decimal('0.000001')):,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
