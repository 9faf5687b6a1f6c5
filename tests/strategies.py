"""Small rigs of every shape, and recipes to drill on them.

Rigs have nested places, bags in bags, doubles, outlets, and their rows in any order.
"""

from collections.abc import Sequence
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from drills.engine.generation import DrillPlan, plan_drill
from drills.engine.layout import (
    CARRIED,
    FACES,
    GRID_HEIGHT,
    GRID_WIDTH,
    Compartment,
    Layout,
    Point,
    Rect,
    StockLine,
)
from drills.engine.prompts import Prompt
from drills.engine.recipes import CONTENTS, LOCATE, CannotApplyError, RecipeSpec
from drills.engine.scoring import DEPTHS

ITEMS = tuple(f"Thing {letter}" for letter in "ABCDEFGHIJKL")
ORDERS = ("mixed", "mixed", "by compartment", "rising")
FOCUSES = ((), ("what I miss",), ("what is critical",), ("one cabinet",))
THREE_CATEGORIES = ("airway", "medicines", "of our own")


@st.composite
def layouts(draw: st.DrawFn, *, least_lines: int = 1) -> Layout:
    """A rig of up to ten compartments and twenty lines of up to twelve things."""
    compartments = draw(compartment_trees())
    codes = [each.code for each in compartments]
    pairs = draw(
        st.lists(
            st.tuples(st.sampled_from(codes), st.integers(0, len(ITEMS) - 1)),
            min_size=least_lines,
            max_size=20,
            unique=True,
        )
    )
    stock = tuple(
        StockLine(
            code,
            ITEMS[item],
            draw(st.integers(1, 9)),
            category=THREE_CATEGORIES[item % len(THREE_CATEGORIES)],
            critical=draw(st.booleans()),
        )
        for code, item in pairs
    )
    return Layout(
        name="Drawn rig",
        slug="drawn-rig",
        compartments=compartments,
        stock=stock,
        points=draw(points(codes)),
    )


@st.composite
def compartment_trees(draw: st.DrawFn) -> tuple[Compartment, ...]:
    """Compartments in any order of rows; whatever lies in another may come before it."""
    found: list[Compartment] = []
    for index in range(draw(st.integers(1, 10))):
        inside = draw(st.sampled_from(["", *(each.code for each in found)]))
        found.append(
            Compartment(
                f"P{index}",
                f"Place {index}",
                inside=inside,
                face="" if inside else draw(st.sampled_from(FACES)),
                rect=draw(st.none() | rects()),
                carried=draw(st.sampled_from(CARRIED)),
                locked=draw(st.booleans()),
            )
        )
    return tuple(draw(st.permutations(found)))


@st.composite
def rects(draw: st.DrawFn) -> Rect:
    x, y = draw(st.integers(0, GRID_WIDTH - 1)), draw(st.integers(0, GRID_HEIGHT - 1))
    w, h = draw(st.integers(1, GRID_WIDTH - x)), draw(st.integers(1, GRID_HEIGHT - y))
    return Rect(x, y, w, h)


@st.composite
def points(draw: st.DrawFn, codes: Sequence[str]) -> tuple[Point, ...]:
    """Up to two outlets on a compartment or on none, and perhaps a cot."""
    outlets = [
        Point(f"O{index}", "outlet", f"Outlet {index}", draw(st.sampled_from(FACES)), 3, 3, (code,))
        for index, code in enumerate(draw(st.lists(st.sampled_from([*codes, "none"]), max_size=2)))
    ]
    cot = [Point("COT", "cot", "Cot", "floor", 12, 6)] if draw(st.booleans()) else []
    return (*outlets, *cot)


@st.composite
def specs(draw: st.DrawFn) -> RecipeSpec:
    """Any recipe of the built kinds, focuses, depths and orders, mostly for the whole rig."""
    kinds = draw(st.sampled_from([(LOCATE,), (CONTENTS,), (LOCATE, CONTENTS)]))
    some_faces = st.lists(st.sampled_from(FACES), min_size=1, max_size=4, unique=True)
    return RecipeSpec(
        "drawn",
        tuple((kind, draw(st.integers(1, 9))) for kind in kinds),
        depth=draw(st.sampled_from(DEPTHS)),
        order=draw(st.sampled_from(ORDERS)),
        focus=draw(st.sampled_from(FOCUSES)),
        faces=tuple(draw(st.one_of(st.just([]), st.just([]), st.just([]), some_faces))),
        bags_only=draw(st.sampled_from([False, False, False, True])),
        probes_share=draw(st.sampled_from([0.0, 0.2, 1.0])),
    )


def planned(rig: Layout, spec: RecipeSpec, seed: int, **given: Any) -> DrillPlan:
    """The drill, where the recipe applies to the rig at all."""
    try:
        return plan_drill(rig, spec, seed=seed, **given)
    except CannotApplyError:
        assume(False)
        raise


def everything(plan: DrillPlan) -> tuple[Prompt, ...]:
    """The prompts and the spares of a drill."""
    return (*plan.prompts, *plan.spares)


def looks_at(rig: Layout, spec: RecipeSpec, code: str) -> bool:
    """Whether a recipe limited to faces or bags looks at a compartment."""
    if spec.bags_only and not any(each.is_bag for each in rig.chain(code)):
        return False
    return not spec.faces or rig.face_of(code) in spec.faces
