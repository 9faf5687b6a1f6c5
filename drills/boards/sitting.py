"""A sitting of practice: its tally and what was asked, in the address and kept nowhere."""

import re
from base64 import urlsafe_b64encode
from dataclasses import dataclass, replace
from hashlib import sha256

from drills.engine.dosing import OUT_OF_TOLERANCE, RIGHT, UNSAFE
from drills.engine.exercises import Exercise

SHOWN = "shown"
# How each is told; what is never unsafe, such as a sum, may still be out of tolerance.
WORDS = {
    RIGHT: "right",
    OUT_OF_TOLERANCE: "out of tolerance",
    UNSAFE: "unsafe",
    SHOWN: "shown",
}
# An address may not grow without end: of so many it is known that they were asked.
MOST_REMEMBERED = 200
MARK = 3
MOST_COUNTED = 9999
FORM = re.compile(
    rf"\d{{1,4}}(\.\d{{1,4}}){{3}}_([\w-]{{{MARK}}}){{0,{MOST_REMEMBERED}}}", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Sitting:
    """How many answers of each outcome, and the marks of the exercises asked, the newest last."""

    counts: tuple[int, int, int, int] = (0, 0, 0, 0)
    asked: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        """The tally in words; what was only shown is told where something was."""
        pairs = zip(self.counts, WORDS.values(), strict=True)
        return ", ".join(f"{count} {words}" for count, words in pairs if count or words != SHOWN)

    @property
    def is_begun(self) -> bool:
        return any(self.counts)

    def has_asked(self, exercise: Exercise) -> bool:
        return _mark(exercise) in self.asked

    def after(self, exercise: Exercise, outcome: str) -> "Sitting":
        """The sitting with one more answer in it."""
        first, *others = (
            min(count + (each == outcome), MOST_COUNTED)
            for count, each in zip(self.counts, WORDS, strict=True)
        )
        asked = (*self.asked, _mark(exercise))[-MOST_REMEMBERED:]
        return Sitting((first, others[0], others[1], others[2]), asked)

    def begun_again(self) -> "Sitting":
        """The tally alone: everything may be asked again."""
        return replace(self, asked=())

    def __str__(self) -> str:
        return f"{'.'.join(map(str, self.counts))}_{''.join(self.asked)}"


def read_sitting(text: str) -> Sitting:
    """A sitting as `str` writes it; `ValueError` names what is none."""
    if not FORM.fullmatch(text):
        raise ValueError(f"{text[:40]!r} is no tally of a sitting. Start again without it.")
    counts, _, marks = text.partition("_")
    right, out, unsafe, shown = map(int, counts.split("."))
    asked = tuple(marks[at : at + MARK] for at in range(0, len(marks), MARK))
    return Sitting((right, out, unsafe, shown), asked)


def _mark(exercise: Exercise) -> str:
    """A few letters for an exercise; where two share them, one of the two is not asked."""
    digest = sha256("\n".join(exercise.figures).encode()).digest()
    return urlsafe_b64encode(digest).decode()[:MARK]
