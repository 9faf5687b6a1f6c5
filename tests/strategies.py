"""Small rigs of every shape: nested places, bags in bags, doubles, outlets, any order of rows."""

from collections.abc import Sequence

from hypothesis import strategies as st

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

ITEMS = tuple(f"Thing {letter}" for letter in "ABCDEFGHIJKL")
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
