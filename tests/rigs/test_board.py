"""The drawing that is chosen on: one group of radios, and nothing in it tells an answer."""

import re

import pytest
from django.template.loader import render_to_string

from drills.engine.drawing import faces, mark_cells, shade_cells
from drills.engine.layout import FIXTURE_CATEGORIES
from drills.engine.plan import plan_of
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig

PLACE = re.compile(r'<input type="radio" name="place" value="([^"]*)"')


def board(name: str) -> str:
    drawn = faces(demo_layout(name), value_of=lambda code: f"t-{code}")
    context = {"faces": drawn, "mode": "choose", "plan": plan_of(drawn)}
    return render_to_string("rigs/_board.html", context)


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_every_place_can_be_chosen(name: str) -> None:
    sent = set(PLACE.findall(board(name)))

    assert sent == {"", *(f"t-{each.code}" for each in demo_layout(name).compartments)}


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_nothing_is_chosen_at_first_and_the_first_face_is_shown(name: str) -> None:
    checked = re.findall(r"<input[^>]* checked>", board(name))

    assert checked == ['<input type="radio" name="face" value="street" checked>']


def test_the_key_plan_has_the_faces_that_exist() -> None:
    assert re.findall(r'name="face" value="([^"]+)"', board("first-response-truck")) == [
        *("street", "cab", "curb", "rear")
    ]


def test_every_place_says_what_will_be_sent() -> None:
    found = board("mesa-box")

    assert found.count('class="told"') == len([v for v in PLACE.findall(found) if v])
    assert '<span class="in">C1 › Top shelf › First-in bag</span><b>Lid pocket</b>' in found


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_outlets_and_controls_leave_no_trace_where_they_may_be_asked(name: str) -> None:
    layout, found = demo_layout(name), board(name)

    asked = [each.name for each in layout.points if each.kind in FIXTURE_CATEGORIES]
    assert asked
    assert "point" not in found
    assert [name for name in asked if name in found] == []


def test_it_has_no_ids_and_no_links() -> None:
    found = board("mesa-box")

    assert " id=" not in found
    assert " href=" not in found


def test_a_marked_face_opens_the_cabinet_that_holds_the_mark() -> None:
    street = faces(practice_rig(), value_of=str)[0]
    marked = mark_cells(street, found={"BAG-M": 1}, own={"S1A": 1})

    found = render_to_string("rigs/_marked_face.html", {"face": marked})

    assert '<span class="vh">here: </span>1' in found
    assert '<span class="vh">your answer: </span>1' in found
    assert 'class="open"' in found
    assert "<input" not in found
    assert "<a " not in found


def test_an_unmarked_face_stays_shut() -> None:
    street = faces(practice_rig(), value_of=str)[0]

    assert 'class="open"' not in render_to_string("rigs/_marked_face.html", {"face": street})


def test_shades_carry_their_number() -> None:
    drawn = [
        shade_cells(f, values={"S1": 92, "I1": 12}) for f in faces(practice_rig(), value_of=str)
    ]

    found = render_to_string("rigs/_shaded.html", {"faces": drawn})

    assert 'k4"><b>S1</b> <span>92</span>' in found
    assert 'k0"><b>I1</b> <span>12</span>' in found
    assert 'kx"><b>P1</b> <span>–</span>' in found
    assert "not enough evidence" in found


def test_shades_may_lead_to_their_door() -> None:
    drawn = [shade_cells(f, values={}) for f in faces(practice_rig(), value_of=str)]

    found = render_to_string("rigs/_shaded.html", {"faces": drawn, "url": "/rigs/a/"})

    assert 'href="/rigs/a/?open=S1"' in found
