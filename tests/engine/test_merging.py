"""A workbook into a layout that exists: what keeps its identity, and what is said to change."""

from dataclasses import replace
from typing import Any

from hypothesis import given

from drills.engine.editing import change_place, shift_place
from drills.engine.facts import Fact, facts_of
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.merging import REDRAWN, Change, changes, settle, to_relearn
from tests.layouts import demo_layout, practice_rig
from tests.strategies import layouts


def with_compartment(rig: Layout, code: str, **fields: Any) -> Layout:
    """The rig with one compartment changed."""
    found = tuple(
        replace(each, **fields) if each.code == code else each for each in rig.compartments
    )
    return replace(rig, compartments=found)


def place_of(rig: Layout, code: str) -> str:
    return rig.by_code[code].place


def test_a_place_named_in_the_workbook_is_kept() -> None:
    """The stable key a row names goes before what its code had."""
    rig = with_compartment(practice_rig(), "I1", place="wall")

    settled = settle(rig, {"I1": "something else"})

    assert place_of(settled, "I1") == "wall"


def test_without_a_key_the_code_finds_the_place() -> None:
    """A row without a key keeps the identity its code had in the revision before."""
    settled = settle(practice_rig(), {"I1": "wall"})

    assert place_of(settled, "I1") == "wall"


def test_a_new_code_becomes_the_key() -> None:
    """A compartment nobody knew is known by its code."""
    assert place_of(settle(practice_rig(), {}), "BAG") == "BAG"


def test_a_key_that_is_taken_is_never_given_twice() -> None:
    """A code that now names another place does not take over its identity."""
    rig = with_compartment(practice_rig(), "P1", place="I1")

    settled = settle(rig, {})

    places = [each.place for each in settled.compartments]
    assert place_of(settled, "P1") == "I1"
    assert place_of(settled, "I1") != "I1"
    assert len(set(places)) == len(places)


def test_a_newcomer_never_takes_the_key_of_a_place_that_stays() -> None:
    """A new code that reads like the key of another place is given another key."""
    rig = practice_rig()

    settled = settle(rig, {"P1": "S1", "S1": "front"})
    newcomer = settle(rig, {"P1": "S1"})

    assert (place_of(settled, "P1"), place_of(settled, "S1")) == ("S1", "front")
    assert place_of(newcomer, "P1") == "S1"
    assert place_of(newcomer, "S1") not in {"", "S1"}


def test_the_first_terms_of_an_item_stand() -> None:
    """Where lines of an item differ in terms the first stands; the line keeps what is its own."""
    rig = practice_rig()
    other = StockLine(
        "I1B", " tourniquet ", 7, unit="pack", category="medicines", aliases=("TQ",), notes="spare"
    )

    settled = settle(replace(rig, stock=(*rig.stock, other)), {})

    line = settled.stock[-1]
    assert (line.item, line.category, line.unit, line.aliases) == (
        "Tourniquet",
        "circulation and bleeding",
        "",
        (),
    )
    assert (line.compartment, line.par, line.critical, line.notes) == ("I1B", 7, False, "spare")


@given(layouts())
def test_settling_twice_changes_nothing_more(rig: Layout) -> None:
    """A settled workbook brought in again is the same."""
    once = settle(rig, {})
    known = {each.code: each.place for each in once.compartments}

    assert settle(once, {}) == once
    assert settle(rig, known) == once


@given(layouts())
def test_a_rig_does_not_change_from_itself(rig: Layout) -> None:
    """Between a revision and itself there is nothing to tell."""
    settled = settle(rig, {})

    assert changes(settled, settled) == ()


@given(layouts(), layouts())
def test_every_pair_of_rigs_can_be_compared(before: Layout, now: Layout) -> None:
    """Whatever a workbook holds, what it changes can be said; nothing changed means the same."""
    was, becomes = settle(before, {}), settle(now, {})

    found = changes(was, becomes)

    words = {"added", "moved", REDRAWN, "removed", "renamed", "par changed"}
    assert {each.what for each in found} <= words


def test_the_first_revision_is_one_change() -> None:
    """A layout that was not there is added as a whole."""
    assert changes(None, practice_rig()) == (
        Change("added", "Practice rig", after="11 stock lines"),
    )


