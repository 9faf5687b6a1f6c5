"""A layout changed row by row: what a workbook could not say no change makes."""

from collections.abc import Callable
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.editing import (
    add_lines,
    add_place,
    add_point,
    change_line,
    change_place,
    change_point,
    free_spot,
    move_line,
    pasted_lines,
    remove_line,
    remove_place,
    remove_point,
    shift_place,
)
from drills.engine.layout import GRID_HEIGHT, GRID_WIDTH, Layout, Rect
from drills.engine.merging import changes, settle, to_relearn
from drills.engine.rows import EditError, MeanwhileError, cells_of, expect, mark_of, told
from tests.layouts import DEMO_LAYOUTS, demo_layout, practice_rig

RIG = settle(practice_rig(), {})


def refused(change: Callable[[], Layout]) -> dict[str, str]:
    with pytest.raises(EditError) as error:
        change()
    return error.value.faults


class TestPlaces:
    def test_one_without_a_rectangle_gets_a_free_spot(self) -> None:
        """What is added to a face lies beside what is there, never over it."""
        layout = add_place(RIG, {"code": "S2", "name": "Locker", "face": "street"})

        assert layout.by_code["S2"].rect == Rect(6, 0, 4, 3)

    def test_a_full_face_is_a_fault_of_the_rectangle(self) -> None:
        """Where nothing is free the keeper is told to give a rectangle, which then overlaps."""
        layout = add_place(
            RIG,
            {"code": "S2", "name": "Locker", "face": "street"}
            | {"x": "6", "y": "0", "w": "18", "h": "12"},
        )

        assert free_spot(layout, "street", (1, 1)) is None
        assert "x" in refused(
            lambda: add_place(layout, {"code": "S3", "name": "Bin", "face": "street"})
        )

    def test_a_nested_one_stands_behind_its_siblings(self) -> None:
        """The order of a workbook is the order one reads it in."""
        layout = add_place(RIG, {"code": "BAG-S", "name": "Side pocket", "inside": "BAG"})

        codes = [each.code for each in layout.compartments]
        assert codes[codes.index("BAG-M") + 1] == "BAG-S"
        assert layout.face_of("BAG-S") == "street"

    def test_every_fault_is_named_by_its_column_at_once(self) -> None:
        """A form can show each fault beside its field."""
        faults = refused(lambda: add_place(RIG, {"code": "S1", "name": "", "face": "roof"}))

        assert faults.keys() == {"code", "name", "face"}
        assert "roof" in faults["face"]
        assert "bulkhead" in faults["face"]

    def test_a_new_code_goes_wherever_the_old_one_stood(self) -> None:
        """What lies in a place, and the points that serve it, follow its code; the place stays."""
        layout = change_place(RIG, "P1", {"code": "PANEL"})
        layout = change_place(layout, "S1A", {"code": "SHELF", "name": "Bottom shelf"})

        assert layout.by_code["SHELF"].key == "S1A"
        assert layout.by_code["BAG"].inside == "SHELF"
        assert [line.item for line in layout.lines_in["SHELF"]] == ["Splint", "Neck collar"]
        assert [point.serves for point in layout.points if point.code == "O2"] == [("PANEL",)]
        assert to_relearn(RIG, layout) == ()

    def test_a_bag_goes_into_another_place_with_all_its_lines(self) -> None:
        """It is one move and one fact to learn anew."""
        layout = change_place(RIG, "BAG", {"inside": "I1"})

        assert layout.face_of("BAG-M") == "interior-curb"
        (change,) = changes(RIG, layout)
        assert (change.what, change.lines_inside) == ("moved", 4)
        assert len(to_relearn(RIG, layout)) == 1

    def test_a_nested_one_can_go_to_the_top_of_a_face(self) -> None:
        """It gets a spot there."""
        layout = change_place(RIG, "BAG", {"inside": "", "face": "floor"})

        assert layout.by_code["BAG"].rect == Rect(0, 0, 4, 3)
        assert layout.chain("BAG-L")[0].code == "BAG"

    def test_none_goes_into_itself(self) -> None:
        """A circle of parents is refused as the workbook refuses it."""
        assert "circle" in refused(lambda: change_place(RIG, "S1", {"inside": "BAG"}))["inside"]

    def test_one_taken_out_takes_along_what_is_in_it(self) -> None:
        """Nothing is left that names it."""
        layout = remove_place(RIG, "S1")

        assert [each.code for each in layout.compartments] == ["I1", "I1A", "I1B", "P1"]
        assert {line.compartment for line in layout.stock} == {"I1A", "I1B"}
        assert [point.serves for point in remove_place(RIG, "P1").points][-1] == ()

    def test_a_move_takes_along_what_is_drawn_within(self) -> None:
        """A shelf stays where it is in its cabinet."""
        layout = shift_place(RIG, "S1", x=3)

        assert layout.by_code["S1"].rect == Rect(3, 0, 6, 12)
        assert layout.by_code["S1A"].rect == Rect(3, 6, 6, 6)

    def test_numbers_move_along_what_is_drawn_within_as_well(self) -> None:
        """Whichever way a place is moved, its shelves stay in it."""
        layout = change_place(RIG, "S1", {"x": "3", "name": "Locker"})

        assert layout.by_code["S1A"].rect == Rect(3, 6, 6, 6)

    def test_what_is_drawn_on_another_face_stays(self) -> None:
        """A shelf seen from inside does not move when the door outside does."""
        rig = change_place(RIG, "S1A", {"face": "interior-street"})

        assert shift_place(rig, "S1", x=3).by_code["S1A"].rect == Rect(0, 6, 6, 6)

    def test_a_code_that_was_freed_can_be_used_again(self) -> None:
        """It is another place, and the one that had the code keeps its identity."""
        layout = change_place(RIG, "I1A", {"code": "I1Z"})
        layout = settle(add_place(layout, {"code": "I1A", "name": "New", "inside": "I1"}), {})

        assert layout.by_code["I1Z"].key == "I1A"
        assert layout.by_code["I1A"].key == "I1A+"

    def test_stretching_leaves_what_is_within(self) -> None:
        """Only a move is a move."""
        layout = shift_place(RIG, "S1", w=2)

        assert layout.by_code["S1"].rect == Rect(0, 0, 8, 12)
        assert layout.by_code["S1A"].rect == Rect(0, 6, 6, 6)

    def test_what_has_no_rectangle_is_not_moved(self) -> None:
        """It says what to do."""
        assert "no rectangle" in refused(lambda: shift_place(RIG, "BAG", x=1))[""]

    def test_one_is_not_laid_over_another(self) -> None:
        """Who is in the way is named, whichever of the two comes first."""
        layout = add_place(RIG, {"code": "S2", "name": "Locker", "face": "street"})

        (said,) = refused(lambda: shift_place(layout, "S2", x=-1)).values()
        assert said.startswith("It would lie over S1.")
        (said,) = refused(lambda: shift_place(layout, "S1", x=1)).values()
        assert said.startswith("S2: It would lie over S1.")

    @given(
        name=st.sampled_from(DEMO_LAYOUTS),
        pick=st.integers(0, 500),
        x=st.integers(-24, 24),
        y=st.integers(-12, 12),
        w=st.integers(-24, 24),
        h=st.integers(-12, 12),
    )
    def test_never_leaves_the_face_nor_another_in_the_way(
        self, name: str, pick: int, x: int, y: int, w: int, h: int
    ) -> None:
        """Whatever is asked, it is refused or it lies free on its face."""
        layout = demo_layout(name)
        tops = layout.children[""]
        top = tops[pick % len(tops)]
        try:
            moved = shift_place(layout, top.code, x=x, y=y, w=w, h=h)
        except EditError:
            return

        rect = moved.by_code[top.code].rect
        assert rect is not None
        assert 0 <= rect.x < rect.x + rect.w <= GRID_WIDTH
        assert 0 <= rect.y < rect.y + rect.h <= GRID_HEIGHT
        for other in tops:
            if other.code != top.code and other.face == top.face and other.rect:
                assert not rect.overlaps(other.rect)


