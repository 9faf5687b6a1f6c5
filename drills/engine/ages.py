"""Ages in whole months, as bands of age are printed."""

import re
from dataclasses import dataclass

MONTHS = 12
OLDEST = 130  # years; no band needs more

_AGE = re.compile(r"([0-9]{1,4}) ?(y|year|years|mo|month|months)")


class AgeError(ValueError):
    """A text or a number that is no age; the text names it and what is accepted."""


@dataclass(frozen=True, slots=True, order=True)
class Age:
    """An age in completed months; under one month is 0. `AgeError` below 0 and over 130 years."""

    months: int

    def __post_init__(self) -> None:
        if not 0 <= self.months < (OLDEST + 1) * MONTHS:
            raise AgeError(f"{self.months} months is no age; accepted is 0 months to 130 years.")

    @classmethod
    def of_years(cls, years: int) -> "Age":
        """The age on that birthday."""
        return cls(years * MONTHS)

    @property
    def years(self) -> int:
        """Completed years."""
        return self.months // MONTHS

    def __str__(self) -> str:
        count, word = (self.months, "month") if self.months < MONTHS else (self.years, "year")
        return f"{count} {word}" if count == 1 else f"{count} {word}s"


def read_age(text: str) -> Age:
    """Read `5 years`, `5 y`, `7 months` or `7 mo`; raises `AgeError` naming what came in."""
    match = _AGE.fullmatch(text.strip())
    if match is None:
        raise AgeError(f"{text!r} is no age; one is a whole number and years or months.")
    count = int(match[1])
    return Age.of_years(count) if match[2].startswith("y") else Age(count)
