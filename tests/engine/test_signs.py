"""Outlets and controls on a drawing that is looked at."""

from dataclasses import replace
from itertools import pairwise

import pytest

from drills.engine.drawing import faces
from drills.engine.layout import Point
from drills.engine.signs import with_signs
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig

FIXED = {
    "Oxygen shut-off",
    "Suction switch",
    "Light and climate panel",
    "Siren and warning-light panel",
    "Radio control head",
    "Dispatch terminal",
}


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_nothing_of_them_is_on_a_drawing_that_is_answered_on(name: str) -> None:
    """They are asked for; where they are never reaches a prompt."""
    layout = demo_layout(name)
    bare = replace(
        layout, points=tuple(p for p in layout.points if p.kind not in {"outlet", "control"})
    )

    assert faces(layout, value_of=str) == faces(bare, value_of=str)


@pytest.mark.parametrize("name", ["mesa-box", "mesa-box-rev2", "arroyo-van"])
def test_an_ambulance_of_the_demonstration_has_all_six(name: str) -> None:
    """Each is a thing that is asked for, on a compartment of the face it is drawn on."""
    layout = demo_layout(name)
    signs = {
        sign.name: (face.key, sign.door)
        for face in with_signs(faces(layout, value_of=str), layout)
        for sign in face.signs
    }

    assert signs.keys() >= FIXED
    assert {layout.things[name.casefold()].name for name in FIXED} == FIXED
    for key, door in signs.values():
        assert layout.face_of(door) == key


def test_a_letter_is_one_thing_of_the_rig() -> None:
    """Letters run on from face to face, in the order of the faces."""
    layout = demo_layout("mesa-box")
    drawn = with_signs(faces(layout, value_of=str), layout)

    letters = [sign.letter for face in drawn for sign in face.signs]
    assert letters == list("abcdefghi")


def test_letters_go_on_after_z() -> None:
    """A rig with more than 26 of them has no two of one letter."""
    rig = practice_rig()
    many = tuple(
        Point(f"L{n}", "control", f"Lamp {n}", "interior-curb", n % 24, 0) for n in range(30)
    )
    drawn = with_signs(faces(rig, value_of=str), replace(rig, points=many))

    letters = [sign.letter for face in drawn for sign in face.signs]
    assert len(set(letters)) == 30
    assert letters[25:28] == ["z", "aa", "ab"]


def test_no_sign_stands_on_another() -> None:
    """Those at one spot stand side by side in their row."""
    rig = practice_rig()
    same = tuple(Point(f"L{n}", "control", f"Lamp {n}", "street", 23.5, 3) for n in range(3))
    street = with_signs(faces(rig, value_of=str), replace(rig, points=same))[0]

    assert [(sign.x, sign.y) for sign in street.signs] == [(19, 3), (21, 3), (23, 3)]


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_no_sign_of_a_row_lies_on_the_next(name: str) -> None:
    """Each is as wide as a unit of a face on a desk and a little more."""
    layout = demo_layout(name)
    for face in with_signs(faces(layout, value_of=str), layout):
        for y in {sign.y for sign in face.signs}:
            row = sorted(sign.x for sign in face.signs if sign.y == y)
            assert all(after - before >= 2 for before, after in pairwise(row))


def test_more_than_a_row_holds_go_on_in_the_next() -> None:
    rig = practice_rig()
    many = tuple(Point(f"L{n}", "control", f"Lamp {n}", "street", n % 24, 5) for n in range(20))
    street = with_signs(faces(rig, value_of=str), replace(rig, points=many))[0]

    assert len({(sign.x, sign.y) for sign in street.signs}) == 20
    assert {sign.y for sign in street.signs} == {5, 6}
    assert all(0 <= sign.x < 24 for sign in street.signs)


def test_a_sign_leaves_code_and_name_to_be_read() -> None:
    """On a low panel it stands at the foot, for which the panel keeps room."""
    rig = practice_rig()  # P1 is at 2, 4 and 4 by 2
    top = Point("O2", "outlet", "Oxygen outlet", "interior-street", 4, 4, ("P1",))
    free = replace(top, code="O3", x=20)

    (wall,) = (
        face
        for face in with_signs(faces(rig, value_of=str), replace(rig, points=(top, free)))
        if face.key == "interior-street"
    )

    assert [(sign.x, sign.y) for sign in wall.signs] == [(4, 5), (20, 4)]
    assert [cell.is_signed for cell in wall.cells] == [True]
    assert "signed" in wall.cells[0].states


def test_what_is_found_is_lit() -> None:
    """By the key of the thing it is."""
    layout = demo_layout("mesa-box")
    drawn = with_signs(faces(layout, value_of=str), layout, found={"suction switch"})

    lit = [sign.name for face in drawn for sign in face.signs if sign.is_found]
    assert lit == ["Suction switch"]


def test_one_that_serves_nothing_leads_nowhere() -> None:
    """It is drawn, and named, without a door."""
    rig = practice_rig()
    lone = Point("L", "control", "Lamp", "street", 20, 3, ("NOWHERE",))
    street = with_signs(faces(rig, value_of=str), replace(rig, points=(lone,)))[0]

    assert [(sign.name, sign.door) for sign in street.signs] == [("Lamp", "")]
