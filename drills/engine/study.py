"""The order in which a rig is studied: round it door by door, each with all that lies in it."""

from drills.engine.asking import looks_at
from drills.engine.layout import Compartment, Layout
from drills.engine.prompts import Prompt
from drills.engine.reaching import first_place, seat_order
from drills.engine.recipes import CONTENTS, REACH, RecipeSpec

# A walk round the rig: outside by street side, rear and curb side, then the cab, then inside.
STUDY_ORDER = (
    "street",
    "rear",
    "curb",
    "cab",
    "bulkhead",
    "interior-street",
    "interior-curb",
    "floor",
)


def study_walk(layout: Layout) -> tuple[Compartment, ...]:
    """The doors of a rig in the order in which one is walked round it."""
    tops = layout.children.get("", ())
    return tuple(sorted(tops, key=lambda each: STUDY_ORDER.index(layout.face_of(each.code))))


def study_place(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> tuple[int, ...]:
    """Face by face, each door with all that lies in it; what is where comes before what is in."""
    chain = layout.chain(place_of(layout, spec, prompt))
    face = STUDY_ORDER.index(layout.face_of(chain[0].code))
    walk = [layout.order_of[each.code] for each in chain]
    return (face, *walk, _turn(layout, prompt))


def _turn(layout: Layout, prompt: Prompt) -> int:
    """At one place, where a thing is comes first, then what is in there, then seat by seat."""
    if prompt.kind == REACH:
        return len(layout.compartments) + 1 + seat_order(layout, prompt)
    return len(layout.compartments) if prompt.kind == CONTENTS else -1


def place_of(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> str:
    """The place a prompt is asked for: of doubles the first that the recipe looks at,
    from a seat the first that is reached."""
    if prompt.kind == CONTENTS:
        return prompt.subject
    if prompt.kind == REACH:
        return first_place(layout, prompt)
    return next(code for code in prompt.answer if looks_at(layout, spec, code))
