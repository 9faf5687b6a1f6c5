"""A syringe drawn as a plain scale: where its marks and its numbers stand along the barrel.

Every syringe is drawn as long as every other, so that none stands out; it is read by its numbers.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from drills.engine.devices import Device
from drills.engine.quantities import half_up, plain, told_step

# In units of the drawing: the barrel, how far below its top a mark of each rank ends, and how many
# numbers find room beneath it. All ours, no source.
BARREL, LEFT, TOP = 280, 24, 8
SMALL, MIDDLE, LONG = 13, 16, 20
MOST_NUMBERS = 6
_ROUND = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Number:
    """A number beneath a mark, and where along the drawing it stands."""

    at: str
    words: str


@dataclass(frozen=True, slots=True)
class Scale:
    """One syringe. `holds` and `marks` are in mL and in words; `lines` is the path of its marks."""

    holds: str
    marks: str
    lines: str
    numbers: tuple[Number, ...]
    left: int = LEFT
    barrel: int = BARREL


@cache
def scale_of(device: Device) -> Scale:
    """The scale of a syringe, every mark of it drawn."""
    step = _numbered(device.holds)
    count = int(device.holds / device.marks)
    marks = [index * device.marks for index in range(count + 1)]
    return Scale(
        holds=plain(device.holds),
        marks=plain(device.marks),
        lines="".join(f"M{_at(device, mark)} {TOP}V{_end(mark, step)}" for mark in marks),
        numbers=tuple(Number(_at(device, mark), plain(mark)) for mark in marks if mark % step == 0),
    )


def _numbered(holds: Fraction) -> Fraction:
    """How far apart the numbers stand: the first of 1, 2, 5, 10 and so on that leaves room."""
    power = told_step(holds)
    while True:
        for each in _ROUND:
            if holds / (each * power) <= MOST_NUMBERS:
                return each * power
        power *= 10


def _end(mark: Fraction, step: Fraction) -> int:
    if mark % step == 0:
        return LONG
    return MIDDLE if mark % (step / 2) == 0 else SMALL


def _at(device: Device, mark: Fraction) -> str:
    return plain(half_up(LEFT + BARREL * mark / device.holds, Fraction(1, 10)))
