"""How a service works, and how far off a figure of it may be set."""

from dataclasses import dataclass
from fractions import Fraction

from drills.engine.dosing.results import MEASURABLE_WITHIN, UNSAFE_FROM


@dataclass(frozen=True, slots=True, kw_only=True)
class InService:
    """What a problem of a service has, whatever it asks.

    `unsafe_from` is a share, the rule's tighter limit where it has one; `refused_from` the share
    that the service draws nothing up from. `is_never_up` is the service's choice never to round a
    child's figure up, and `is_exact_pounds` to take a pound as 0.45359237 kg.
    """

    unsafe_from: Fraction = UNSAFE_FROM
    refused_from: Fraction = MEASURABLE_WITHIN
    is_never_up: bool = False
    is_exact_pounds: bool = False

    @property
    def within(self) -> Fraction:
        """How far a mark may be off: less than the service's share, and than a tighter limit."""
        return min(self.refused_from, self.unsafe_from)
