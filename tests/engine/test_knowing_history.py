"""What came before each answer: written a second time row by row, and told of nothing later."""

from dataclasses import replace

import numpy as np
import pytest

from drills.engine.knowing.columns import Answers, came_to_place
from drills.engine.knowing.history import (
    DECAY,
    NAMES,
    OLD_PLACE_DAYS,
    PLAIN,
    SIBLING_DAYS,
    SKILLED,
    TRACES,
    WINDOWS,
    YOUNGEST,
    history,
)
from drills.engine.knowing.times import PSEUDO
from tests.engine.knowing_answers import drawn

SEEDS = range(8)


def told_again(answers: Answers, at: int) -> list[float]:
    """The history of one row, by looking at each earlier row in turn."""
    before = [row for row in range(at) if answers.counts[row]]
    day = answers.time[at]

    def same(row: int, *names: str) -> bool:
        return all(getattr(answers, each)[row] == getattr(answers, each)[at] for each in names)

    def right(rows: list[int]) -> float:
        return float(sum(answers.right[row] for row in rows))

    def tried(rows: list[int]) -> list[int]:
        return [row for row in rows if answers.scored[row] or answers.right[row] > 0]

    def within(rows: list[int], days: float) -> list[int]:
        return [row for row in rows if day - answers.time[row] <= days]

    own = [row for row in before if same(row, "person", "fact")]
    last = own[-1] if own else None
    days = np.log1p(day - answers.time[last]) if last is not None else 0.0
    was = answers.right[last] if last is not None else 0.0
    bridged = [
        (answers.time[row] - answers.time[own[at - 1]]) * answers.right[row]
        for at, row in enumerate(own)
        if at
    ][-TRACES:]
    trace = {row: max(day - answers.time[row], YOUNGEST) ** -DECAY for row in own}
    slot = [row for row in before if same(row, "person", "slot")]
    spot = [row for row in before if same(row, "person", "need", "spot")]
    need = [row for row in before if same(row, "person", "need")]
    elsewhere = max(right(spot) - right(own), 0.0)
    beside = within([row for row in before if same(row, "person", "place")], SIBLING_DAYS)
    own_lately = within(own, SIBLING_DAYS)
    got, of = right(beside) - right(own_lately), len(tried(beside)) - len(tried(own_lately))
    has_moved = not np.isnan(answers.moved[at])
    since = day - answers.moved[at] if has_moved else 0.0
    old = np.log1p(max(right(slot) - right(own), 0.0)) if has_moved else 0.0
    wrong_since = next((n for n, row in enumerate(reversed(own)) if answers.right[row]), len(own))
    plain = [
        1.0,
        *(np.log1p(right(within(own, span))) for span in WINDOWS),
        *(np.log1p(len(tried(within(own, span)))) for span in WINDOWS),
        *(share(right(within(own, span)), len(tried(within(own, span)))) for span in WINDOWS[1:]),
        float(last is None),
        days,
        was,
        days * was,
        np.log1p(wrong_since),
        np.log1p(max(bridged, default=0.0)),
        np.log1p(sum(trace[row] for row in tried(own[-TRACES:]))),
        np.log1p(sum(trace[row] * answers.right[row] for row in own[-TRACES:])),
        unusual(answers, last) if last is not None else 0.0,
        np.log1p(elsewhere),
        np.log1p(max(right(need) - right(slot) - elsewhere, 0.0)),
        np.log1p(max(got, 0.0)),
        share(got, of),
        float(has_moved),
        np.log1p(since),
        old,
        old * np.exp(-since / OLD_PLACE_DAYS),
        *since_they_came(answers, at),
        float(answers.modality[at] == 1),
        float(answers.modality[at] == 2),
    ]
    if not answers.skill[at]:
        return [*plain, *(0.0 for _ in SKILLED)]
    kept = ("always", "by scan", "hands-on")
    of_places = [each if name in kept else 0.0 for name, each in zip(PLAIN, plain, strict=True)]
    return [*of_places, *(plain[PLAIN.index(name)] for name in SKILLED.values())]


def share(got: float, of: float) -> float:
    return (got - of / 2) / (of + 2)


def since_they_came(answers: Answers, at: int) -> tuple[float, float]:
    """Nothing of who answered in the first month of all."""
    first = next(row for row in range(at + 1) if answers.person[row] == answers.person[at])
    if answers.time[first] <= answers.time[0] + 30:
        return 0.0, 0.0
    return 1.0, float(np.log1p(answers.time[at] - answers.time[first]))


