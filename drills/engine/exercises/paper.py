"""Numbers that a person can do on paper, and drawing until there are such.

The rule is ours, no source: no figure of the working has more than three figures that count at
grade 1, and none more than four above it; zeros at the end of a whole number and at the beginning
of a decimal do not count. What does not end, such as a third, is never met on the way; of a
strength that does not, such as 2.5 mg in 3 mL, the label is worked with. What is
finally measured may be rounded to its device; a draw that is refused is never asked. Where a
service takes pounds exactly, a problem is one that could be done on paper by 2.2; its own figures
take a calculator.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from drills.engine.dosing import ProblemError
from drills.engine.exercises.exercise import Exercise
from drills.engine.quantities import plain
from drills.engine.recipes import CannotApplyError

MOST_FIGURES = {1: 3, 2: 4, 3: 4}
# Ours: more than three times what any exercise of the demonstration took.
MOST_DRAWN = 400
# Ours: after so many in a row that were refused before there are no others to draw.
MOST_AGAIN = 60
_NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")


def figures_in(steps: Iterable[str]) -> int:
    """The most figures that count in any number of a working."""
    return max((_figures(each) for step in steps for each in _NUMBER.findall(step)), default=0)


def _figures(number: str) -> int:
    digits = number.replace(",", "")
    whole = digits if "." in digits else digits.rstrip("0")
    return len(whole.replace(".", "").lstrip("0"))


def working_of(steps: Iterable[str]) -> list[str]:
    """A working as it is done on paper.

    How many tablets a dose comes to need not end: one gives whole ones and halves.
    """
    return [step for step in steps if not step.endswith("tablets")]


def is_on_paper(exercise: Exercise) -> bool:
    """Whether an exercise can be worked out on paper, and what it comes to be measured."""
    solution = exercise.solution
    result = solution.results.get(exercise.asked)
    if result is None or result.rounded is None or not result.exact.amount or solution.refusal:
        return False
    steps = exercise.by_table.solve().steps if exercise.has_exact_pounds else solution.steps
    # The judge is not asked: a right answer that it calls wrong is for a test to find.
    return figures_in(working_of(steps)) <= MOST_FIGURES[exercise.grade]


def settled(
    topic: str, *drafts: Callable[[], Exercise | None], tries: int = MOST_DRAWN
) -> Exercise:
    """The first draft that is one and can be done on paper, of another sort where one makes none.

    Raises `CannotApplyError`, which says what to choose instead, where none makes any.
    """
    for draft in drafts:
        if (made := _first_done(draft, tries)) is not None:
            return made
    raise none_on_paper(topic)


def none_on_paper(topic: str) -> CannotApplyError:
    """That a topic makes nothing, and what to choose instead."""
    return CannotApplyError(
        f"No exercise of {topic} that can be worked out on paper comes of the rules in force and "
        "what is carried. Choose another topic, another layout, or an easier or harder one."
    )


def _first_done(draft: Callable[[], Exercise | None], tries: int) -> Exercise | None:
    refused: set[tuple[str, ...]] = set()
    again = 0
    for _ in range(tries):
        made = draft()
        if made is None:
            continue
        if made.figures in refused:
            again += 1
            if again == MOST_AGAIN:
                return None
            continue
        if is_done(made):
            return made
        refused.add(made.figures)
        again = 0
    return None


def is_done(made: Exercise) -> bool:
    """Whether an exercise can be worked out at all, and on paper."""
    try:
        return is_on_paper(made)
    except ProblemError:
        return False


def needed(there: Sequence[object], topic: str, lacking: str) -> None:
    """Raise `CannotApplyError` saying what a topic lacks, where nothing of it is there."""
    if not there:
        raise CannotApplyError(f"No exercise of {topic} can be made: {lacking}.")


def amount(number: Fraction | int, unit: str) -> str:
    """An amount as it is told."""
    gap = "" if unit == "%" else " "
    return f"{plain(Fraction(number))}{gap}{unit}"
