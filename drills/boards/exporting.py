"""What the educator's page shows, as rows for a spreadsheet."""

from collections.abc import Iterable, Iterator

from drills.boards.choosing import Choice
from drills.boards.educator import Board, Row
from drills.boards.instead import RIGHT_PLACE, Instead
from drills.boards.slipped import slips_of
from drills.engine.cohort import TOO_FEW, history_of
from drills.engine.headed import write_headed
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.memory import WIDEST_SHOWN

COUNTED = "newest first answer of each person on each fact; older ones are counted under answers"
NOT_ENOUGH = "not enough evidence"
BEHIND_A_LOCK = "behind a lock, not exported"
COLUMNS = (
    *("table", "what", "place", "answered", "answers", "people", "missed", "partly right"),
    *("missed in 100", "80 % from", "80 % to", "moved in this revision", "note", "history"),
    *("drawn to the others", "drawn 80 % from", "drawn 80 % to"),
)


def csv_of(choice: Choice, board: Board, instead: Instead | None) -> bytes:
    """The tables of the page in one, with a first row that says what was counted and how."""
    return write_headed(_head(choice), [COLUMNS, *map(_filled, _rows(board, instead))])


def _filled(row: Iterable[object]) -> list[object]:
    """As long as the others."""
    cells = list(row)
    return [*cells, *[""] * (len(COLUMNS) - len(cells))]


def _head(choice: Choice) -> tuple[str, ...]:
    return (
        "Most missed",
        f"period {choice.period_words}",
        f"cohort {choice.cohort_words}",
        f"layout {choice.revision}",
        f"evidence {choice.evidence_words}",
        f"counted: {COUNTED}",
        f"no figures on {TOO_FEW}",
        SAFETY_WORDS,
    )


def _rows(board: Board, instead: Instead | None) -> Iterator[Iterable[object]]:
    for table, rows in (("facts", board.things), ("skills", board.skills)):
        for row in rows:
            yield _row(table, row)
            if table == "skills":
                yield from _slips(row)
    yield from _named(board)
    if instead is not None:
        yield from _places(instead)


def _row(table: str, row: Row) -> Iterable[object]:
    found = row.tally
    place = BEHIND_A_LOCK if row.is_locked else row.place
    moved = "yes" if row.is_moved else ""
    if found.is_hidden:
        return (table, row.thing, place, *[""] * 8, moved, TOO_FEW, row.tally.history)
    share, low, high = found.in_100
    return (
        *(table, row.thing, place, "", found.answers, found.people, found.missed, found.partly),
        *(share if found.is_enough else "", low, high, moved),
        *("" if found.is_enough else NOT_ENOUGH, row.tally.history, *_drawn(row)),
    )


def _drawn(row: Row) -> tuple[int, ...]:
    """Missed in 100, drawn towards what is missed of all things where few were asked for it, with
    its interval: what to rank things by, where that is narrow enough to be shown."""
    if row.drawn is None:
        return ()
    low, high = row.drawn.interval
    if high - low > WIDEST_SHOWN:
        return ()
    return tuple(round(100 * (1.0 - each)) for each in (row.drawn.mean, high, low))


def _slips(row: Row) -> Iterator[Iterable[object]]:
    """How a dose went wrong, as far as enough people went wrong so."""
    if row.tally.is_hidden:
        return
    for split in row.splits:
        kind, people, note = ("", "", TOO_FEW)
        if split.is_shown:
            kind, people, note = split.kind, str(split.count), ""
        yield (
            *("how it went wrong", row.thing, row.place, kind, "", people),
            *(*[""] * 6, note, row.tally.history),
        )


def _named(board: Board) -> Iterator[Iterable[object]]:
    """The named slips of all doses and supplies together, each with its published class."""
    slips = slips_of(board)
    note = f"of {slips.of} answers to doses and supplies; what rows keep together is left out"
    tallies = [row.tally for row in board.skills_asked]
    history = history_of(
        any(each.has_simulated for each in tallies), any(each.has_imported for each in tallies)
    )
    for each in slips.found:
        yield (
            *("named slips", each.slip.words, each.slip.error, each.slip.key, each.count),
            *(*[""] * 7, note, history),
        )


def _places(instead: Instead) -> Iterator[Iterable[object]]:
    row = instead.row
    for given in instead.given:
        words = BEHIND_A_LOCK if row.is_locked and given.kind == RIGHT_PLACE else given.words
        yield (
            *("where instead", row.thing, words, given.kind, "", given.people),
            *(*[""] * 7, row.tally.history),
        )
