"""Marks: was the place right, how deep, and what does the answer say about what is known.

Accuracy alone is judged here; time is kept apart, in `timing`.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from drills.engine.dosing import OUT_OF_TOLERANCE
from drills.engine.facts import ITEM, Fact, bag_fact, steps
from drills.engine.geometry import metres_from_cot
from drills.engine.layout import Compartment, Layout

RIGHT, PARTLY, WRONG = "right", "partly", "wrong"
DOOR, SHELF, POCKET = "door", "shelf", "pocket"
DEPTHS = (DOOR, SHELF, POCKET)
# Half for what is partly right, or a dose beyond what its device can measure: ours, no source.
MARKS = {RIGHT: 100, PARTLY: 50, OUT_OF_TOLERANCE: 50}
OLD_PLACE, NEXT_DOOR, ELSEWHERE = "old place", "next door", "elsewhere"


@dataclass(frozen=True, slots=True)
class Moved:
    """What a revision moved: per thing the place keys that held it before and do not now, and
    the place keys of the bags that hang elsewhere than before; `held_bags` are, per such bag, the
    keys of the places that held it before and do not now."""

    places: Mapping[str, Collection[str]] = field(default_factory=dict)
    bags: frozenset[str] = frozenset()
    held_bags: Mapping[str, Collection[str]] = field(default_factory=dict)


NOTHING_MOVED = Moved()


@dataclass(frozen=True, slots=True)
class Finding:
    """What one answer says of one fact: the outcome, and the depth the answer reached."""

    fact: Fact
    outcome: str
    depth_reached: str


@dataclass(frozen=True, slots=True)
class Mark:
    """The judgement of one answer.

    `near` names a wrong place (old place, next door, elsewhere) and is empty otherwise; `place`
    is the code of the right place the answer counts for, empty for contents. `missed` are things
    that were not named, or needs whose must-haves were not brought. `kit_marks`
    are of a kit.
    """

    outcome: str
    near: str = ""
    place: str = ""
    depth_reached: str = ""
    findings: tuple[Finding, ...] = ()
    missed: tuple[str, ...] = ()
    not_there: tuple[str, ...] = ()
    kit_marks: int | None = None

    @property
    def marks(self) -> int:
        """Marks of 100; a kit has its own."""
        return MARKS.get(self.outcome, 0) if self.kit_marks is None else self.kit_marks


def depth_target(chain: Sequence[Compartment], depth: str) -> int:
    """The index in a chain, outermost first, that a depth asks for."""
    asked = {DOOR: 0, SHELF: 1, POCKET: len(chain) - 1}
    return min(asked[depth], len(chain) - 1)


def mark_locate(
    layout: Layout, *, thing: str, depth: str, answer: str, moved: Moved = NOTHING_MOVED
) -> Mark:
    """Judge a place given for a thing; `answer` is a compartment code.

    Any compartment that stocks the thing is right. With doubles a right answer counts for the
    place given, a wrong one for the nearest to the cot.
    """
    places = layout.things[thing].places
    place = min(
        places,
        key=lambda code: (
            -_closeness(layout, code, depth, answer),
            metres_from_cot(layout, code),
            places.index(code),
        ),
    )
    outcome = (WRONG, PARTLY, RIGHT)[_closeness(layout, place, depth, answer)]
    if outcome == WRONG:
        return Mark(
            outcome=outcome,
            near=_near(layout, places, depth, answer, moved.places.get(thing, ())),
            place=place,
            findings=_wrong_findings(layout, thing, place, depth, answer, moved),
        )
    reached = _depth_reached(layout, place, answer)
    return Mark(
        outcome=outcome,
        place=place,
        depth_reached=reached,
        findings=_found_findings(layout, thing, place, depth, answer, reached),
    )


def mark_bag(
    layout: Layout, *, bag: str, depth: str, answer: str, moved: Moved = NOTHING_MOVED
) -> Mark:
    """Judge a place given for a bag that hangs or stands in another; both are compartment codes.

    The answer tells of the bag alone: what is known of its inside stays as it is.
    """
    place = layout.by_code[bag].inside
    outcome = (WRONG, PARTLY, RIGHT)[_closeness(layout, place, depth, answer)]
    is_wrong = outcome == WRONG
    was = moved.held_bags.get(layout.by_code[bag].key, ())
    reached = "" if is_wrong else _depth_reached(layout, place, answer)
    return Mark(
        outcome=outcome,
        near=_near(layout, (place,), depth, answer, was) if is_wrong else "",
        place=place,
        depth_reached=reached,
        findings=(Finding(bag_fact(layout, bag), outcome, reached),),
    )


def mark_contents(
    layout: Layout, *, place: str, choices: Collection[str], answer: Collection[str]
) -> Mark:
    """Judge which things were said to be in a compartment.

    `choices` and `answer` are thing keys; what is in the compartment is right, and nothing else.
    All of them and no other is right; more hits than false ones is partly right.
    """
    here = {line.key for line in layout.lines_in.get(place, ())} & set(choices)
    said = set(answer) & set(choices)
    hits, missed, extra = here & said, here - said, said - here
    outcome = RIGHT if not missed and not extra else PARTLY if len(hits) > len(extra) else WRONG
    found = [Finding(steps(layout, key, place)[-1], RIGHT, POCKET) for key in sorted(hits)]
    found += [Finding(steps(layout, key, place)[-1], WRONG, "") for key in sorted(missed)]
    found += [Finding(fact_nearest_to_cot(layout, key), WRONG, "") for key in sorted(extra)]
    return Mark(
        outcome=outcome,
        findings=tuple(found),
        missed=tuple(sorted(missed)),
        not_there=tuple(sorted(extra)),
    )


def moved_since(before: Layout, now: Layout) -> Moved:
    """What is elsewhere in `now` than it was in `before`, both revisions of one layout."""
    places = {}
    for key, thing in now.things.items():
        if key in before.things:
            gone = _place_keys(before, before.things[key].places) - _place_keys(now, thing.places)
            if gone:
                places[key] = frozenset(gone)
    hung, hangs = _bag_parents(before), _bag_parents(now)
    bags = {key for key, parent in hangs.items() if hung.get(key, parent) != parent}
    held = {key: frozenset(_holders(before, key) - _holders(now, key)) for key in bags}
    return Moved(places, frozenset(bags), held)


def _bag_parents(layout: Layout) -> dict[str, str]:
    return {
        each.key: layout.by_code[each.inside].key if each.inside else ""
        for each in layout.compartments
        if each.is_bag
    }


def _holders(layout: Layout, bag: str) -> set[str]:
    """The keys of all that a bag is in, by the key of the bag; nothing where there is no bag."""
    codes = [each.inside for each in layout.compartments if each.key == bag and each.inside]
    return _place_keys(layout, codes)


def _place_keys(layout: Layout, codes: Collection[str]) -> set[str]:
    return {each.key for code in codes for each in layout.chain(code)}


def nearest_to_cot(layout: Layout, thing: str) -> str:
    """The code of the place of a thing that is nearest to the cot."""
    return min(layout.things[thing].places, key=lambda code: metres_from_cot(layout, code))


def fact_nearest_to_cot(layout: Layout, thing: str) -> Fact:
    """The fact that a wrong answer about a thing counts for."""
    return steps(layout, thing, nearest_to_cot(layout, thing))[-1]


def _closeness(layout: Layout, place: str, depth: str, answer: str) -> int:
    """2 when the answer is right at the depth asked, 1 when right but not so deep, 0 when wrong.

    Where the pocket is asked, one inside the place that holds the thing is right but for itself.
    """
    chain = layout.chain(place)
    if chain[depth_target(chain, depth)] in layout.chain(answer):
        return 1 if _is_too_deep(depth, place, answer) else 2
    return 1 if layout.by_code[answer] in chain else 0


def _is_too_deep(depth: str, place: str, answer: str) -> bool:
    return depth == POCKET and answer != place


def _depth_reached(layout: Layout, place: str, answer: str) -> str:
    """The deepest depth at which the answer agrees with the place."""
    if answer == place:
        return POCKET
    shared = set(layout.chain(place)) & set(layout.chain(answer))
    return SHELF if len(shared) > 1 else DOOR


def _near(
    layout: Layout, places: Collection[str], depth: str, answer: str, was: Collection[str]
) -> str:
    """How a wrong answer is wrong; `was` are the keys of the places that held it before."""
    if _was_there(layout, depth, answer, was):
        return OLD_PLACE
    given = layout.chain(answer)
    for place in places:
        chain = layout.chain(place)
        wanted = chain[depth_target(chain, depth)]
        if any(_siblings(layout, wanted, each) for each in given):
            return NEXT_DOOR
    return ELSEWHERE


def _siblings(layout: Layout, one: Compartment, other: Compartment) -> bool:
    """Next to each other: in the same parent, or at the top on the same face."""
    if one is other or one.inside != other.inside:
        return False
    return bool(one.inside) or layout.face_of(one.code) == layout.face_of(other.code)


def _was_there(layout: Layout, depth: str, answer: str, was: Collection[str]) -> bool:
    """Whether the answer, as deep as was asked, is on the way to where the thing was.

    Another pocket behind the old door is not the old place.
    """
    given = layout.chain(answer)
    return given[depth_target(given, depth)].key in was


def _found_findings(
    layout: Layout, thing: str, place: str, depth: str, answer: str, reached: str
) -> tuple[Finding, ...]:
    """A step is right when its end, or the depth asked, is on the way given; else partly right.

    A door asked for says nothing of what lies deeper.
    """
    chain, given = layout.chain(place), layout.chain(answer)
    target, last = depth_target(chain, depth), len(chain) - 1
    bags = [index for index, each in enumerate(chain) if each.is_bag]
    starts = [0, *(min(index + 1, last) for index in bags)]
    found = []
    for fact, start, end in zip(steps(layout, thing, place), starts, [*bags, last], strict=True):
        missed = fact.kind == ITEM and _is_too_deep(depth, place, answer)
        is_right = chain[min(end, target)] in given and not missed
        if start <= target:
            found.append(Finding(fact, RIGHT if is_right else PARTLY, reached))
    return tuple(found)


def _wrong_findings(
    layout: Layout, thing: str, place: str, depth: str, answer: str, moved: Moved
) -> tuple[Finding, ...]:
    """In the right bag the bag is known and the item is not; the old place of a bag that moved
    tells of the bag alone; anywhere else the item is not known to be in its bag or place."""
    given = {each.key for each in layout.chain(answer)}
    was_there = _was_there(layout, depth, answer, moved.places.get(thing, ()))
    *bags, item = steps(layout, thing, place)
    found: list[Finding] = []
    for fact in bags:
        if fact.thing in given:
            found.append(Finding(fact, RIGHT, SHELF))
        elif was_there and fact.thing in moved.bags:
            return (*found, Finding(fact, WRONG, ""))
    return (*found, Finding(item, WRONG, ""))
