"""What an answer is judged to be."""

from dataclasses import dataclass
from fractions import Fraction

from drills.engine.dosing.slips import Slip
from drills.engine.writing import Remark

RIGHT, OUT_OF_TOLERANCE, UNSAFE = "right", "out of tolerance", "unsafe"
UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class Judgement:
    """What an answer is.

    `ratio` is how many times the nearest right amount it is, None where it could not be read.
    `slips` are those that explain it, one where exactly one does; `possibly` are pairs, offered
    only where no single one fits. `writing` is what is unsafe in how it was written, `reasons` say
    why a size of answer is dangerous whatever made it, or how near is near enough, and `sentence`
    says all of it in plain words, with the corrected line. `told_in` is the unit it was told in
    and `asked_in` the one asked for, where those are of different kinds.
    """

    verdict: str
    sentence: str
    ratio: Fraction | None = None
    slips: tuple[Slip, ...] = ()
    possibly: tuple[tuple[Slip, Slip], ...] = ()
    writing: tuple[Remark, ...] = ()
    is_past_maximum: bool = False
    reasons: tuple[str, ...] = ()
    told_in: str = ""
    asked_in: str = ""

    @property
    def slip(self) -> Slip | None:
        """The slip, where exactly one explains the answer; this alone is counted."""
        return self.slips[0] if len(self.slips) == 1 else None

    @property
    def off_by(self) -> Fraction:
        """How far off as a share; nothing where it could not be read."""
        return Fraction(0) if self.ratio is None else self.ratio - 1
