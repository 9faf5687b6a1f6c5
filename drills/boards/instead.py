"""Where people look for one thing: the right place and what was given instead."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from drills.boards.educator import CONTENTS_ASKED, Board, Row, is_wrong, kind_of
from drills.engine.cohort import FEWEST_PEOPLE, Answer, told_people
from drills.engine.drawing import FaceDrawing
from drills.engine.scoring import PARTLY, RIGHT
from drills.rigs.showing import marked_faces
from drills.runs.answered import UNKNOWN

MOST_DRAWN, RIGHT_PLACE = 8, "the right place"


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
    def told(self) -> str:
        return told_people(self.people)

    @property
    def percent(self) -> int | None:
        """How many in 100; none for a count that is told in words."""
        return None if 0 < self.people < FEWEST_PEOPLE else round(100 * self.people / self.of)


@dataclass(frozen=True, slots=True)
class Instead:
    """One fact: its row, each way it was answered, and the faces with the places on them."""

    row: Row
    given: tuple[Given, ...] = ()
    drawings: tuple[FaceDrawing, ...] = ()


def instead_of(board: Board, row: Row) -> Instead:
    """Where the people of a choice look for one thing; nothing while too few were asked.

    A place is told and drawn when enough people gave it; the others are told by kind.
    """
    if row.tally.is_hidden:
        return Instead(row)
    layout, answers = board.layout, board.heard[row.fact].standing
    codes = {each.key: each.code for each in layout.compartments}
    often = _often(_named(board, answers), codes)
    right = {code: number for number, code in enumerate(row.codes, 1)}
    own = {codes[key]: number for number, key in enumerate(often, len(right) + 1)}
    return Instead(
        row,
        (
            *_places(board, answers, right, own),
            *_others(board, answers, own),
            *_no_place(board, answers),
        ),
        marked_faces(layout, found=right, own=own),
    )


def _places(
    board: Board, answers: Sequence[Answer], right: Mapping[str, int], own: Mapping[str, int]
) -> Iterator[Given]:
    """The right places together, then each wrong one that is drawn; both by code."""
    path, of = board.layout.path, len(answers)
    found = sum(each.outcome == RIGHT for each in answers)
    yield Given(tuple(right.values()), " or ".join(map(path, right)), RIGHT_PLACE, found, of)
    named = _named(board, answers)
    for code, number in own.items():
        said = named[board.layout.by_code[code].key]
        yield Given((number,), path(code), _kinds(board, said)[0][0], len(said), of)


def _others(board: Board, answers: Sequence[Answer], own: Mapping[str, int]) -> Iterator[Given]:
    """The wrong places that are not drawn, by kind."""
    drawn = {board.layout.by_code[code].key for code in own}
    named = _named(board, answers)
    left = [each for key, said in named.items() if key not in drawn for each in said]
    for kind, people in _kinds(board, left):
        yield Given((), "other places, each given by few", kind, people, len(answers))


def _named(board: Board, answers: Sequence[Answer]) -> Mapping[str, list[Answer]]:
    """The wrong looks by the key of the place they went to."""
    found: dict[str, list[Answer]] = defaultdict(list)
    for each in answers:
        look = board.wrong_looks.get(each.source)
        if is_wrong(each) and look and look.place:
            found[look.place].append(each)
    return found


def _often(named: Mapping[str, Sequence[Answer]], codes: Mapping[str, str]) -> list[str]:
    """The keys of the places that enough people gave and that are there still, the most first."""
    enough = [key for key in codes if len(named.get(key, ())) >= FEWEST_PEOPLE]
    return sorted(enough, key=lambda key: -len(named[key]))[:MOST_DRAWN]


def _kinds(board: Board, answers: Sequence[Answer]) -> list[tuple[str, int]]:
    """How many answers are of each kind, the most first."""
    return Counter(kind_of(each, board.wrong_looks) for each in answers).most_common()


def _no_place(board: Board, answers: Sequence[Answer]) -> Iterator[Given]:
    """The answers that named no wrong place."""
    wrong = Counter(kind_of(each, board.wrong_looks) for each in answers if is_wrong(each))
    partly = sum(each.outcome == PARTLY for each in answers)
    for words, kind, people in (
        ("right as far as it went", "partly right", partly),
        ("no place", UNKNOWN, wrong[UNKNOWN]),
        ("asked what a place holds, and wrong", CONTENTS_ASKED, wrong[CONTENTS_ASKED]),
    ):
        if people:
            yield Given((), words, kind, people, len(answers))
