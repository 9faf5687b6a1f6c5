"""What may be asked of a layout: a prompt for each thing, and for what each place holds."""

from collections.abc import Collection, Iterator

from drills.engine.layout import Layout, StockLine, Thing
from drills.engine.prompts import Prompt, bag_asked, category_asked
from drills.engine.recipes import CALL_KINDS, CONTENTS, LOCATE, REACH, RecipeSpec
from drills.engine.scoring import DOOR, POCKET, SHELF

DEEP_ENOUGH = {
    DOOR: "The door is enough.",
    SHELF: "Down to the shelf or drawer.",
    POCKET: "Down to the pocket.",
}
_CONTENTS_TEXT = "Which of these are in here?"


def is_held(layout: Layout, kind: str, subject: str, held: Collection[tuple[str, str]]) -> bool:
    """Whether a report holds a prompt out: of the thing, of its place, or of a place as a whole.

    `held` are (thing key, place key) pairs; an empty thing means all that is there, an empty
    place means the thing wherever it lies. Of a bag that is not in its place nothing is asked that
    takes to know where it is; what it holds still may be. Nor is anything of a seat while a thing
    of the category is reported.
    """
    if kind in CALL_KINDS:
        return False
    if kind in _HELD:
        return _HELD[kind](layout, subject, held)
    bag = bag_asked(subject)
    codes = (bag,) if bag else layout.things[subject].places
    wholly = {("", each.key) for code in codes for each in layout.chain(code)}
    return any(pair[0] == subject or pair in wholly for pair in held)


def _is_seat_held(layout: Layout, subject: str, held: Collection[tuple[str, str]]) -> bool:
    asked = category_asked(subject)
    same = (key for key, thing in layout.things.items() if thing.category == asked)
    return any(is_held(layout, LOCATE, key, held) for key in same)


def _is_place_held(layout: Layout, code: str, held: Collection[tuple[str, str]]) -> bool:
    keys = {line.key for line in layout.lines_in.get(code, ())}
    here = layout.by_code[code].key
    return any(place == here or (not place and thing in keys) for thing, place in held)


_HELD = {CONTENTS: _is_place_held, REACH: _is_seat_held}


def locate_prompts(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]]
) -> Iterator[Prompt]:
    """One prompt for each thing that the recipe looks at, but for those reported."""
    for thing in layout.things.values():
        if in_reach_of(layout, spec, thing) and not is_held(layout, LOCATE, thing.key, held):
            yield where_is(thing, spec, kind=LOCATE, asks="Where is it?")


def where_is(thing: Thing, spec: RecipeSpec, *, kind: str, asks: str) -> Prompt:
    """A prompt for the places of a thing, down to the depth of the recipe."""
    return Prompt(
        kind=kind,
        subject=thing.key,
        name=thing.name,
        text=f"{asks} {DEEP_ENOUGH[spec.depth]}",
        depth=spec.depth,
        category=thing.category,
        critical=thing.critical,
        answer=thing.places,
        choices=(),
    )


def contents_prompts(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]]
) -> Iterator[Prompt]:
    """One prompt for each place and category, but for places with something reported."""
    for code in layout.lines_in:
        is_asked = code not in layout.children and looks_at(layout, spec, code)
        if is_asked and not is_held(layout, CONTENTS, code, held):
            yield from _contents_of(layout, code)


def _contents_of(layout: Layout, code: str) -> Iterator[Prompt]:
    """One prompt for each category of which something lies there."""
    by_category: dict[str, list[StockLine]] = {}
    for line in layout.lines_in[code]:
        by_category.setdefault(layout.things[line.key].category, []).append(line)
    for category, here in by_category.items():
        yield Prompt(
            kind=CONTENTS,
            subject=code,
            name=_title(layout, code),
            text=_CONTENTS_TEXT,
            depth=POCKET,
            category=category,
            critical=any(line.critical for line in here),
            answer=tuple(sorted(line.key for line in here)),
            choices=_choices(layout, category),
        )


def _title(layout: Layout, code: str) -> str:
    """The path of a compartment from its bag on: where the bag is stays a question of its own."""
    chain = layout.chain(code)
    start = max((index for index, each in enumerate(chain) if each.is_bag), default=0)
    first = f"{chain[start].code} {chain[start].name}"
    return " › ".join([first, *(each.name for each in chain[start + 1 :])])


def _choices(layout: Layout, category: str) -> tuple[str, ...]:
    """All that the rig stocks in a category, by name: never a shorter list."""
    stocked = {line.key for line in layout.stock}
    same = [
        each for each in layout.things.values() if each.category == category and each.key in stocked
    ]
    return tuple(each.key for each in sorted(same, key=lambda each: each.key))


def looks_at(layout: Layout, spec: RecipeSpec, code: str) -> bool:
    """Whether a recipe asks about what is in a place, by its faces and whether it is in a bag."""
    if spec.bags_only and not any(each.is_bag for each in layout.chain(code)):
        return False
    return not spec.faces or layout.face_of(layout.chain(code)[0].code) in spec.faces


def in_reach_of(layout: Layout, spec: RecipeSpec, thing: Thing) -> bool:
    """Whether a recipe looks at one of the places of a thing."""
    return any(looks_at(layout, spec, code) for code in thing.places)
