"""What one rig carries elsewhere than its layout says: a short list, applied to the layout.

A rig stays a rig of its layout only while the list is short; what differs everywhere belongs into
the layout. Facts stay keyed by item and place, so what is learned on one rig of what is the same
on all of them stays known.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from drills.engine.layout import FIXTURE_CATEGORIES, Layout, Point, StockLine, item_key, joined

# Of one rig at one time. Ours, no source: with more of them it is another layout.
MOST_OF_A_RIG = 12
APPLIES, SAME, UNKNOWN = "applies", "same", "unknown"


@dataclass(frozen=True, slots=True, order=True)
class Elsewhere:
    """A thing that one rig carries elsewhere than its layout says, or not at all.

    `thing` is its key; `place` the key of the place where the layout says it is, empty for all
    the places it has; `here` the key of the place on this rig, empty when it is not aboard.
    """

    thing: str
    place: str
    here: str


def standing(layout: Layout, each: Elsewhere) -> str:
    """How a difference stands to a layout.

    `applies`: the layout says otherwise, so the rig differs. `same`: the layout says the same as
    the difference, which has nothing left to say. `unknown`: the layout has the thing neither
    where the difference takes it from nor where it puts it, or lacks the place on the rig; where
    the thing is on the rig nobody can say until somebody looks.
    """
    if each.here and each.here not in _codes(layout):
        return UNKNOWN
    held = _held(layout, each.thing)
    here = frozenset({each.here} if each.here else ())
    taken = held & {each.place} if each.place else held
    if taken:
        return SAME if (held - taken) | here == held else APPLIES
    return SAME if here <= held else UNKNOWN


def on_rig(layout: Layout, differences: Collection[Elsewhere]) -> Layout:
    """The layout as a rig with these differences has it; the same object when none applies.

    What comes to a place that stocks it already makes one line with it, as `joined` says.
    """
    own = [each for each in differences if standing(layout, each) == APPLIES]
    if not own:
        return layout
    return replace(
        layout,
        stock=_one_in_a_place(_lines(layout, own)),
        points=tuple(_points(layout, own)),
    )


def relearned(before: Layout, now: Layout) -> frozenset[tuple[str, str]]:
    """What lies elsewhere in `now` than in `before`, as (thing key, place key) pairs to hold out
    of a drill that was made from `before`: the thing anywhere, and each place that it left or
    came to."""
    if before is now:
        return frozenset()
    found = set()
    for key in {*before.things, *now.things}:
        changed = _held(before, key) ^ _held(now, key)
        if changed:
            found |= {(key, ""), *((key, place) for place in changed)}
    return frozenset(found)


def _held(layout: Layout, thing: str) -> frozenset[str]:
    """The keys of the places where a layout has a thing."""
    if thing not in layout.things:
        return frozenset()
    return frozenset(layout.by_code[code].key for code in layout.things[thing].places)


def _codes(layout: Layout) -> dict[str, str]:
    return {each.key: each.code for each in layout.compartments}


def _taken(own: Collection[Elsewhere], thing: str, place: str) -> Elsewhere | None:
    """The difference that takes a thing from a place."""
    fits = (each for each in own if each.thing == thing and each.place in {"", place})
    return next(fits, None)


def _lines(layout: Layout, own: Collection[Elsewhere]) -> Iterator[StockLine]:
    codes = _codes(layout)
    for line in layout.stock:
        taken = _taken(own, line.key, layout.by_code[line.compartment].key)
        if taken is None:
            yield line
        elif taken.here:
            yield replace(line, compartment=codes[taken.here])


def _one_in_a_place(lines: Iterator[StockLine]) -> tuple[StockLine, ...]:
    found: dict[tuple[str, str], StockLine] = {}
    for line in lines:
        at = line.compartment, line.key
        found[at] = joined(found[at], line) if at in found else line
    return tuple(found.values())


def _points(layout: Layout, own: Collection[Elsewhere]) -> Iterator[Point]:
    """Outlets and controls are things too: one that is elsewhere is drawn there."""
    codes = _codes(layout)
    for point in layout.points:
        differs = _serving_elsewhere(layout, own, point)
        moved = [codes[taken.here] for taken in differs.values() if taken.here]
        serves = [code for code in point.serves if code not in differs] + moved
        if not differs:
            yield point
        elif serves:
            changed = replace(point, serves=tuple(dict.fromkeys(serves)))
            yield _put(layout, changed, moved[0]) if moved else changed


def _serving_elsewhere(
    layout: Layout, own: Collection[Elsewhere], point: Point
) -> dict[str, Elsewhere]:
    """The differences of an outlet or control, by the code of the compartment it is on."""
    if point.kind not in FIXTURE_CATEGORIES:
        return {}
    on = [code for code in point.serves if code in layout.by_code]
    found = {code: _taken(own, item_key(point.name), layout.by_code[code].key) for code in on}
    return {code: taken for code, taken in found.items() if taken}


def _put(layout: Layout, point: Point, code: str) -> Point:
    """A point in the middle of the compartment where it is, or of what that lies in."""
    placed = next((each for each in reversed(layout.chain(code)) if each.rect), None)
    if placed is None or placed.rect is None:
        return replace(point, face=layout.face_of(code))
    x, y = placed.rect.centre
    return replace(point, face=layout.face_of(placed.code), x=x, y=y)
