"""The kits of several calls looked at together: what is thought of a person is drawn once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from drills.engine.facts import Fact
from drills.engine.readying.counting import Array
from drills.engine.readying.hurrying import Limit
from drills.engine.readying.known import Kit, Must
from drills.engine.readying.parting import Parts

_LEAST = 1e-300


@dataclass(frozen=True, slots=True)
class DrawnKit:
    """The must-haves of a call, the time there is for them, and how many drawn calls ask for just
    these."""

    musts: tuple[Must, ...]
    limit: Limit
    calls: int = 1


class Kits:
    """The kits of some call types, read once for everybody they are asked about.

    `types` has the kits of each type; they stand one after the other in `kits`. `share` is (types,
    kits): of all calls drawn of a type, those that ask for a kit. `holds` is (kits, musts): which
    of all `musts` a kit has. `uses` is (types, facts): which of all `facts` any kit of a type
    speaks of.
    """

    def __init__(self, types: Iterable[Sequence[DrawnKit]]) -> None:
        self.types = tuple(map(tuple, types))
        self.kits = tuple(chain.from_iterable(self.types))
        self.singly = tuple(Kit(each.musts) for each in self.kits)
        self.musts = tuple(dict.fromkeys(chain.from_iterable(kit.musts for kit in self.kits)))
        self.facts = tuple(dict.fromkeys(chain.from_iterable(kit.facts for kit in self.singly)))
        self.at = {fact: column for column, fact in enumerate(self.facts)}
        self.columns = tuple([self.at[fact] for fact in kit.facts] for kit in self.singly)
        self.share, self.holds = self._share(), self._holds()
        self.uses = self._uses()
        self._parts = Parts()
        self._takes = self._taken()

    def _taken(self) -> Array:
        """(kits, facts and parts): those of which all must be known."""
        wholes = [self._parts.whole(must.ways for must in kit.musts) for kit in self.kits]
        first = len(self.facts)
        found = np.zeros((len(wholes), first + len(self._parts.splits)))
        for row, whole in enumerate(wholes):
            found[row, [self.at[fact] for fact in whole.sure]] = 1.0
            found[row, [first + number for number in whole.parts]] = 1.0
        return found

    def _share(self) -> Array:
        found, row = np.zeros((len(self.types), len(self.kits))), 0
        for number, kits in enumerate(self.types):
            counts = [kit.calls for kit in kits]
            found[number, row : row + len(kits)] = np.array(counts) / max(sum(counts), 1)
            row += len(kits)
        return found

    def _holds(self) -> Array:
        number = {must: column for column, must in enumerate(self.musts)}
        found = np.zeros((len(self.kits), len(self.musts)))
        for row, kit in enumerate(self.kits):
            found[row, [number[must] for must in kit.musts]] = 1.0
        return found

    def _uses(self) -> Array:
        found = np.zeros((len(self.kits), len(self.facts)))
        for row, columns in enumerate(self.columns):
            found[row, columns] = 1.0
        return np.asarray((self.share > 0) @ found > 0, dtype=float)

    def all_found(self, chances: Array) -> Array:
        """The chance that everything of each kit is found, (..., facts) to (..., kits)."""
        by_fact = list(np.moveaxis(chances, -1, 0))
        parts = self._parts.found(dict(zip(self.facts, by_fact, strict=True)))
        logs = np.log(np.maximum(np.stack([*by_fact, *parts]), _LEAST))
        return np.moveaxis(np.exp(np.tensordot(self._takes, logs, axes=1)), 0, -1)

    def all_found_with(self, chances: Array, ways: Sequence[Sequence[Fact]]) -> Array:
        """The same with all facts of one of some ways known for sure: (ways, ..., kits)."""
        drilled = np.repeat(chances[None], len(ways), axis=0)
        for number, way in enumerate(ways):
            drilled[number][..., [self.at[fact] for fact in way]] = 1.0
        return self.all_found(drilled)
