"""What a revision moved, and the prompts that ask for it: where is it now?"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from drills.engine.asking import DEEP_ENOUGH, in_reach_of, is_held, looks_at, where_is
from drills.engine.facts import Fact, bag_fact, facts_of, steps
from drills.engine.layout import Compartment, Layout, Thing
from drills.engine.merging import to_relearn
from drills.engine.prompts import Prompt, bag_subject, ways
from drills.engine.recipes import MOVED, CannotApplyError, RecipeSpec
from drills.engine.scoring import DOOR

_MOVED_TEXT = "It moved. Where is it now?"
_PARTLY_TEXT = "One of its places is new. Where is it? Any of its places is right."
_NEW_TEXT = "It is new on this layout. Where is it?"
_BAG_TEXT = "This bag moved, with all that is in it. Where is it kept now?"
_NEW_BAG_TEXT = "This bag is new on this layout. Where is it kept?"


@dataclass(frozen=True, slots=True)
class Moves:
    """What tells a layout from the revision that is known: facts to learn anew, in order.

    `bags` and `things` are the keys that there were. `doors` are the keys of the doors behind
    which something was that is there no longer.
    """

    anew: frozenset[Fact]
    bags: frozenset[str]
    things: frozenset[str]
    doors: frozenset[str]

    def is_beside(self, layout: Layout, prompt: Prompt) -> bool:
        """Whether a prompt asks for what did not move, behind a door that lost something."""
        facts = {
            fact for way in ways(layout, prompt.kind, prompt.subject, prompt.answer) for fact in way
        }
        codes = prompt.answer if prompt.subject in layout.things else (prompt.subject,)
        doors = {layout.chain(code)[0].key for code in codes}
        return self.anew.isdisjoint(facts) and not self.doors.isdisjoint(doors)


def moves_between(before: Layout | None, now: Layout, spec: RecipeSpec) -> Moves:
    """What `now` has elsewhere than `before`, or new.

    Raises `CannotApplyError` when there is no revision before, or none of its facts changed.
    """
    if before is None:
        raise CannotApplyError(
            f"{spec.slug}: {now.name} has no earlier revision, so nothing has moved on it."
        )
    anew = frozenset(to_relearn(before, now))
    if not anew:
        raise CannotApplyError(
            f"{spec.slug}: nothing has moved on {now.name} since the revision before."
        )
    codes = {each.key: each.code for each in before.compartments}
    gone = set(facts_of(before)) - set(facts_of(now))
    return Moves(
        anew,
        bags=frozenset(each.key for each in before.compartments if each.is_bag),
        things=frozenset(before.things),
        doors=frozenset(before.chain(codes[fact.place])[0].key for fact in gone),
    )


def moved_prompts(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]], moves: Moves
) -> Iterator[Prompt]:
    """One prompt for each bag that moved, with all it holds, and for each thing that did.

    A bag that now stands by itself on a face is not asked for: the drawing shows it.
    """
    for prompt in (*_bags(layout, spec, moves), *_things(layout, spec, moves)):
        if not is_held(layout, MOVED, prompt.subject, held):
            yield prompt


def _bags(layout: Layout, spec: RecipeSpec, moves: Moves) -> Iterator[Prompt]:
    for bag in layout.compartments:
        is_anew = bag.is_bag and bag.inside and bag_fact(layout, bag.code) in moves.anew
        if is_anew and looks_at(layout, spec, bag.inside):
            yield _bag(layout, spec, bag, moves)


def _things(layout: Layout, spec: RecipeSpec, moves: Moves) -> Iterator[Prompt]:
    for thing in layout.things.values():
        places = [steps(layout, thing.key, code)[-1] for code in thing.places]
        if in_reach_of(layout, spec, thing) and not moves.anew.isdisjoint(places):
            is_partly = not moves.anew.issuperset(places)
            yield _thing(spec, thing, moves, is_partly=is_partly)


def _bag(layout: Layout, spec: RecipeSpec, bag: Compartment, moves: Moves) -> Prompt:
    inside = [
        line
        for line in layout.stock
        if any(each.code == bag.code for each in layout.chain(line.compartment))
    ]
    text = _BAG_TEXT if bag.key in moves.bags else _NEW_BAG_TEXT
    deep = DEEP_ENOUGH[DOOR] if spec.depth == DOOR else "Down to the place that holds it."
    return Prompt(
        kind=MOVED,
        subject=bag_subject(bag.code),
        name=bag.name,
        text=f"{text} {deep}",
        depth=spec.depth,
        category="",
        critical=any(line.critical for line in inside),
        answer=(bag.inside,),
        choices=(),
    )


def _thing(spec: RecipeSpec, thing: Thing, moves: Moves, *, is_partly: bool) -> Prompt:
    text = _PARTLY_TEXT if is_partly else _MOVED_TEXT if thing.key in moves.things else _NEW_TEXT
    return where_is(thing, spec, kind=MOVED, asks=text)


def without_bags(layout: Layout) -> Layout:
    """The layout less every bag that is kept in another place, with all in it.

    Its drawing is the same wherever those are.
    """
    gone = {each.code for each in layout.compartments if _bag_around(layout, each)}
    return replace(
        layout,
        compartments=tuple(each for each in layout.compartments if each.code not in gone),
        stock=tuple(line for line in layout.stock if line.compartment not in gone),
        points=tuple(
            replace(point, serves=tuple(code for code in point.serves if code not in gone))
            for point in layout.points
        ),
    )


def bags_alone(layout: Layout) -> tuple[tuple[str, str], ...]:
    """Code and name of each place that `without_bags` leaves out, named from its bag on.

    In the order of the bags' codes, so that nothing tells where a bag is kept.
    """
    found = []
    for each in layout.compartments:
        if bag := _bag_around(layout, each):
            chain = layout.chain(each.code)
            names = [inner.name for inner in chain[chain.index(bag) + 1 :]]
            inside = [layout.order_of[inner.code] for inner in chain[chain.index(bag) + 1 :]]
            found.append((bag.code, inside, each.code, " › ".join([bag.name, *names])))
    return tuple((code, name) for *_, code, name in sorted(found))


def _bag_around(layout: Layout, compartment: Compartment) -> Compartment | None:
    """The innermost bag that a place is or lies in, unless that bag stands by itself."""
    bags = [each for each in layout.chain(compartment.code) if each.is_bag and each.inside]
    return bags[-1] if bags else None
