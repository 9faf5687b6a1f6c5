"""Where people look for one thing: the right place and what was given instead."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drills.boards.educator import Board, Row, Split, is_wrong, kind_of
from drills.boards.folding import folded
from drills.engine.cohort import Answer
from drills.engine.drawing import FaceDrawing
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS
from drills.engine.scoring import PARTLY, RIGHT
from drills.rigs.showing import marked_faces

MOST_DRAWN, RIGHT_PLACE = 8, "the right place"
NO_PLACE, GONE, OTHERS = "no place", "places that are there no more", "other places"
HELD, UNKEPT = "asked what a place holds, and wrong", "where they looked is not known"
TOO_FEW_TO_SAY = "by too few to say how"


@dataclass(frozen=True, slots=True)
class Given:
    """One place that was given, or another way to answer, and how many people answered so.

    `numbers` are what it carries on the plan; what has none is not drawn.
    """

    numbers: tuple[int, ...]
    words: str
    kind: str
    people: int
    of: int

    @property
    def percent(self) -> int:
        """How many in 100."""
        return round(100 * self.people / self.of)


@dataclass(frozen=True, slots=True)
class Instead:
    """One fact: its row, each way it was answered, and the faces with the places on them."""

    row: Row
    given: tuple[Given, ...] = ()
    drawings: tuple[FaceDrawing, ...] = ()


def instead_of(board: Board, row: Row) -> Instead:
    """Where the people of a choice look for one thing; nothing while too few were asked.

    How many were right, partly right and wrong stands in the row. Within the wrong ones a place is
    told and drawn where neither its count nor what is left then is one of too few people.
    """
    if row.tally.is_hidden:
        return Instead(row)
    layout, answers = board.layout, board.heard[row.fact].standing
    right = {code: number for number, code in enumerate(row.codes, 1)}
    wrong = list(_wrong(board, row, answers))
    drawn = dict.fromkeys(each.part for each in wrong if each.part in layout.by_code)
    own = {code: number for number, code in enumerate(drawn, len(right) + 1)}
    found, partly = _number(answers, RIGHT), _number(answers, PARTLY)
    of = len(answers)
    words = " or ".join(map(layout.path, right))
    given = [Given(tuple(right.values()), words, RIGHT_PLACE, found, of)]
    given += [_given(layout, each, own, of) for each in wrong]
    if partly:
        given.append(Given((), "right as far as it went", "partly right", partly, of))
    return Instead(row, tuple(given), marked_faces(layout, found=right, own=own))


def _number(answers: Sequence[Answer], outcome: str) -> int:
    return sum(each.outcome == outcome for each in answers)


class Wrong(NamedTuple):
    """One way to be wrong: the code of a place or words, of which kind, and how many people."""

    part: str
    kind: str
    people: int


def _wrong(board: Board, row: Row, answers: Sequence[Answer]) -> Iterator[Wrong]:
    """The ways of each kind that the row tells apart: places by how many gave them, the rest."""
    for split in row.splits:
        if split.is_shown:
            yield from _wrong_of(board, split, answers)
        else:
            yield Wrong("wrong", TOO_FEW_TO_SAY, split.count)


def _wrong_of(board: Board, split: Split, answers: Sequence[Answer]) -> Iterator[Wrong]:
    parts: dict[str, list[Answer]] = defaultdict(list)
    for each in answers:
        if is_wrong(each) and kind_of(each, board.wrong_looks) in split.kinds:
            parts[_part(board, each)].append(each)
    apart, as_one = folded(parts)
    for part in list(apart)[MOST_DRAWN:]:
        as_one[part] = apart.pop(part)
    for part, told in apart.items():
        yield Wrong(part, split.kind, len(told))
    if as_one:
        yield Wrong(_words(board, as_one), split.kind, sum(map(len, as_one.values())))


def _words(board: Board, parts: Iterable[str]) -> str:
    """Of several parts together, the places unnamed."""
    words = {OTHERS if part in board.layout.by_code else part for part in parts}
    return " or ".join(sorted(words, reverse=True))


def _part(board: Board, answer: Answer) -> str:
    """The code of the place that a wrong answer named, or words where it named none."""
    look = board.wrong_looks.get(answer.source)
    if look is None or not look.place:
        return NO_PLACE if look else HELD if answer.kind == CONTENTS else UNKEPT
    codes = {each.key: each.code for each in board.layout.compartments}
    return codes.get(look.place, GONE)


def _given(layout: Layout, wrong: Wrong, own: Mapping[str, int], of: int) -> Given:
    if wrong.part not in own:
        return Given((), wrong.part, wrong.kind, wrong.people, of)
    number, path = own[wrong.part], layout.path(wrong.part)
    return Given((number,), path, wrong.kind, wrong.people, of)
