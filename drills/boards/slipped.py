"""Which slips the cohort makes with doses and supplies, all of them together."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from drills.boards.educator import Board, Row, is_of_numbers
from drills.engine.dosing import Slip

CLASSES = "conceptual, arithmetical or computational"


@dataclass(frozen=True, slots=True)
class Slipped:
    """One named slip with its published class: how many answers it made, of all that count."""

    slip: Slip
    count: int
    of: int


@dataclass(frozen=True, slots=True)
class Slips:
    """The named slips, the most made first, of how many answers to doses and supplies."""

    found: tuple[Slipped, ...]
    of: int

    @property
    def by_class(self) -> list[tuple[str, int]]:
        """How many answers the slips of each class made."""
        counts: Counter[str] = Counter()
        for each in self.found:
            counts[each.slip.error] += each.count
        return counts.most_common()


def slips_of(board: Board) -> Slips:
    """Every slip that a row of the page tells by itself, added up.

    Only what rows tell already is added: with anything else in it, what a row keeps together could
    be worked out from the sum.
    """
    rows = [row for row in board.skills_asked if is_of_numbers(row) and not row.tally.is_hidden]
    of = sum(row.tally.people for row in rows)
    counts: Counter[Slip] = Counter()
    for row in rows:
        for slip, count in _told(board, row):
            counts[slip] += count
    ranked = sorted(counts.items(), key=lambda found: (-found[1], found[0].key))
    return Slips(tuple(Slipped(slip, count, of) for slip, count in ranked), of)


def _told(board: Board, row: Row) -> Iterator[tuple[Slip, int]]:
    for split in row.shown_splits:
        slip = board.slips.get(split.kind)
        if slip is not None:
            yield slip, split.count
