"""Facts: what there is to know about a layout, one thing at a time.

The chain of places is cut at each compartment that is carried. The item inside its bag is one
fact, that bag in the rig is another, shared by all it holds; an item in no bag is one fact. What
is known of no layout, such as working out the dose of a medicine, is a skill.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.layout import Layout

ITEM, BAG, SKILL = "item", "bag", "skill"


@dataclass(frozen=True, slots=True, order=True)
class Fact:
    """That a thing is at a place, or a skill.

    `kind` is item, bag or skill; `thing` the item's key, the bag's place key or the skill's key;
    `place` the place key, empty for a skill.
    """

    kind: str
    thing: str
    place: str

    def __str__(self) -> str:
        return f"{self.kind}:{self.thing}@{self.place}"


def steps(layout: Layout, thing: str, code: str) -> tuple[Fact, ...]:
    """The facts that finding a thing in a compartment takes, outermost first.

    A bag that stands at the top is its own place: where it stands on its face is the fact.
    """
    found: list[Fact] = []
    holder = ""
    for compartment in layout.chain(code):
        if compartment.is_bag:
            found.append(Fact(BAG, compartment.key, holder or compartment.key))
        holder = compartment.key
    return (*found, Fact(ITEM, thing, holder))


def bag_fact(layout: Layout, code: str) -> Fact:
    """The fact of where a bag is, by its code; it says nothing of what is inside."""
    return steps(layout, "", code)[-2]


def facts_of(layout: Layout, things: Iterable[str] | None = None) -> tuple[Fact, ...]:
    """Every fact of the layout, or of some of its things, each once and in a stable order."""
    wanted = layout.things if things is None else things
    found = {
        fact: None
        for key in wanted
        for code in layout.things[key].places
        for fact in steps(layout, key, code)
    }
    return tuple(found)


def door_of(layout: Layout, fact: Fact) -> str:
    """The code of the door behind which a fact of this layout lies."""
    place = next(each for each in layout.compartments if each.key == fact.place)
    return layout.chain(place.code)[0].code


def fact_words(layout: Layout, fact: Fact) -> str:
    """A fact of this layout as a person says it: what, and where it is."""
    return ": ".join(fact_parts(layout, fact))


def fact_parts(layout: Layout, fact: Fact) -> tuple[str, str]:
    """The name of the thing of a fact, and the path to its place."""
    by_key = {each.key: each for each in layout.compartments}
    name = layout.things[fact.thing].name if fact.kind == ITEM else by_key[fact.thing].name
    return name, layout.path(by_key[fact.place].code)
