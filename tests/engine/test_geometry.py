"""Where a compartment is, seen from above."""

from dataclasses import replace

import pytest
from hypothesis import given

from drills.engine.geometry import cot_spot, metres_from_cot, spot_of
from drills.engine.layout import FACES, Compartment, Layout, Rect
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig
from tests.strategies import layouts

AT_FRONT, AT_REAR = 0.0, 24.0


def on(face: str, rect: Rect | None) -> Layout:
    return Layout("One", "one", compartments=(Compartment("A", "A", face=face, rect=rect),))


@pytest.mark.parametrize(
    ("face", "rect", "spot"),
    [
        ("street", Rect(0, 0, 2, 2), (1.0, 0.0)),
        ("curb", Rect(0, 0, 2, 2), (23.0, 12.0)),
        ("interior-street", Rect(0, 0, 2, 2), (23.0, 1.5)),
        ("interior-curb", Rect(0, 0, 2, 2), (1.0, 10.5)),
        ("bulkhead", Rect(0, 0, 2, 2), (0.0, 0.5)),
        ("rear", Rect(0, 0, 2, 2), (24.0, 0.5)),
        ("floor", Rect(0, 0, 2, 2), (23.0, 1.0)),
        ("cab", Rect(0, 0, 2, 12), (-3.0, 0.5)),
    ],
)
def test_a_corner_of_each_face_lies_where_the_drawing_says(
    face: str, rect: Rect, spot: tuple[float, float]
) -> None:
    """Each face is drawn as one sees it who stands before it; the plan has the front at 0.

    Source: the drawing convention of the demonstration layouts, ours.
    """
    assert spot_of(on(face, rect), "A") == spot


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_second_openings_lie_straight_behind_the_first(name: str) -> None:
    """The inner door of a through-compartment is at the same length of the rig as the outer one.

    Source: the demonstration layouts, whose second openings were drawn by hand.
    """
    rig = demo_layout(name)
    through = [each for each in rig.compartments if each.rect and each.also_rect]

    for each in through:
        outer, _ = spot_of(on(each.face, each.rect), "A")
        inner, _ = spot_of(on(each.also_face, each.also_rect), "A")

        assert inner == outer


def test_a_pocket_stands_where_its_bag_does() -> None:
    """A place without a rectangle is where the nearest one around it is."""
    rig = practice_rig()

    assert spot_of(rig, "BAG-L") == spot_of(rig, "S1A")


def test_a_place_without_any_rectangle_is_in_the_middle() -> None:
    """Where nothing is drawn the middle of the body is assumed."""
    assert spot_of(on("street", None), "A") == (12.0, 6.0)


def test_without_a_cot_the_middle_of_the_body_is_assumed() -> None:
    """A rig without points is measured from its middle."""
    assert cot_spot(replace(practice_rig(), points=())) == (12.0, 6.0)


def test_distance_is_straight_and_in_metres() -> None:
    """Nine units along and six across, each of 0.2 m, are 2.163 m; worked by hand."""
    assert metres_from_cot(practice_rig(), "S1") == pytest.approx(2.1633, abs=1e-4)


def test_distance_across_alone() -> None:
    """Beside the cot, four and a half units of 0.2 m across are 0.9 m; worked by hand."""
    assert metres_from_cot(practice_rig(), "I1") == pytest.approx(0.9)


def test_a_body_without_sizes_is_taken_as_a_usual_one() -> None:
    """Without length and width a body of 4.3 by 2.4 m is assumed: nine units along are 1.6125 m."""
    rig = replace(practice_rig(), length_m=None, width_m=None)
    across = 6 * 2.4 / 12

    assert metres_from_cot(rig, "S1") == pytest.approx((1.6125**2 + across**2) ** 0.5)


@given(layouts())
def test_everything_lies_on_the_rig(rig: Layout) -> None:
    """No place lies outside the body and its cab, and every distance can be said."""
    for each in rig.compartments:
        x, y = spot_of(rig, each.code)

        assert -6.0 <= x <= AT_REAR
        assert 0.0 <= y <= 12.0
        assert metres_from_cot(rig, each.code) >= 0


def test_every_face_has_its_place_on_the_plan() -> None:
    """A face that the workbook may name can be drawn."""
    for face in FACES:
        x, _ = spot_of(on(face, Rect(11, 5, 2, 2)), "A")

        assert x <= AT_REAR
        assert (x < AT_FRONT) == (face == "cab")