class TestStock:
    def test_an_item_carried_elsewhere_keeps_what_belongs_to_it(self) -> None:
        """Its name as the agency writes it, and its category, are those of its first line."""
        layout = add_lines(RIG, "S1", [{"item": "  gauze ROLL", "par": "3"}])

        line = layout.lines_in["S1"][-1]
        assert (line.item, line.category, line.par) == ("Gauze roll", "circulation and bleeding", 3)

    def test_one_item_twice_in_a_place_is_refused(self) -> None:
        """The par of the line that is there is what to change."""
        assert "item" in refused(lambda: add_lines(RIG, "S1A", [{"item": "splint", "par": "1"}]))

    def test_par_and_critical_belong_to_the_line(self) -> None:
        """The other place of the item stays as it is."""
        layout = change_line(RIG, "BAG-M/tourniquet", {"par": "5", "critical": "no"})

        lines = {line.compartment: line for line in layout.stock if line.key == "tourniquet"}
        assert (lines["BAG-M"].par, lines["BAG-M"].critical) == (5, False)
        assert (lines["I1A"].par, lines["I1A"].critical) == (1, True)

    def test_name_and_category_belong_to_the_item(self) -> None:
        """They change on all its lines."""
        layout = change_line(RIG, "I1A/tourniquet", {"item": "Limb tourniquet"})

        assert layout.things["limb tourniquet"].places == ("BAG-M", "I1A")
        assert "tourniquet" not in layout.things

    def test_a_line_called_as_another_item_is_that_item(self) -> None:
        """What belongs to the other item stays as it was."""
        layout = change_line(
            RIG, "S1A/splint", {"item": "gauze roll", "category": "immobilisation"}
        )

        found = {line.compartment: line for line in layout.stock if line.key == "gauze roll"}
        assert found.keys() == {"S1A", "I1A"}
        assert {line.category for line in found.values()} == {"circulation and bleeding"}

    def test_a_line_moves(self) -> None:
        """With its par, to the place it is given."""
        layout = move_line(RIG, "splint", "S1A", "I1")

        assert [line.item for line in layout.lines_in["I1"]] == ["Splint"]
        assert len(layout.stock) == len(RIG.stock)

    def test_what_moves_to_its_like_is_added_to_it(self) -> None:
        """Nothing is lost, and no item lies twice in one place."""
        rig = change_line(RIG, "BAG-M/tourniquet", {"critical": "no", "expires": "2027-06-30"})
        rig = change_line(rig, "I1A/tourniquet", {"expires": "2027-01-31", "notes": "Wide one"})
        layout = move_line(rig, "tourniquet", "I1A", "BAG-M")

        (line,) = (line for line in layout.stock if line.key == "tourniquet")
        assert (line.compartment, line.par, line.critical) == ("BAG-M", 3, True)
        assert (line.expires, line.notes) == (date(2027, 1, 31), "Wide one")

    def test_a_line_is_taken_out(self) -> None:
        """And only that one."""
        layout = remove_line(RIG, "tourniquet", "I1A")

        assert layout.things["tourniquet"].places == ("BAG-M",)

    def test_rows_of_a_spreadsheet_are_put_in_together(self) -> None:
        """Tabs between the cells, commas within a name."""
        rows = pasted_lines("Gauze pads, sterile\t10\tpack\r\nTape roll\t2\n\n")
        layout = add_lines(RIG, "S1", rows)

        found = [(line.item, line.par, line.unit) for line in layout.lines_in["S1"][1:]]
        assert found == [("Gauze pads, sterile", 10, "pack"), ("Tape roll", 2, "")]

    def test_a_header_names_the_columns(self) -> None:
        """In any order and case; a column that no workbook has is left out."""
        rows = pasted_lines("Par\tShelf life\tITEM\n4\tlong\tTape roll")

        assert rows == [{"par": "4", "item": "Tape roll"}]

    def test_one_bad_row_keeps_all_of_them_out(self) -> None:
        """Each bad row is named by what is in it."""
        rows = pasted_lines("Tape roll\tmany\nFoil blanket\t2\nCone\t0")
        faults = refused(lambda: add_lines(RIG, "S1", rows))

        assert "many" in faults[""]
        assert "Tape roll".casefold() in faults[""]
        assert "foil" not in faults[""]

    @pytest.mark.parametrize("text", ["", " \n\t\n", "item\tunit\nTape\troll", '"open\t1'])
    def test_what_is_no_row_is_refused(self, text: str) -> None:
        """With a sentence of what is missing."""
        with pytest.raises(EditError):
            pasted_lines(text)


