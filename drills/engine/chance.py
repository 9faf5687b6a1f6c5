"""Drawing at random, the same in and the same out.

Only `Random.random` is drawn from, whose sequence for a seed is the one part of the standard
generator promised to stay the same.
"""

from collections.abc import Collection, Sequence
from random import Random
from typing import TypeVar

Chosen = TypeVar("Chosen")


def seeded(words: str) -> Random:
    """A generator that draws the same for the same words, whatever their size or sign."""
    return Random(words)  # noqa: S311  # repeatable, not secret


def drawn_index(random: Random, shares: Sequence[float]) -> int:
    """Draw an index with chances in proportion to the shares, evenly when all are 0."""
    total = sum(shares)
    if total <= 0:
        return int(random.random() * len(shares))
    point = random.random() * total
    for index, share in enumerate(shares):
        point -= share
        if point < 0:
            return index
    return len(shares) - 1


def drawn(choices: Sequence[Chosen], shares: Sequence[float], random: Random) -> Chosen:
    """One of the choices, drawn in proportion to its share."""
    return choices[drawn_index(random, shares)]


def drawn_evenly(choices: Sequence[Chosen], random: Random) -> Chosen:
    """One of the choices, each as likely as the others."""
    return drawn(choices, [1.0] * len(choices), random)


def drawn_out(left: list[Chosen], random: Random) -> Chosen:
    """One of those left, each as likely as the others, which is then left no more; those that stay
    change their order."""
    at = int(random.random() * len(left))
    left[at], left[-1] = left[-1], left[at]
    return left.pop()


def mixed(things: Collection[Chosen], random: Random) -> list[Chosen]:
    """The same in another order."""
    left = list(things)
    return [left.pop(drawn_index(random, [1.0] * len(left))) for _ in things]
