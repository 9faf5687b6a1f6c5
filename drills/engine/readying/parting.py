"""Finding everything, taken apart fact by fact until nothing is shared.

Most of a kit is things with one way to them: all of those are found when each of their facts is
known, a bag once for all it holds. What is left are things with several ways; those that share a
fact are one part. Of a part the fact that most ways take is known or is not: either way what is
left falls into smaller parts, and calls have the same ones again and again. It is exact.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from drills.engine.facts import Fact
from drills.engine.readying.counting import Array

Ways = frozenset[frozenset[Fact]]
Part = frozenset[Ways]


@dataclass(frozen=True, slots=True)
class Whole:
    """What finding everything takes: facts that it cannot do without, and parts by number."""

    sure: tuple[Fact, ...]
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Split:
    """A part by one of its facts: what is left to be known with it, and without; None where without
    it something is not found."""

    fact: Fact
    known: Whole
    unknown: Whole | None


@dataclass(slots=True)
class Parts:
    """The parts of some kits, each once, those that others fall into before those."""

    splits: list[_Split] = field(default_factory=list)
    _number: dict[Part, int] = field(default_factory=dict)

    def whole(self, things: Iterable[Iterable[Iterable[Fact]]]) -> Whole:
        """What finding all of some things takes, each by any of its ways."""
        sure, parts = _parted([frozenset(map(frozenset, ways)) for ways in things])
        return Whole(tuple(sorted(sure)), tuple(sorted(map(self._of, parts))))

    def _of(self, part: Part) -> int:
        if part not in self._number:
            split = self._split(part)
            self._number[part] = len(self.splits)
            self.splits.append(split)
        return self._number[part]

    def _split(self, part: Part) -> _Split:
        taken = Counter(chain.from_iterable(way for ways in part for way in ways))
        fact = min(taken, key=lambda each: (-taken[each], each))
        known = [frozenset(way - {fact} for way in ways) for ways in part]
        left = [frozenset(way for way in ways if fact not in way) for ways in part]
        return _Split(fact, self.whole(known), self.whole(left) if all(left) else None)

    def found(self, chances: Mapping[Fact, Array]) -> list[Array]:
        """The chance that all of each part is found, by its number; of the chances of each fact."""
        told: list[Array] = []
        for split in self.splits:
            at, known = chances[split.fact], product_of(split.known, chances, told)
            if split.unknown is None:
                told.append(at * known)
            else:
                told.append(at * known + (1.0 - at) * product_of(split.unknown, chances, told))
        return told


def product_of(whole: Whole, chances: Mapping[Fact, Array], told: Sequence[Array]) -> Array:
    """The chance that a whole is found, of the chances of each fact and those of all parts."""
    each = [*(chances[fact] for fact in whole.sure), *(told[number] for number in whole.parts)]
    product = each[0] if each else np.float64(1.0)
    for other in each[1:]:
        product = product * other
    return np.asarray(product)


def _parted(left: list[Ways]) -> tuple[frozenset[Fact], list[Part]]:
    """The facts that cannot be done without, and with those known what the others still take."""
    sure: frozenset[Fact] = frozenset()
    while True:
        left = [_shortest({way - sure for way in ways}) for ways in left]
        alone = [next(iter(ways)) for ways in left if len(ways) == 1]
        left = [ways for ways in left if len(ways) > 1]
        if not alone:
            return sure, _together(left)
        sure = sure.union(*alone)


def _shortest(ways: set[frozenset[Fact]]) -> Ways:
    """The ways that are no other way and more."""
    return frozenset(way for way in ways if not any(other < way for other in ways))


def _together(things: Iterable[Ways]) -> list[Part]:
    """The things apart, as far as they share no fact."""
    found: dict[Part, frozenset[Fact]] = {}
    for ways in things:
        mine = frozenset().union(*ways)
        touching = [part for part, facts in found.items() if facts & mine]
        facts = mine.union(*(found.pop(part) for part in touching))
        found[frozenset({ways}).union(*touching)] = facts
    return list(found)
