"""The published forgetting curve, beside what the published package works out."""

from itertools import groupby

import numpy as np
import pytest

from drills.engine.simulated.curve import PUBLISHED, States, first_states, next_states, recall
from tests.reference import table

HISTORIES = {
    history: list(rows)
    for history, rows in groupby(table("fsrs6_states.csv"), key=lambda row: row["history"])
}


def test_parameters_are_the_published_ones() -> None:
    """All 21 parameters are those of the table, in its order."""
    assert list(PUBLISHED) == [float(row["value"]) for row in table("fsrs6_parameters.csv")]


@pytest.mark.parametrize(
    "row", table("fsrs6_recall.csv"), ids=lambda row: f"{row['stability']}-{row['days']}"
)
def test_chance_of_recall_is_the_published_one(row: dict[str, str]) -> None:
    """The curve agrees to four places over a year."""
    assert f"{recall(float(row['days']), float(row['stability'])):.4f}" == row["recall"]


@pytest.mark.parametrize("history", HISTORIES)
def test_states_are_those_of_the_package(history: str) -> None:
    """Stability, difficulty and recall agree to four places after every review of a history."""
    first, *later = HISTORIES[history]
    states = first_states([int(first["grade"])])
    assert _told(states) == (first["stability_after"], first["difficulty_after"])
    for row in later:
        days = float(row["days_since"])
        # The package counts whole days.
        assert f"{recall(int(days), states.stability)[0]:.4f}" == row["recall_before"]
        states = next_states(states, [int(row["grade"])], [days])
        assert _told(states) == (row["stability_after"], row["difficulty_after"])


def test_many_memories_are_worked_out_like_one() -> None:
    """An array of memories gives what each gives alone."""
    rng = np.random.default_rng(5)
    grades, after, days = rng.integers(1, 5, 40), rng.integers(1, 5, 40), rng.uniform(0, 90, 40)
    many = next_states(first_states(grades), after, days)

    for at in range(40):
        one = next_states(first_states(grades[at : at + 1]), after[at : at + 1], days[at : at + 1])
        assert one.stability[0] == pytest.approx(many.stability[at], rel=1e-12)
        assert one.difficulty[0] == pytest.approx(many.difficulty[at], rel=1e-12)


def _told(states: States) -> tuple[str, str]:
    return f"{states.stability[0]:.4f}", f"{states.difficulty[0]:.4f}"
