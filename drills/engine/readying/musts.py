"""The must-haves of a call as facts of a layout: what finding each of them takes."""

from collections.abc import Iterable, Iterator

from drills.engine.facts import Fact, steps
from drills.engine.layout import Layout
from drills.engine.readying.hurrying import Limit
from drills.engine.readying.known import Must
from drills.engine.recipes import LOCATE
from drills.engine.targets import TARGETS
from drills.engine.wanted import Wanted, musts

# Seconds to find one thing once one stands at the rig: a published goal for an item of a cart. What
# is walked and opened is not in it.
A_THING = TARGETS[LOCATE].seconds

# What is critical counts so much more than what is not. Ours, no source.
CRITICAL_COUNTS = 2.0


def musts_of(layout: Layout, wanted: Iterable[Wanted]) -> tuple[Must, ...]:
    """The must-haves that can be brought here, with every way to find each.

    A place that holds enough is a way by itself; where none does, as few places as hold it
    together are one. Of what is not aboard nothing can be known: it is left out.
    """
    found = (
        Must(each.name or each.need, tuple(_ways(layout, each)), _weight(layout, each))
        for each in musts(wanted)
        if each.quantity > 0
    )
    return tuple(must for must in found if must.ways)


def limit_of(things: int, *, moving: float = 0.0) -> Limit:
    """The time there is to find so many things, beside so many seconds of walking and opening."""
    return Limit(A_THING * things + moving, moving)


def _weight(layout: Layout, wanted: Wanted) -> float:
    is_critical = any(layout.things[key].critical for key in wanted.serving)
    return CRITICAL_COUNTS if is_critical else 1.0


def _ways(layout: Layout, wanted: Wanted) -> Iterator[tuple[Fact, ...]]:
    """Each place that holds enough; else the fullest places that do so together."""
    held = _places(layout, wanted)
    enough = [facts for count, facts in held if count >= wanted.quantity]
    if enough:
        yield from enough
        return
    left, together = wanted.quantity, dict[Fact, None]()
    for count, facts in sorted(held, key=lambda each: -each[0]):
        if left <= 0:
            break
        left -= count
        together.update(dict.fromkeys(facts))
    yield tuple(together)


def _places(layout: Layout, wanted: Wanted) -> list[tuple[int, tuple[Fact, ...]]]:
    """How many that serve lie in each place, with the facts that finding them there takes."""
    return [
        (line.par * wanted.holds.get(key, 1), steps(layout, key, code))
        for key in wanted.serving
        for code in layout.things[key].places
        for line in layout.lines_in.get(code, ())
        if line.key == key
    ]
