"""How a medicine or fluid is packed: `AMOUNT / VOLUME` or `AMOUNT FORM`.

Written one way whatever way it came in: `10 mg / 2 mL`, `81 mg tablet`, `1000 mL bag`.
"""

import re
from decimal import Decimal

from drills.engine.workbook.cells import number_text

ACCEPTED = "an amount and its volume or form, such as 10 mg / 2 mL, 81 mg tablet or 1000 mL bag"
UNITS = {
    "mcg": "mcg",
    "ug": "mcg",
    "μg": "mcg",
    "mg": "mg",
    "g": "g",
    "kg": "kg",
    "ml": "mL",
    "l": "L",
    "meq": "mEq",
    "mmol": "mmol",
    "unit": "units",
    "units": "units",
    "iu": "units",
}
# 1,000 and 1.000 are refused: one reader's thousand is another reader's one.
NUMBER = r"([0-9]{1,7}(?:\.(?!000(?![0-9]))[0-9]{1,4}|,[0-9]{1,2}|,[0-9]{4})?)"
PER_VOLUME = re.compile(NUMBER + r" ?([^\W\d]+) ?/ ?" + NUMBER + r" ?(ml|l)", re.IGNORECASE)
IN_FORM = re.compile(NUMBER + r" ?([^\W\d]+) ([^\W\d]+(?:[ -][^\W\d]+){0,3})")


def presentation_of(text: str) -> str | None:
    """The presentation as the product writes it; None where the text is none."""
    if match := PER_VOLUME.fullmatch(text):
        amount, volume = _quantity(match[1], match[2]), _quantity(match[3], match[4])
        return f"{amount} / {volume}" if amount and volume else None
    if match := IN_FORM.fullmatch(text):
        amount = _quantity(match[1], match[2])
        return f"{amount} {match[3].lower()}" if amount else None
    return None


def _quantity(number: str, unit: str) -> str:
    """A number above nothing with its unit; empty where either is not known."""
    value = Decimal(number.replace(",", "."))
    name = UNITS.get(unit.casefold())
    return f"{number_text(value)} {name}" if name and value else ""