def test_a_bag_that_hangs_elsewhere_is_one_change() -> None:
    """What lies in a moved bag is not told of line by line."""
    rig = practice_rig()

    assert changes(rig, with_compartment(rig, "BAG", inside="I1")) == (
        Change(
            "moved",
            "Response bag",
            "S1 Street cabinet › Lower shelf › Response bag",
            "I1 Wall cabinet › Response bag",
            lines_inside=4,
        ),
    )


def bag_of_forty(in_cabinet: str) -> Layout:
    """Two cabinets, and in one of them a bag with forty lines in its two pockets."""
    places = (
        Compartment("A", "Front cabinet", face="street", rect=Rect(1, 1, 4, 4)),
        Compartment("B", "Rear cabinet", face="curb", rect=Rect(1, 1, 4, 4)),
        Compartment("BAG", "Great bag", inside=in_cabinet, carried="two-hands"),
        Compartment("BAG-1", "Left pocket", inside="BAG"),
        Compartment("BAG-2", "Right pocket", inside="BAG"),
    )
    lines = [StockLine(f"BAG-{1 + n % 2}", f"Thing {n}", 1) for n in range(40)]
    return replace(
        practice_rig(), compartments=places, stock=(*lines, StockLine("A", "Lamp", 1)), points=()
    )


def test_a_bag_with_forty_lines_is_one_move_and_one_fact_to_relearn() -> None:
    before, now = bag_of_forty("A"), bag_of_forty("B")

    (moved,) = changes(before, now)

    assert (moved.what, moved.name, moved.lines_inside) == ("moved", "Great bag", 40)
    assert to_relearn(before, now) == (Fact("bag", "BAG", "B"),)


def test_a_thing_that_moved_is_one_fact_and_a_count_none() -> None:
    before = bag_of_forty("A")
    stock = (*before.stock[:-1], StockLine("B", "Lamp", 3))
    now = replace(before, stock=stock)

    assert [each.what for each in changes(before, now)] == ["moved"]
    assert to_relearn(before, now) == (Fact("item", "lamp", "B"),)
    assert to_relearn(now, replace(now, stock=(*stock[:-1], StockLine("B", "Lamp", 9)))) == ()


@given(layouts(), layouts())
def test_what_is_relearned_is_true_now_and_was_not_before(before: Layout, now: Layout) -> None:
    relearned = to_relearn(before, now)

    assert set(relearned) >= set(facts_of(now)) - set(facts_of(before))
    assert to_relearn(now, now) == ()


def test_a_cabinet_on_another_face_has_moved() -> None:
    """A door that is on another side of the rig is one change, without what lies behind it."""
    rig = practice_rig()

    found = changes(rig, with_compartment(rig, "S1", face="curb"))

    assert [(each.what, each.name) for each in found] == [("moved", "Street cabinet")]


def test_a_name_alone_is_a_renaming() -> None:
    """Another name on the label is told as that."""
    rig = practice_rig()

    found = changes(rig, with_compartment(rig, "I1A", name="Bleeding drawer"))

    assert [(each.what, each.before, each.after) for each in found] == [
        ("renamed", "I1 Wall cabinet › Upper drawer", "I1 Wall cabinet › Bleeding drawer")
    ]


def test_a_redrawn_rectangle_is_no_change_to_learn() -> None:
    """A drawing made more exact is told, and changes nothing that anybody knows."""
    rig = practice_rig()
    now = with_compartment(rig, "I1", rect=Rect(9, 4, 5, 4))

    assert [each.what for each in changes(rig, now)] == [REDRAWN]
    assert to_relearn(rig, now) == ()
    assert changes(rig, with_compartment(rig, "I1", rect=Rect(10, 4, 5, 4))) == ()


def test_lines_added_removed_moved_and_counted() -> None:
    """Each line is told of once, in the words of what happened to it."""
    rig = practice_rig()
    now = replace(
        rig,
        stock=(
            *(each for each in rig.stock if each.key not in {"fentanyl", "traffic cone", "splint"}),
            StockLine("S1A", "Traffic cone", 4),
            StockLine("S1A", "Splint", 9),
            StockLine("I1B", "Ketamine", 2),
        ),
    )

    assert set(changes(rig, now)) == {
        Change("moved", "Traffic cone", "S1 Street cabinet", "S1 Street cabinet › Lower shelf"),
        Change("par changed", "Splint", "2", "9 in S1 Street cabinet › Lower shelf"),
        Change("removed", "Fentanyl", before="I1 Wall cabinet › Locked drawer", behind_lock=True),
        Change("added", "Ketamine", after="I1 Wall cabinet › Locked drawer", behind_lock=True),
    }


