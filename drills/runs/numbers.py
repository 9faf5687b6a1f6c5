"""What the page of a prompt that asks for a number shows: figures, units, and what is drawn."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from operator import itemgetter
from string import ascii_uppercase
from typing import Any

from drills.engine.devices import SYRINGES
from drills.engine.dosing import Problem, TwoUnitsError, read_answer, why_unread
from drills.engine.dosing.dose import DOSE
from drills.engine.dosing.entered import WITHOUT_UNIT
from drills.engine.exercises import DOSE_UNITS, SYRINGES_TOLD
from drills.engine.quantities import QuantityError
from drills.engine.scales import Scale, scale_of

# Half a phone's width holds so many letters of a label and of what is told. Ours, measured.
LONGEST_LABEL, LONGEST_WORDS = 20, 15
# From here on bold words are a wall: a table of points, say.
LONG_FROM = 60
# So much pushes the answer off a phone's first sight: ours, measured.
WALL_FROM = 240
# And so much the syringes that are drawn beneath the answer: ours, measured.
WALL_FROM_OVER_SYRINGES = 130
# What so many problems of a sheet say is said once, at its head.
LEAST_SAID_ONCE = 2
_ASKED_OF = ("indication", "medicine", "route")
LONGEST_SHOWN = 30
MASSES = ("g", "mg", "mcg")
MEDICINE_IN = ("mg", "mcg", "g", "mEq", "units")
_LINE_ENDS = re.compile(r"[.;] ")
# Shares of a whole, and rates one after the other: a comma within one of them parts nothing.
_PART_ENDS = re.compile(r"(?<=%), |, (?=[\d.,]+ mL)")


@dataclass(frozen=True, slots=True)
class Figure:
    """One cell of what is told: what it is, its words, and what is said beside them."""

    label: str
    words: str
    note: str = ""
    is_wide: bool = True
    wall_from: int = WALL_FROM

    @property
    def is_long(self) -> bool:
        """Whether it is read line by line, and not at a glance."""
        return len(self.words) >= LONG_FROM

    @property
    def is_wall(self) -> bool:
        """Whether it would push the answer out of sight, or the syringes, and is folded while that
        is asked."""
        return len(self.words) >= self.wall_from

    @property
    def lines(self) -> tuple["Line", ...]:
        """The sentences, and of one that lists things each of them."""
        return tuple(map(_line, _LINE_ENDS.split(self.words)))

    @property
    def is_short(self) -> bool:
        """Whether two such cells can stand beside each other on a phone."""
        is_brief = len(self.label) <= LONGEST_LABEL and len(self.words) <= LONGEST_WORDS
        return is_brief and not self.note


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence of a figure; `parts` are what it lists, and `words` then what they are of."""

    words: str
    parts: tuple[str, ...] = ()


def sentences(words: str) -> list[str]:
    return words.rstrip(".").split(". ")


def _line(sentence: str) -> Line:
    head, colon, listed = sentence.partition(": ")
    parts = tuple(_PART_ENDS.split(listed))
    return Line(head, parts) if colon and len(parts) > 1 else Line(sentence)


def figures_of(shown: Mapping[str, Any], *, are_syringes_drawn: bool = True) -> tuple[Figure, ...]:
    """All that is told, the rule last; short cells beside each other, two by two.

    Where a rule is from is not among it: what is read before the answer is what it takes.
    """
    beside = SYRINGES_TOLD if are_syringes_drawn else ""
    told = [each for each in _told(shown) if each.label != beside]
    rule = _rule(shown)
    if are_syringes_drawn and syringes_of(shown):
        rule = replace(rule, wall_from=WALL_FROM_OVER_SYRINGES)
    return tuple(_paired([*told, rule]))


def said_once(told: Sequence[Sequence[Figure]]) -> tuple[dict[str, str], list[list[Figure]]]:
    """Of many problems on one sheet: what several of them say at length, by a letter each, and the
    figures of every problem with the letter in its place."""
    found = [list(dict.fromkeys(_at_length(figures))) for figures in told]
    often = Counter(chain.from_iterable(found))
    shared = [sentence for sentence, times in often.items() if times >= LEAST_SAID_ONCE]
    letters = dict(zip(shared, ascii_uppercase, strict=False))
    said = {letter: sentence for sentence, letter in letters.items()}
    return said, [[_shortened(each, letters) for each in figures] for figures in told]


