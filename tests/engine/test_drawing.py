"""The drawing of a layout: every place once for each opening, and no answer in it."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given

from drills.engine.drawing import (
    Block,
    Mark,
    Shade,
    faces,
    mark_cells,
    opened,
    reach_cells,
    reached_from,
    shade_cells,
    shade_of,
    short_label,
)
from drills.engine.layout import Compartment, Layout, Point, Rect
from drills.engine.plan import plan_of
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig
from tests.strategies import layouts

THROUGH = Layout(
    name="Through",
    slug="through",
    compartments=(
        Compartment(
            "C1",
            "Curb front cabinet",
            face="curb",
            rect=Rect(19, 1, 5, 11),
            also_face="interior-curb",
            also_rect=Rect(0, 1, 5, 11),
            opens="both",
        ),
        Compartment("C1A", "Front cabinet top shelf", inside="C1", rect=Rect(19, 1, 5, 4)),
        Compartment("C1B", "Bottom shelf", inside="C1", rect=Rect(19, 8, 5, 4)),
        Compartment(
            "BAG", "First-in bag", inside="C1A", rect=Rect(21, 1, 3, 4), carried="one-hand"
        ),
        Compartment("ALS", "Airway bag", inside="C1A", rect=Rect(19, 1, 2, 4), carried="one-hand"),
        Compartment("LID", "First-in bag lid pocket", inside="BAG"),
    ),
)


def blocks(block: Block) -> Iterator[Block]:
    yield block
    for row in block.rows:
        for each in row:
            yield from blocks(each)


def drawn_codes(layout: Layout) -> Counter[str]:
    drawn = faces(layout, value_of=str)
    return Counter(each.code for face in drawn for cell in face.cells for each in blocks(cell))


class TestFaces:
    @given(layouts())
    def test_every_place_is_drawn_once_for_each_opening(self, layout: Layout) -> None:
        """Whatever nests in whatever, no place is lost and none is drawn twice."""
        assert drawn_codes(layout) == Counter(each.code for each in layout.compartments)

    @pytest.mark.parametrize("name", DEMO_LAYOUTS)
    def test_what_lies_in_a_through_compartment_is_drawn_at_both_openings(self, name: str) -> None:
        """Of the demonstration's rigs, a place is drawn as often as its door opens."""
        layout = demo_layout(name)

        expected = {
            each.code: 2 if layout.chain(each.code)[0].also_face else 1
            for each in layout.compartments
        }

        assert drawn_codes(layout) == expected

    def test_both_openings_send_the_same(self) -> None:
        """A place is one answer, whichever side one takes it from."""
        outside, inside = faces(THROUGH, value_of=lambda code: f"token-{code}")[::-1]

        (first,), (second,) = outside.cells, inside.cells
        assert [b.value for b in blocks(first)] == [b.value for b in blocks(second)]
        assert (first.spot, second.spot) == ("x19 y1 w5 h11 t1 t2", "x0 y1 w5 h11 t1 t2")
        assert (first.is_second, second.is_second) == (False, True)

    @given(layouts())
    def test_the_stock_leaves_no_trace(self, layout: Layout) -> None:
        """Nothing that is drawn tells what is kept where, outlets neither."""
        bare = replace(
            layout, stock=(), points=tuple(p for p in layout.points if p.kind != "outlet")
        )

        assert faces(layout, value_of=str) == faces(bare, value_of=str)

    def test_faces_without_compartments_are_left_out(self) -> None:
        """A pickup truck has no walls inside."""
        drawn = faces(demo_layout("first-response-truck"), value_of=str)

        assert [face.key for face in drawn] == ["street", "cab", "curb", "rear"]

    def test_the_street_side_comes_first(self) -> None:
        """The face shown first never depends on what is asked."""
        drawn = faces(demo_layout("mesa-box"), value_of=str)

        assert drawn[0].key == "street"
        assert (drawn[0].caption, drawn[0].front) == ("seen from outside", "← front of rig")
        assert len(drawn) == 8

    def test_no_code_is_sent_but_what_the_caller_gives(self) -> None:
        """Tokens of a run hide the order and the names of places."""
        drawn = faces(THROUGH, value_of=lambda _: "same")

        values = {b.value for face in drawn for cell in face.cells for b in blocks(cell)}
        assert values == {"same"}

    def test_a_door_without_rectangle_is_drawn_loose(self) -> None:
        """It can still be chosen."""
        layout = Layout("A", "a", compartments=(Compartment("Z1", "Box", face="rear"),))

        (rear,) = faces(layout, value_of=str)

        assert [cell.spot for cell in rear.cells] == ["loose"]
        assert rear.loose == rear.cells
        assert plan_of([rear]).shapes == ()


