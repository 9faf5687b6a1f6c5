"""Whether what was answered meets a standard, and in plain words what it falls short of.

A standard is a training goal that an agency sets itself; meeting one releases nobody.
"""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Standard:
    """What is asked of a run. Shares are in 100; none asks nothing.

    `marks` is the average over first answers; `in_time` is of the right answers that had a limit.
    """

    marks: int | None = None
    in_time: int | None = None
    no_unsafe_dose: bool = False
    no_must_missed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What became of a run: counts of first answers, and the sum of their marks in 100 each.

    `limited` are right answers that had a limit, `in_time` those of them within it.
    """

    planned: int
    answered: int
    marks_sum: int
    limited: int
    in_time: int
    unsafe: int
    kits_failed: int
    is_timed: bool

    @property
    def is_voided(self) -> bool:
        """Whether every answer was voided, so that nothing is left that could meet or fail."""
        return self.planned == self.answered == 0

    @property
    def marks(self) -> int | None:
        """Marks in 100, rounded down so that nobody is over a bound they did not reach."""
        return self.marks_sum // self.answered if self.answered else None

    @property
    def in_time_share(self) -> int | None:
        """In 100, rounded down; nothing where no right answer had a limit."""
        return 100 * self.in_time // self.limited if self.limited else None


def shortfalls(standard: Standard, result: Result) -> tuple[str, ...]:
    """Each reason why a result does not meet a standard, in words; none when it does.

    Where nothing had a limit yet, since it was never found before, time is not held against it;
    where the person chose to take it untimed, a standard that asks for time is not met.
    """
    return tuple(_shortfalls(standard, result))


def _shortfalls(standard: Standard, result: Result) -> Iterator[str]:
    if result.is_voided:
        yield "every answer was voided"
        return
    if result.answered < result.planned:
        yield f"not complete: {result.answered} of {result.planned} answered"
        return
    for short in (_in_marks, _in_time, _in_safety):
        yield from short(standard, result)


def _in_marks(standard: Standard, result: Result) -> Iterator[str]:
    marks = result.marks or 0
    if standard.marks is not None and marks < standard.marks:
        yield f"marks {marks} of 100, {standard.marks} asked"


def _in_time(standard: Standard, result: Result) -> Iterator[str]:
    if standard.in_time is None:
        return
    share = result.in_time_share
    if not result.is_timed:
        yield "taken untimed, and time is asked"
    elif share is not None and share < standard.in_time:
        yield f"in time {result.in_time} of {result.limited}, {standard.in_time} in 100 asked"


def _in_safety(standard: Standard, result: Result) -> Iterator[str]:
    if standard.no_unsafe_dose and result.unsafe:
        yield f"{_counted(result.unsafe, 'unsafe answer')}, none may be"
    if standard.no_must_missed and result.kits_failed:
        yield f"{_counted(result.kits_failed, 'kit')} with a must-have missing, none may be"


def uses_attempt(result: Result, *, is_finished: bool) -> bool:
    """Whether a run that is over used up one of the attempts that somebody was given.

    One whose answers were all voided did not, nor one that real calls emptied, since nobody chose
    either. One that was begun and left lying did.
    """
    if is_finished:
        return not result.is_voided and result.answered >= result.planned
    return result.answered > 0


def in_words(standard: Standard) -> tuple[str, ...]:
    """What a standard asks, a line each."""
    said = {
        f"{standard.marks} of 100 marks": standard.marks is not None,
        f"{standard.in_time} in 100 in time": standard.in_time is not None,
        "no unsafe dose or supply": standard.no_unsafe_dose,
        "no must-have missed": standard.no_must_missed,
    }
    return tuple(words for words, is_asked in said.items() if is_asked)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' * (count > 1)}"
