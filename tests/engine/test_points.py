"""Doors, seats and the cot where the workbook has none."""

from dataclasses import replace

from drills.engine.drawing import faces
from drills.engine.geometry import cot_spot
from drills.engine.points import assumed_points, points_of
from tests.layouts import demo_layout, practice_rig


def test_points_of_the_workbook_stand() -> None:
    """Nothing is assumed beside what the workbook says."""
    rig = practice_rig()

    assert points_of(rig) == rig.points
    assert assumed_points(rig) == ()


def test_every_assumed_point_says_so() -> None:
    """A side door, a rear door, the cot and one seat are assumed, by name."""
    rig = replace(practice_rig(), points=())

    assumed = points_of(rig)

    assert [point.kind for point in assumed] == ["door", "door", "cot", "seat"]
    assert all(point.name.endswith(", assumed") for point in assumed)


def test_a_body_without_an_inside_has_none() -> None:
    """A pickup has no patient room, so neither cot nor attendant."""
    truck = replace(demo_layout("first-response-truck"), points=())

    assert points_of(truck) == ()


def test_distances_are_from_the_assumed_cot() -> None:
    """The assumed cot stands in the middle of the body."""
    assert cot_spot(replace(practice_rig(), points=())) == (12, 6)


def test_the_drawing_names_what_is_assumed() -> None:
    """Whoever looks at the drawing reads that a door is assumed."""
    drawn = faces(replace(demo_layout("mesa-box"), points=()), value_of=str)

    names = [fixed.name for face in drawn for fixed in face.fixed]
    assert "Side door, assumed" in names