class TestRows:
    def test_shelves_stand_above_each_other_and_bags_side_by_side(self) -> None:
        """Rows go from top to bottom, and from left to right in themselves."""
        cabinet = opened(THROUGH, "C1")

        assert [[each.code for each in row] for row in cabinet.rows] == [["C1A"], ["C1B"]]
        assert [[each.code for each in row] for row in cabinet.rows[0][0].rows] == [["ALS", "BAG"]]

    def test_a_shelf_with_bags_is_a_board_and_a_bag_is_none(self) -> None:
        """A bag is known by its outline."""
        shelf = opened(THROUGH, "C1").rows[0][0]
        bag = shelf.rows[0][1]

        assert (shelf.is_board, bag.is_board, bag.is_bag) == (True, False, True)

    def test_the_path_stays_short(self) -> None:
        """The foot has room for one line above the place."""
        shelf = opened(THROUGH, "C1").rows[0][0]
        pocket = shelf.rows[0][1].rows[0][0]

        assert (shelf.within, shelf.told) == ("C1 Curb front cabinet", "Top shelf")
        assert (pocket.within, pocket.told) == ("C1 › Top shelf › First-in bag", "Lid pocket")
        assert opened(THROUGH, "C1").told == "C1 Curb front cabinet"

    @pytest.mark.parametrize(
        ("name", "parent", "label"),
        [
            ("First-in bag lid pocket", "First-in bag", "Lid pocket"),
            ("Response cabinet top shelf", "Curb front response cabinet", "Top shelf"),
            ("Lid pocket", "Response bag", "Lid pocket"),
            ("Bag", "Bag", "Bag"),
            ("", "Bag", ""),
        ],
    )
    def test_words_the_parent_said_are_left_out(self, name: str, parent: str, label: str) -> None:
        """A name is never left empty."""
        assert label == short_label(name, parent)

    def test_words_the_face_said_are_left_out(self) -> None:
        """On the curb side nothing needs to be called curb."""
        curb = faces(THROUGH, value_of=str)[-1]

        assert curb.cells[0].label == "Front cabinet"


class TestFixed:
    def test_doors_and_seats_fill_free_room(self) -> None:
        """They are drawn where no compartment is, so they cover none."""
        for face in faces(demo_layout("mesa-box"), value_of=str):
            for fixed in face.fixed:
                assert not [c for c in face.cells if c.rect and c.rect.overlaps(fixed.rect)]

    def test_one_that_stands_on_a_compartment_is_left_out(self) -> None:
        """The cot that is a compartment itself is drawn once."""
        layout = replace(
            THROUGH,
            points=(
                Point("D", "door", "Side door", "curb", 10, 6),
                Point("E", "seat", "Seat, rear", "curb", 20, 3),
                Point("O", "outlet", "Outlet", "curb", 2, 3),
            ),
        )

        (fixed,) = faces(layout, value_of=str)[-1].fixed

        assert (fixed.kind, fixed.label, fixed.spot) == ("door", "Side door", "x8 y2 w5 h9")

    def test_a_name_without_room_gives_way_to_what_it_is(self) -> None:
        """One unit of a phone's face holds two letters."""
        layout = replace(THROUGH, points=(Point("D", "door", "Passenger's door", "curb", 18, 6),))
        narrow = replace(
            layout,
            compartments=(
                *layout.compartments,
                Compartment("C9", "Bin", face="curb", rect=Rect(10, 0, 6, 12)),
            ),
        )

        (fixed,) = faces(narrow, value_of=str)[-1].fixed

        assert (fixed.rect.w, fixed.label) == (3, "door")

    def test_a_point_on_the_edge_stays_on_the_face(self) -> None:
        """The last unit is 23, and a point may say 24."""
        layout = replace(THROUGH, points=(Point("D", "door", "Door", "curb", 0, 12),))

        (fixed,) = faces(layout, value_of=str)[-1].fixed

        assert fixed.rect == Rect(0, 3, 5, 9)


