"""What a model expects of answers on each thing, the thing itself left out of it."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace

import numpy as np

from drills.engine.flagging.tail import Asked
from drills.engine.knowing.columns import Answers, Floats
from drills.engine.knowing.model import FACT, NEED, Model, Offsets

# So that a whole service is not held in memory several times over.
ROWS_AT_ONCE = 20_000
_NONE = Offsets(0.0, np.zeros(0), np.zeros(0))


def newest_of(rows: Iterable[tuple[Hashable | None, int, float, bool]]) -> list[Asked]:
    """The newest answer of each person on each thing, from rows in the order they came: what each
    is counted under, whose it is, the chance that was expected and whether it was right."""
    newest: dict[Hashable, dict[int, tuple[float, bool]]] = defaultdict(dict)
    for thing, person, chance, right in rows:
        if thing is not None:
            newest[thing][person] = chance, right
    return [_asked(thing, list(told.values())) for thing, told in newest.items()]


def _asked(thing: Hashable, told: Sequence[tuple[float, bool]]) -> Asked:
    return Asked(thing, tuple(chance for chance, _ in told), sum(right for _, right in told))


def expected(model: Model, answers: Answers, past: Floats) -> Floats:
    """The chance that each row is right by who was asked, what they were asked before and what kind
    of thing it is; how hard this thing is, here or anywhere, is left out."""
    blind = replace(model, offsets={**model.offsets, NEED: _NONE, FACT: _NONE})
    found = [np.zeros(0)]
    for first in range(0, len(answers), ROWS_AT_ONCE):
        rows = slice(first, first + ROWS_AT_ONCE)
        found.append(blind.chances(answers.take(rows), past[rows]))
    return np.concatenate(found)
