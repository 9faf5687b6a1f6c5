"""The states of a go at a drill and the moves between them: one table, which every move goes by.

A go begins as something assigned, or as a drill that somebody starts of their own accord.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

ASSIGNED, OPEN, AWAY, RESUMED = "assigned", "open", "away", "resumed"
FINISHED, LAPSED, WITHDRAWN = "finished", "lapsed", "withdrawn"
UNDER_WAY = (OPEN, AWAY, RESUMED)
OVER = (FINISHED, LAPSED, WITHDRAWN)
# Ours, no source: long enough for leave, short enough for what is known to be the same.
LAPSES_AFTER = timedelta(days=30)

STATES: Mapping[str, str] = {
    ASSIGNED: "given to somebody, and not started",
    OPEN: "started; a prompt is open, or the next one waits",
    AWAY: "a real call came: the open prompt is void, the rest waits",
    RESUMED: "gone on with after a call",
    FINISHED: "no prompt is left",
    LAPSED: f"not finished {LAPSES_AFTER.days} days after it was started: what was answered counts",
    WITHDRAWN: "taken back by who gave it, or started otherwise before anything was answered: "
    "what was answered counts",
}
WORDS = {AWAY: "called away"}
PERSON, GIVER, TIME = "the person", "who gave it", "time"


@dataclass(frozen=True, slots=True)
class Move:
    """A move: `can` is what may be done with the drill, `by` who makes it, `to` where it leads.

    A move that may lead to one of two has both: going on finishes when nothing is left.
    """

    name: str
    can: str
    by: str
    to: Mapping[str, tuple[str, ...]]


START = Move("start", "start it", PERSON, {ASSIGNED: (OPEN,)})
GO_ON = Move(
    "go on",
    "go on with it",
    PERSON,
    {OPEN: (OPEN, FINISHED), AWAY: (RESUMED, FINISHED), RESUMED: (RESUMED, FINISHED)},
)
ANSWER = Move("answer", "answer it", PERSON, {OPEN: (OPEN,), RESUMED: (RESUMED,)})
NOT_THERE = Move(
    "not where the layout says",
    "report what is not where the layout says",
    PERSON,
    {OPEN: (OPEN,), RESUMED: (RESUMED,)},
)
# Pressed twice it is one call.
CALL_AWAY = Move(
    "called away", "say that you are called away", PERSON, dict.fromkeys(UNDER_WAY, (AWAY,))
)
CONTEST = Move("contest", "contest a mark", PERSON, {each: (each,) for each in OVER})
WITHDRAW = Move(
    "withdraw", "withdraw it", GIVER, dict.fromkeys((ASSIGNED, *UNDER_WAY), (WITHDRAWN,))
)
LAPSE = Move("lapse", "let it lapse", TIME, dict.fromkeys(UNDER_WAY, (LAPSED,)))
MOVES = (START, GO_ON, ANSWER, NOT_THERE, CALL_AWAY, CONTEST, WITHDRAW, LAPSE)


class MoveError(ValueError):
    """A move that the state does not allow; the text says what is, and what would be possible."""


def refuse_move(state: str, move: Move) -> None:
    """Raise `MoveError` unless the table has the move from this state."""
    if state not in move.to:
        raise MoveError(refusal(state, move))


def refusal(state: str, move: Move) -> str:
    """Why a move is not made, and what the same one could do instead."""
    others = [each.can for each in MOVES if each.by == move.by and _leads_on(each, state)]
    instead = f"You can {_listed(others)}." if others else "Nothing more can be done with it."
    return f"This drill is {word(state)}: you cannot {move.can}. {instead}"


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def word(state: str) -> str:
    """A state as people read it."""
    return WORDS.get(state, state)


def _leads_on(move: Move, state: str) -> bool:
    """Whether a move is worth naming: called away already, one goes nowhere by a second press."""
    return state in move.to and not (move is CALL_AWAY and state == AWAY)


def as_rows() -> list[tuple[str, str, str]]:
    """The table for people: each state, what it means, and each move with where it leads."""
    return [(word(state), meaning, _leads(state)) for state, meaning in STATES.items()]


def _leads(state: str) -> str:
    told = [
        f"{move.name} → {' or '.join(map(word, move.to[state]))}"
        for move in MOVES
        if state in move.to
    ]
    return "; ".join(told)
