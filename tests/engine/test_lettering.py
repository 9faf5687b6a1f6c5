"""Names that are written in a compartment, and names that stand beneath the drawing."""

import pytest

from drills.engine.drawing import faces
from drills.engine.lettering import WIDTHS, cut_at
from tests.layouts import DEMO_LAYOUTS, demo_layout


@pytest.mark.parametrize(
    ("name", "units", "cut"),
    [
        ("Cot", 4, ()),
        ("Low road locker", 6, ("t1",)),
        ("Bench overhead front", 4, ("t1", "t2")),
        ("Passenger door pocket", 3, ("t1", "t2", "t3")),
        ("Bench-head bin", 4, ("t1", "t2")),
        ("", 1, ()),
    ],
)
def test_a_word_is_cut_where_it_is_wider_than_its_compartment(
    name: str, units: int, cut: tuple[str, ...]
) -> None:
    """A hyphen is a break that a browser takes by itself."""
    assert cut_at(name, units) == cut


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_what_fits_a_width_fits_every_greater_one(name: str) -> None:
    widths = list(WIDTHS)
    for face in faces(demo_layout(name), value_of=str):
        for cell in face.cells:
            assert list(cell.cut) == widths[: len(cell.cut)]
            assert set(cell.spot.split()) >= set(cell.cut)