def test_a_place_removed_or_added_is_told() -> None:
    """A cabinet that is gone and one that is new are each one change."""
    rig = practice_rig()
    now = replace(
        rig,
        compartments=(
            *(each for each in rig.compartments if each.code != "P1"),
            Compartment("R1", "Rear pouch", face="rear"),
        ),
        points=(),
    )

    assert set(changes(rig, now)) == {
        Change("removed", "P1 Oxygen panel"),
        Change("added", "R1 Rear pouch"),
    }


def test_the_second_revision_of_the_demonstration_is_told_in_its_own_words() -> None:
    """One bag moved and five lines changed. Source: the notes of the demonstration, ours."""
    found = changes(settle(demo_layout("mesa-box"), {}), settle(demo_layout("mesa-box-rev2"), {}))

    assert sorted((each.what, each.name) for each in found) == [
        ("moved", "Blanket, wool"),
        ("moved", "Multi-trauma dressing, 10 x 30 in"),
        ("moved", "Paediatric bag"),
        ("moved", "Resuscitation mask set, neonate to child"),
        ("par changed", "Naloxone, prefilled syringe"),
        ("par changed", "Tourniquet, limb"),
    ]


def test_a_drawer_that_went_into_another_cabinet_took_all_its_things_along() -> None:
    """They are learned anew though the drawer is the same place; a bag in it is one fact."""
    before = settle(practice_rig(), {})
    now = change_place(before, "S1A", {"inside": "I1"})

    assert set(to_relearn(before, now)) == {
        Fact("item", "splint", "S1A"),
        Fact("item", "neck collar", "S1A"),
        Fact("bag", "BAG", "S1A"),
    }


def test_a_cabinet_on_another_face_is_told_with_both_faces_and_learned_anew() -> None:
    """The path alone would say the same twice."""
    before = settle(practice_rig(), {})
    now = change_place(before, "P1", {"face": "bulkhead"})

    (change,) = changes(before, now)
    assert (change.what, change.before, change.after) == (
        "moved",
        "P1 Oxygen panel, Street wall, inside",
        "P1 Oxygen panel, Bulkhead, inside",
    )
    assert to_relearn(before, now) == (Fact("item", "oxygen outlet", "P1"),)


def test_what_is_drawn_elsewhere_where_it_was_is_told_once() -> None:
    """A cabinet that moves along its face is told; what is drawn within moved along with it."""
    before = settle(practice_rig(), {})
    now = shift_place(before, "S1", x=3)

    (change,) = changes(before, now)
    assert (change.what, change.name, change.lines_inside) == (REDRAWN, "Street cabinet", 7)
    assert change.after == "S1 Street cabinet, 3 from the left, 0 from the top"
    assert to_relearn(before, now) == ()


def test_what_is_or_was_behind_a_lock_is_known_for_it() -> None:
    """Every kind of change to a place or a line behind a lock is marked, and no other is."""
    old = practice_rig()
    tray = Compartment("I1T", "Tray", inside="I1B", place="I1T")
    old = replace(old, compartments=(*old.compartments, tray, replace(tray, code="I1V", place="V")))
    was = {line.item: line for line in old.stock}
    old = replace(old, stock=(*old.stock, replace(was["Splint"], compartment="I1T")))
    new = replace(
        old,
        compartments=tuple(
            replace(each, name="Shelf" if each.code in {"S1A", "I1T"} else each.name)
            for each in old.compartments
            if each.code != "I1V"
        ),
        stock=(
            replace(was["Midazolam"], par=9),
            replace(was["Fentanyl"], compartment="I1A"),
            replace(was["Traffic cone"], compartment="I1B"),
            replace(was["Splint"], par=8),
            replace(was["Splint"], compartment="I1T", item="Ketamine"),
        ),
    )

    found = changes(old, new)

    marked = {(each.what, each.name.split(" › ")[-1]) for each in found if each.behind_lock}
    assert marked == {
        ("renamed", "Shelf"),
        ("removed", "Tray"),
        ("par changed", "Midazolam"),
        ("moved", "Fentanyl"),
        ("moved", "Traffic cone"),
        ("added", "Ketamine"),
        ("removed", "Splint"),
    }
    assert ("renamed", False) in {(each.what, each.behind_lock) for each in found}
    assert ("par changed", False) in {(each.what, each.behind_lock) for each in found}