class TestMarks:
    def test_a_pocket_lights_its_door(self) -> None:
        """What is found inside is seen from outside."""
        curb = mark_cells(faces(THROUGH, value_of=str)[-1], found={"LID": 1}, own={"C1B": 2})

        (door,) = curb.cells
        assert door.marks == ()
        assert door.is_marked_within
        assert door.inner_marks == (Mark("found", 1), Mark("own", 2))
        assert curb.found == (1,)

    def test_a_marked_place_says_what_it_is(self) -> None:
        """Found and one's own may be the same door."""
        curb = mark_cells(faces(THROUGH, value_of=str)[-1], found={"C1": 1}, own={"C1": 1})

        (door,) = curb.cells
        assert (door.is_found, door.is_own, door.is_marked_within) == (True, True, False)

    def test_numbers_without_room_are_counted(self) -> None:
        """A narrow door shows the first, and how many more there are."""
        curb = mark_cells(
            faces(THROUGH, value_of=str)[-1],
            found={"LID": 1, "BAG": 2, "ALS": 3, "C1A": 4},
        )

        (door,) = curb.cells
        assert [mark.number for mark in door.shown_marks] == [1]
        assert [mark.number for mark in door.further_marks] == [2, 3, 4]

    def test_marks_change_nothing_else(self) -> None:
        """Marking with nothing gives the same drawing."""
        for face in faces(THROUGH, value_of=str):
            assert mark_cells(face) == face

    @pytest.mark.parametrize(
        ("value", "shade"),
        [
            (None, Shade("kx", "–")),
            (0, Shade("k0", "0")),
            (19, Shade("k0", "19")),
            (20, Shade("k1", "20")),
            (79, Shade("k3", "79")),
            (80, Shade("k4", "80")),
            (100, Shade("k4", "100")),
        ],
    )
    def test_a_chance_has_its_step(self, value: int | None, shade: Shade) -> None:
        """Five steps of twenty, and a sixth for what was not asked."""
        assert shade == shade_of(value)

    def test_a_door_without_value_is_not_asked(self) -> None:
        """Nothing is shaded by default as unknown."""
        curb = shade_cells(faces(THROUGH, value_of=str)[-1], values={"elsewhere": 3})

        assert curb.cells[0].shade == Shade("kx", "–")

    def test_reach_goes_through_the_door(self) -> None:
        """A drawer in reach puts its cabinet in reach."""
        layout = practice_rig()
        codes = reached_from(layout, "SEAT")
        wall = next(f for f in faces(layout, value_of=str) if f.key == "interior-curb")

        assert codes == {"I1"}
        assert [cell.is_reached for cell in reach_cells(wall, codes=codes).cells] == [True]
        assert reached_from(layout, "NOBODY") == frozenset()


class TestPlan:
    def test_numbers_of_one_door_stand_side_by_side(self) -> None:
        """No number hides another."""
        drawn = [mark_cells(f, found={"LID": 1, "C1B": 2}) for f in faces(THROUGH, value_of=str)]

        plan = plan_of(drawn)

        spots = {(ball.x, ball.y) for ball in plan.balls}
        assert [ball.number for ball in plan.balls] == [1, 2]
        assert len(spots) == 2
        assert plan.says == "The rig from above, with numbers 1, 2"
        assert {shape.kind for shape in plan.shapes} == {"hotp"}

    def test_no_number_hides_another(self) -> None:
        """Numbers of narrow doors side by side find room beside and below them."""
        narrow = tuple(
            Compartment(f"N{n}", f"Bin {n}", face="street", rect=Rect(n * 2, 0, 2, 6))
            for n in range(12)
        )
        drawn = faces(Layout("A", "a", compartments=narrow), value_of=str)
        found = {f"N{n}": n + 1 for n in range(12)}

        balls = plan_of([mark_cells(f, found=found) for f in drawn]).balls

        assert len(balls) == 12
        for one, other in combinations(balls, 2):
            assert abs(one.x - other.x) >= 22 or abs(one.y - other.y) >= 22

    def test_doors_seats_and_the_cot_are_on_it(self) -> None:
        """A door is a gap in the body; a cot that is a compartment is drawn once."""
        layout = demo_layout("mesa-box")
        drawn = faces(layout, value_of=str)

        kinds = Counter(shape.kind for shape in plan_of(drawn).shapes)

        assert kinds["gap"] == sum(
            each.kind == "door"
            for f in drawn
            for each in f.fixed
            if not f.is_inside and f.key != "cab"
        )
        assert kinds["gap"] == 2
        assert kinds["seat"] == sum(each.kind == "seat" for f in drawn for each in f.fixed)

    @pytest.mark.parametrize("name", DEMO_LAYOUTS)
    def test_everything_lies_on_the_rig(self, name: str) -> None:
        """The drawing is 360 wide and 176 high."""
        for shape in plan_of(faces(demo_layout(name), value_of=str)).shapes:
            assert 0 <= shape.x <= shape.x + shape.w <= 360
            assert 0 <= shape.y <= shape.y + shape.h <= 176

    def test_reach_has_its_own_line(self) -> None:
        """Found comes before reached, reached before plain."""
        layout = practice_rig()
        drawn = [reach_cells(f, codes={"I1"}) for f in faces(layout, value_of=str)]

        assert {shape.kind for shape in plan_of(drawn).shapes} == {"beltp", "c"}
