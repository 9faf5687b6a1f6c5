"""How far answers pull a person's offset between one fit and the next."""

from collections.abc import Iterable

# A chance nearer to 0 or 1 than this says no more of a person.
EDGE = 0.005


def pull_of(predicted: Iterable[tuple[float | None, float]]) -> tuple[float, float]:
    """How far some outcomes pull a person on the log-odds, and how much they weigh.

    `predicted` are pairs of the chance that was thought and how right it was, 0 to 1; where none
    was thought nothing pulls. Of an offset of variance v the step is v / (1 + v x weight) x pull,
    one of Newton's method, and v / (1 + v x weight) its variance after it.
    """
    pull = weight = 0.0
    for chance, right in predicted:
        if chance is not None:
            bounded = min(max(chance, EDGE), 1.0 - EDGE)
            pull += right - bounded
            weight += bounded * (1.0 - bounded)
    return pull, weight