def told_once(told: Sequence[Sequence[Figure]], label: str) -> tuple[str, list[list[Figure]]]:
    """Of many problems on one sheet: what most of those with a cell of a label tell in it, and the
    figures of every problem without that cell; nothing where one problem alone tells it."""
    often = Counter(each.words for figures in told for each in figures if each.label == label)
    words, times = max(often.items(), key=itemgetter(1), default=("", 0))
    if times < LEAST_SAID_ONCE:
        return "", [list(figures) for figures in told]
    said = (label, words)
    return words, [[each for each in of if (each.label, each.words) != said] for of in told]


def _at_length(figures: Sequence[Figure]) -> Iterator[str]:
    yield from chain.from_iterable(sentences(f.words) for f in figures if f.is_long)


def _shortened(figure: Figure, letters: Mapping[str, str]) -> Figure:
    if not figure.is_long:
        return figure
    said = sentences(figure.words)
    there = [letters[each] for each in said if each in letters]
    own = [each for each in said if each not in letters]
    return replace(
        figure, words=". ".join([*own, *([f"{', '.join(there)} above"] if there else [])])
    )


def units_of(shown: Mapping[str, Any]) -> tuple[str, ...]:
    """The units offered, the same whatever is right: where one of mass is, each of them is."""
    offered = tuple(shown.get("units", DOSE_UNITS))
    masses = MASSES if set(offered) & set(MASSES) else ()
    return (*offered, *(each for each in masses if each not in offered))


def is_bare(problem: Problem, asked: str) -> bool:
    """Whether a number alone is read: of a count, a score or an index, which the question names."""
    found = problem.solve().results.get(asked)
    return found is not None and found.exact.unit in WITHOUT_UNIT


def wanted(problem: Problem, asked: str, units: Sequence[str]) -> str:
    """What kind of amount a question asks for, by the units that are offered for it; of a dose all
    that a medicine is measured in, so that nothing is told of the rule."""
    found = problem.solve().results.get(asked)
    if found is None:
        return ""
    if found.exact.unit in WITHOUT_UNIT:
        return "a number alone"
    if asked == DOSE and set(MEDICINE_IN) <= set(units):
        return f"a dose, in {_or(MEDICINE_IN)}"
    alike = [each for each in units if _kind(each) == found.exact.kind]
    return f"an amount in {_or(alike or [found.exact.unit])}"


def _kind(unit: str) -> object:
    return read_answer(f"1 {unit}").amount.kind


def _or(words: Sequence[str]) -> str:
    *first, last = words
    return " or ".join(filter(None, (", ".join(first), last)))


def unread(came: str, units: Sequence[str], asks: str = "") -> str:
    """Why an answer cannot be taken, and what would be, `asks` saying the kind: the same whatever
    is right."""
    try:
        read_answer(came)
    except TwoUnitsError as error:
        return str(error)
    except QuantityError:
        why = why_unread(came)
        takes = f"Add the {why.lacks}, then Send." if why.lacks else ""
        if why.is_strange:
            takes = f"It asks for {asks}." if asks else f"Units: {', '.join(units)}."
        return f"{why.because} {takes}".strip()
    said = f"{came[:LONGEST_SHOWN]!r} came in, which is not the kind of amount that the question"
    return f"{said} asks for{f': it asks for {asks}' if asks else ''}. Change it, then Send."


def syringes_of(shown: Mapping[str, Any]) -> tuple[Scale, ...]:
    """Every syringe aboard as a scale, never the one that fits alone."""
    sizes = [each.removesuffix(" mL") for each in shown.get("syringes", ())]
    return tuple(scale_of(SYRINGES[int(size)]) for size in sizes if int(size) in SYRINGES)


def _told(shown: Mapping[str, Any]) -> list[Figure]:
    """What is told; of a prompt that was frozen before figures were kept as such, the same."""
    if "facts" in shown:
        return [Figure(*each) for each in shown["facts"]]
    return [
        Figure("Weight as told", shown["weight"]),
        Figure("In your hand", f"{shown['medicine']} {shown['presentation']}"),
    ]


def _rule(shown: Mapping[str, Any]) -> Figure:
    """The rule; from memory only what it is for."""
    given = ", ".join(filter(None, (shown.get(name) for name in _ASKED_OF)))
    if not shown.get("rule"):
        words = given[:1].upper() + given[1:]
        return Figure("From memory", words or "The rule and its figures are not shown")
    label = f"Rule asked: {given}" if given else "Rule asked"
    return Figure(label, shown["rule"])


def _paired(figures: Sequence[Figure]) -> Iterator[Figure]:
    left = list(figures)
    while left:
        first = left.pop(0)
        if not (left and first.is_short and left[0].is_short):
            yield first
            continue
        for each in (first, left.pop(0)):
            yield Figure(each.label, each.words, each.note, is_wide=False)