def is_timed(answers: Answers, row: int) -> bool:
    return bool(answers.counts[row] and answers.right[row] == 1 and answers.seconds[row] > 0)


def usual(answers: Answers, at: int) -> float:
    rows = [
        r for r in range(at) if is_timed(answers, r) and answers.modality[r] == answers.modality[at]
    ]
    return float(sum(np.log(answers.seconds[row]) for row in rows) / (len(rows) + PSEUDO))


def beyond(answers: Answers, at: int) -> float:
    rows = [
        row
        for row in range(at)
        if is_timed(answers, row)
        and answers.modality[row] == answers.modality[at]
        and answers.person[row] == answers.person[at]
    ]
    own = [np.log(answers.seconds[row]) - usual(answers, row) for row in rows]
    return float(sum(own) / (len(rows) + PSEUDO))


def unusual(answers: Answers, at: int) -> float:
    if not is_timed(answers, at):
        return 0.0

    def left(row: int) -> float:
        return float(np.log(answers.seconds[row]) - usual(answers, row) - beyond(answers, row))

    rows = [
        row
        for row in range(at)
        if is_timed(answers, row)
        and answers.modality[row] == answers.modality[at]
        and answers.fact[row] == answers.fact[at]
    ]
    of_thing = sum(left(row) for row in rows) / (len(rows) + PSEUDO)
    return float(np.clip(left(at) - of_thing, -2.0, 2.0))


@pytest.mark.parametrize("seed", SEEDS)
def test_history_agrees_with_a_second_writing(seed: int) -> None:
    """Each column of each row is what looking at every earlier row gives."""
    answers = drawn(seed)
    found = history(answers)
    again = np.array([told_again(answers, at) for at in range(len(answers))])

    worst = dict(zip(NAMES, np.abs(found - again).max(axis=0), strict=True))
    assert [name for name in NAMES if worst[name] > (1e-5 if "time taken" in name else 1e-9)] == []


def test_every_column_says_something_somewhere() -> None:
    """No column is the same in all rows of the drawn answers: none is compared in vain."""
    columns = np.concatenate([history(drawn(seed)) for seed in SEEDS])

    assert [n for n, c in zip(NAMES, columns.T, strict=True) if np.ptp(c) == 0] == ["always"]


@pytest.mark.parametrize("seed", SEEDS)
def test_no_row_is_told_of_itself_or_of_a_later_one(seed: int) -> None:
    """Whatever the outcomes and times of a row and of later ones are, its history is the same."""
    answers, cut = drawn(seed), 30
    other = replace(
        answers,
        right=np.r_[answers.right[:cut], 1.0 - answers.right[cut:]],
        seconds=np.r_[answers.seconds[:cut], np.full(len(answers) - cut, 3.0)],
        counts=np.r_[answers.counts[:cut], ~answers.counts[cut:]],
    )

    assert (history(answers)[: cut + 1] == history(other)[: cut + 1]).all()
    assert (history(answers)[cut + 1 :] != history(other)[cut + 1 :]).any()


def test_nothing_came_before_nothing() -> None:
    """No answers have no rows of history, and a column for each name."""
    assert history(drawn(1, rows=0)).shape == (0, len(NAMES))


def test_what_lies_in_two_places_has_moved_to_neither() -> None:
    """A thing is asked for in a new place from the third edition on, and so moved; once the old
    place is right again in a later one, it lies in both from then on."""
    fact, edition = np.array([0, 0, 1, 1, 0, 1]), np.array([1, 2, 3, 4, 5, 5])
    came = came_to_place(np.arange(6.0), fact, np.zeros(6, dtype=np.int64), edition)

    assert came.tolist() == pytest.approx([np.nan, np.nan, 2, 2, np.nan, np.nan], nan_ok=True)


def test_an_answer_by_an_old_edition_moves_nothing_back() -> None:
    """A drill begun before the move and answered after it tells of the old place as it was."""
    fact, edition = np.array([0, 1, 0, 1]), np.array([1, 2, 1, 2])
    came = came_to_place(np.arange(4.0), fact, np.zeros(4, dtype=np.int64), edition)

    assert came.tolist() == pytest.approx([np.nan, 1, np.nan, 1], nan_ok=True)