class TestPoints:
    def test_one_is_added_changed_and_taken_out(self) -> None:
        """By its code, as a compartment is."""
        layout = add_point(
            RIG,
            {"code": "RADIO", "kind": "control", "name": "Radio", "face": "cab"}
            | {"x": "5", "y": "5", "serves": "I1"},
        )
        layout = change_point(layout, "RADIO", {"x": "7.5", "name": "Mobile radio"})

        assert layout.things["mobile radio"].places == ("I1",)
        assert layout.points[-1].x == 7.5
        assert remove_point(layout, "RADIO") == RIG

    def test_places_follow_the_code_of_a_seat(self) -> None:
        """And are not reached from one that is gone."""
        assert change_point(RIG, "SEAT", {"code": "S-1"}).by_code["I1A"].reach_from == ("S-1",)
        assert remove_point(RIG, "SEAT").by_code["I1A"].reach_from == ()

    def test_a_kind_that_is_none_is_refused(self) -> None:
        """With the kinds there are."""
        faults = refused(lambda: change_point(RIG, "SIDE", {"kind": "window"}))

        assert "outlet" in faults["kind"]


class TestMeanwhile:
    def test_a_row_as_it_was_seen_is_taken(self) -> None:
        """Also when something else of the layout changed."""
        seen = mark_of(cells_of(RIG, "compartments", "I1"))

        expect(shift_place(RIG, "S1", x=1), "compartments", "I1", seen)

    def test_a_row_that_changed_is_told_as_it_is_now(self) -> None:
        """So that one can choose between the two."""
        seen = mark_of(cells_of(RIG, "compartments", "I1"))

        with pytest.raises(MeanwhileError) as error:
            expect(change_place(RIG, "I1", {"name": "Tall cabinet"}), "compartments", "I1", seen)

        assert error.value.now["name"] == "Tall cabinet"

    def test_a_row_that_is_gone_is_told_as_nothing(self) -> None:
        """It cannot be changed any more."""
        seen = mark_of(cells_of(RIG, "stock", "S1A/splint"))

        with pytest.raises(MeanwhileError) as error:
            expect(remove_line(RIG, "splint", "S1A"), "stock", "S1A/splint", seen)

        assert error.value.now == {}


class TestTold:
    def test_a_few_changes_are_told_by_name_and_column(self) -> None:
        """So that a list of steps can be read."""
        assert told(RIG, change_place(RIG, "S1", {"name": "Locker", "notes": "x"})) == (
            "S1: name, notes"
        )
        assert told(RIG, move_line(RIG, "splint", "S1A", "I1")) == (
            "I1/splint added; S1A/splint taken out"
        )

    def test_many_are_counted(self) -> None:
        """A pasted page is one step with one short sentence."""
        rows = [{"item": f"Thing {number}", "par": "1"} for number in range(30)]

        assert told(RIG, add_lines(RIG, "S1", rows)) == "30 added"
