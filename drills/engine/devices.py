"""What a volume is measured with, and how finely it can be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.quantities import plain


@dataclass(frozen=True, slots=True)
class Device:
    """What a volume is drawn up with: how much it holds, and what its marks are apart, in mL."""

    holds: Fraction
    marks: Fraction
    is_bag: bool = False

    def fills(self, volume: Fraction) -> int:
        """How often it is filled for a volume in mL; a bag runs on."""
        return 1 if self.is_bag else max(int(-(-volume // self.holds)), 1)

    def __str__(self) -> str:
        return "the bag" if self.is_bag else f"the {plain(self.holds)} mL syringe"


# Marks of 1 mL and 3 mL syringes: published rounding rules (hundredths below 1 mL, tenths above).
# The larger ones: common practice, no source.
SYRINGES = {
    1: Device(Fraction(1), Fraction("0.01")),
    3: Device(Fraction(3), Fraction("0.1")),
    5: Device(Fraction(5), Fraction("0.2")),
    10: Device(Fraction(10), Fraction("0.2")),
    20: Device(Fraction(20), Fraction(1)),
    60: Device(Fraction(60), Fraction(1)),
}
# Ours, no source: from 100 mL on what is packed in a bag is run from it, by the bag's own marks.
BAG = Device(Fraction(10_000), Fraction(10), is_bag=True)
BAG_FROM_ML = 100
# What a pump can be set to at most, in mL/h: common practice, no source.
PUMP_MOST = Fraction(999)
# What can be counted of drops in a minute at most, five each second: ours, no source.
DROPS_MOST = Fraction(300)
# Where nothing is said of what is aboard: hundredths below 1 mL, tenths from there on, the
# published rounding rules of a nursing hand-out.
HUNDREDTHS, TENTHS = Fraction("0.01"), Fraction("0.1")


def fitting(volume: Fraction, devices: Iterable[Device], *, packed: Fraction) -> Device:
    """The smallest syringe that holds a volume in mL; where none does, the largest, filled again.

    `packed` is the volume in mL that the medicine comes in: what is packed in a bag is run from
    the bag where that much of it is needed.
    """
    known = sorted(devices, key=lambda device: device.holds)
    smallest = next((each for each in known if each.holds >= volume), None)
    if smallest is not None:
        return smallest
    if min(packed, volume) >= BAG_FROM_ML or not known:
        return BAG
    return known[-1]


def published_marks(volume: Fraction) -> Fraction:
    """The marks in mL that a volume is rounded to where no device is named."""
    return HUNDREDTHS if volume < 1 else TENTHS


def syringes(sizes: Sequence[int]) -> tuple[Device, ...]:
    """The devices of some syringe sizes in mL; sizes that are not known are left out."""
    return tuple(SYRINGES[size] for size in sizes if size in SYRINGES)
