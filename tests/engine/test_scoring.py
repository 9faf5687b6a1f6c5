"""Was the place right, how deep, and what does the answer say of what is known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.facts import BAG, ITEM, Fact
from drills.engine.layout import Layout, StockLine
from drills.engine.scoring import (
    DEPTHS,
    DOOR,
    ELSEWHERE,
    NEXT_DOOR,
    OLD_PLACE,
    PARTLY,
    POCKET,
    RIGHT,
    SHELF,
    WRONG,
    Finding,
    Moved,
    mark_contents,
    mark_locate,
    moved_since,
    nearest_to_cot,
)
from tests.layouts import AIRWAY, demo_layout, practice_rig
from tests.strategies import layouts

RIG = practice_rig()
THE_BAG = Fact(BAG, "BAG", "S1A")


def item(thing: str, place: str) -> Fact:
    return Fact(ITEM, thing, place)


@pytest.mark.parametrize(
    ("depth", "answer", "outcome", "reached"),
    [
        (DOOR, "S1", RIGHT, DOOR),
        (DOOR, "S1A", RIGHT, SHELF),
        (DOOR, "BAG-M", RIGHT, SHELF),
        (DOOR, "BAG-L", RIGHT, POCKET),
        (DOOR, "I1", WRONG, ""),
        (SHELF, "S1", PARTLY, DOOR),
        (SHELF, "S1A", RIGHT, SHELF),
        (SHELF, "BAG", RIGHT, SHELF),
        (SHELF, "BAG-L", RIGHT, POCKET),
        (SHELF, "P1", WRONG, ""),
        (POCKET, "S1", PARTLY, DOOR),
        (POCKET, "S1A", PARTLY, SHELF),
        (POCKET, "BAG", PARTLY, SHELF),
        (POCKET, "BAG-L", RIGHT, POCKET),
        (POCKET, "BAG-M", WRONG, ""),
    ],
)
def test_right_at_the_depth_asked(depth: str, answer: str, outcome: str, reached: str) -> None:
    """Right at the depth asked or deeper is right, right but not so deep is partly right."""
    mark = mark_locate(RIG, thing="suction tip", depth=depth, answer=answer)

    assert (mark.outcome, mark.depth_reached) == (outcome, reached)
    assert mark.place == "BAG-L"


def test_what_lies_in_the_door_itself_is_right_at_every_depth() -> None:
    """Where there is nothing deeper, the door is the pocket."""
    marks = [mark_locate(RIG, thing="traffic cone", depth=each, answer="S1") for each in DEPTHS]

    assert [(mark.outcome, mark.depth_reached) for mark in marks] == [(RIGHT, POCKET)] * 3


@pytest.mark.parametrize(
    ("depth", "outcome", "judged"),
    [(DOOR, RIGHT, RIGHT), (SHELF, RIGHT, RIGHT), (POCKET, PARTLY, PARTLY)],
)
def test_a_pocket_too_deep_is_right_to_the_shelf(depth: str, outcome: str, judged: str) -> None:
    """The bag on the shelf does not hold what lies beside it: the shelf is right, not the bag."""
    mark = mark_locate(RIG, thing="splint", depth=depth, answer="BAG")

    assert (mark.outcome, mark.depth_reached) == (outcome, SHELF)
    assert [each.outcome for each in mark.findings] == [judged]


def test_a_pocket_of_the_bag_that_holds_the_thing_itself_leaves_the_bag_right() -> None:
    """What lies loose in the bag is in none of its pockets, and the way to the bag is known."""
    rig = replace(RIG, stock=(StockLine("BAG", "Penlight", 1),))

    mark = mark_locate(rig, thing="penlight", depth=POCKET, answer="BAG-L")

    assert mark.findings == (
        Finding(THE_BAG, RIGHT, SHELF),
        Finding(item("penlight", "BAG"), PARTLY, SHELF),
    )


@pytest.mark.parametrize(("answer", "place"), [("BAG-M", "BAG-M"), ("I1A", "I1A")])
def test_any_of_the_doubles_is_right_and_counts_for_the_place_given(
    answer: str, place: str
) -> None:
    """Each place that stocks the thing is right, and only the one given was shown to be known."""
    mark = mark_locate(RIG, thing="tourniquet", depth=POCKET, answer=answer)

    assert (mark.outcome, mark.place) == (RIGHT, place)
    assert item("tourniquet", place) in {each.fact for each in mark.findings}


def test_a_wrong_answer_to_doubles_counts_for_the_nearest_to_the_cot() -> None:
    """The drawer is nearer to the cot than the bag, so the drawer is what was not known."""
    mark = mark_locate(RIG, thing="tourniquet", depth=POCKET, answer="P1")

    assert nearest_to_cot(RIG, "tourniquet") == "I1A"
    assert (mark.outcome, mark.place) == (WRONG, "I1A")
    assert mark.findings == (Finding(item("tourniquet", "I1A"), WRONG, ""),)


def test_of_doubles_the_one_that_makes_the_answer_best_counts() -> None:
    """The cabinet alone is partly right for the drawer in it, and nothing for the bag."""
    mark = mark_locate(RIG, thing="tourniquet", depth=POCKET, answer="I1")

    assert (mark.outcome, mark.place, mark.depth_reached) == (PARTLY, "I1A", DOOR)


def test_an_outlet_is_marked_like_a_thing() -> None:
    """The panel that the oxygen outlet is on is its place."""
    mark = mark_locate(RIG, thing="oxygen outlet", depth=POCKET, answer="P1")

    assert (mark.outcome, mark.place) == (RIGHT, "P1")


@pytest.mark.parametrize(
    ("thing", "depth", "answer", "near"),
    [
        ("suction tip", POCKET, "BAG-M", NEXT_DOOR),
        ("midazolam", POCKET, "I1A", NEXT_DOOR),
        ("midazolam", POCKET, "S1", ELSEWHERE),
        ("gauze roll", DOOR, "S1", ELSEWHERE),
        ("suction tip", POCKET, "P1", ELSEWHERE),
    ],
)
def test_a_wrong_place_is_named(thing: str, depth: str, answer: str, near: str) -> None:
    """Beside the place asked for is next door; everything else is elsewhere."""
    mark = mark_locate(RIG, thing=thing, depth=depth, answer=answer)

    assert (mark.outcome, mark.near) == (WRONG, near)


def test_doors_side_by_side_on_one_face_are_next_door() -> None:
    """At the top, next door is the same face of the rig, and another face is elsewhere."""
    rig = demo_layout("mesa-box")

    beside, across = (
        mark_locate(rig, thing="rescue helmet", depth=DOOR, answer=code) for code in ("S4", "C2")
    )

    assert (beside.near, across.near) == (NEXT_DOOR, ELSEWHERE)


def test_a_right_answer_is_near_nothing() -> None:
    """Only a wrong place has a name for how it was wrong."""
    assert mark_locate(RIG, thing="midazolam", depth=POCKET, answer="I1B").near == ""
    assert mark_locate(RIG, thing="midazolam", depth=POCKET, answer="I1").near == ""


def test_right_to_the_pocket_says_bag_and_item_are_known() -> None:
    """One right answer is two outcomes: the bag was found, and the item in it."""
    mark = mark_locate(RIG, thing="suction tip", depth=POCKET, answer="BAG-L")

    assert mark.findings == (
        Finding(THE_BAG, RIGHT, POCKET),
        Finding(item("suction tip", "BAG-L"), RIGHT, POCKET),
    )


def test_the_right_bag_and_a_wrong_pocket_says_the_bag_is_known() -> None:
    """The way to the bag is right and the item in it is wrong."""
    mark = mark_locate(RIG, thing="suction tip", depth=POCKET, answer="BAG-M")

    assert mark.findings == (
        Finding(THE_BAG, RIGHT, SHELF),
        Finding(item("suction tip", "BAG-L"), WRONG, ""),
    )


def test_the_bag_alone_is_all_of_the_bag_and_part_of_the_item() -> None:
    """An answer that stops at the bag has found the bag, and not yet the item."""
    mark = mark_locate(RIG, thing="suction tip", depth=POCKET, answer="BAG")

    assert mark.outcome == PARTLY
    assert mark.findings == (
        Finding(THE_BAG, RIGHT, SHELF),
        Finding(item("suction tip", "BAG-L"), PARTLY, SHELF),
    )


def test_a_door_asked_for_says_nothing_of_what_lies_deeper() -> None:
    """The door names the way to the bag; nothing was asked of the item in it."""
    mark = mark_locate(RIG, thing="suction tip", depth=DOOR, answer="S1")

    assert mark.findings == (Finding(THE_BAG, RIGHT, DOOR),)


def test_the_door_given_where_the_pocket_was_asked_is_part_of_each() -> None:
    """Stopping at the door leaves both the bag and the item partly shown."""
    mark = mark_locate(RIG, thing="suction tip", depth=POCKET, answer="S1")

    assert [(each.fact.kind, each.outcome, each.depth_reached) for each in mark.findings] == [
        (BAG, PARTLY, DOOR),
        (ITEM, PARTLY, DOOR),
    ]


def test_anywhere_else_leaves_the_bag_in_peace() -> None:
    """Whoever looks in a wrong cabinet may well know the bag: only the item is wrong."""
    mark = mark_locate(RIG, thing="suction tip", depth=POCKET, answer="P1")

    assert mark.findings == (Finding(item("suction tip", "BAG-L"), WRONG, ""),)


class TestMovedBag:
    """The paediatric bag hung in the curb front cabinet, and hangs on the street wall now."""

    before, now = demo_layout("mesa-box"), demo_layout("mesa-box-rev2")
    moved = moved_since(before, now)

    def test_what_moved_is_read_from_the_two_revisions(self) -> None:
        """The bag is one move; things in it are elsewhere than they were."""
        assert self.moved.bags == {"mesa-ped"}
        assert set(self.moved.places["bag-valve-mask, child"]) == {"mesa-c1c", "mesa-c1"}
        assert set(self.moved.places["blanket, wool"]) == {"mesa-w5"}

    def test_what_stays_in_place_has_not_moved(self) -> None:
        """Par that changed, and things in other bags, are where they were."""
        for thing in ("tourniquet, limb", "naloxone, prefilled syringe", "stethoscope"):
            assert thing not in self.moved.places

    def test_the_old_place_tells_of_the_bag_alone(self) -> None:
        """Whoever looks where the bag was knows what is in it, and not that it moved."""
        mark = mark_locate(
            self.now,
            thing="bag-valve-mask, child",
            depth=POCKET,
            answer="C1C",
            moved=self.moved,
        )

        assert (mark.outcome, mark.near) == (WRONG, OLD_PLACE)
        assert mark.findings == (Finding(Fact(BAG, "mesa-ped", "mesa-w5"), WRONG, ""),)

    def test_the_old_door_is_the_old_place(self) -> None:
        """The door it was behind is as much the old place as the shelf behind it."""
        mark = mark_locate(
            self.now, thing="bag-valve-mask, child", depth=DOOR, answer="C1", moved=self.moved
        )

        assert mark.near == OLD_PLACE

    def test_another_pocket_behind_the_old_door_is_not_the_old_place(self) -> None:
        """Only the way to where it was is the old place, not all that lies behind that door."""
        mark = mark_locate(
            self.now, thing="bag-valve-mask, child", depth=POCKET, answer="FIB-B", moved=self.moved
        )

        assert mark.near != OLD_PLACE
        assert [each.fact.kind for each in mark.findings] == [ITEM]

    def test_anything_behind_the_old_door_is_the_old_place_where_the_door_is_enough(self) -> None:
        """Asked for the door alone, a pocket behind it says that door."""
        mark = mark_locate(
            self.now, thing="bag-valve-mask, child", depth=DOOR, answer="FIB-B", moved=self.moved
        )

        assert mark.near == OLD_PLACE

    def test_the_new_place_is_right(self) -> None:
        """Bag and item are both right in the new place."""
        mark = mark_locate(
            self.now, thing="bag-valve-mask, child", depth=POCKET, answer="PED-A", moved=self.moved
        )

        assert {each.outcome for each in mark.findings} == {RIGHT}

    def test_the_old_place_of_a_thing_in_no_bag_is_the_item(self) -> None:
        """A blanket that moved by itself is one fact, and that one is wrong."""
        old = self.before.things["blanket, wool"].places[0]

        mark = mark_locate(
            self.now, thing="blanket, wool", depth=POCKET, answer=old, moved=self.moved
        )

        assert (mark.near, [each.fact.kind for each in mark.findings]) == (OLD_PLACE, [ITEM])

    def test_nothing_has_an_old_place_before_anything_moved(self) -> None:
        """On a first revision a wrong place is never an old one."""
        mark = mark_locate(self.before, thing="blanket, wool", depth=POCKET, answer="F1")

        assert mark.near == ELSEWHERE


def test_a_shelf_that_moves_with_its_bag_moves_no_bag() -> None:
    """The bag still hangs on its shelf: that fact is known, though its things have an old place."""
    now = replace(
        RIG,
        compartments=tuple(
            replace(each, inside="I1", rect=None) if each.code == "S1A" else each
            for each in RIG.compartments
        ),
    )

    moved = moved_since(RIG, now)

    assert moved.bags == frozenset()
    assert set(moved.places["suction tip"]) == {"S1"}


CHOICES = ("a", "b", "c", "d", "e", "f")


def five_things() -> Layout:
    """A pocket with the four things a to d; e and f are elsewhere on the rig."""
    lines = [StockLine("BAG-L", each, 1, category=AIRWAY) for each in "abcd"]
    lines += [StockLine("I1A", each, 1, category=AIRWAY) for each in "ef"]
    return replace(RIG, stock=tuple(lines))


@pytest.mark.parametrize(
    ("answer", "outcome", "missed", "not_there"),
    [
        ("abcd", RIGHT, "", ""),
        ("abc", PARTLY, "d", ""),
        ("a", PARTLY, "bcd", ""),
        ("abcde", PARTLY, "", "e"),
        ("abcdef", PARTLY, "", "ef"),
        ("ae", WRONG, "bcd", "e"),
        ("abef", WRONG, "cd", "ef"),
        ("ef", WRONG, "abcd", "ef"),
        ("", WRONG, "abcd", ""),
    ],
)
def test_contents_by_hits_and_extras(
    answer: str, outcome: str, missed: str, not_there: str
) -> None:
    """All and no other is right; more hits than false ones is partly right; else wrong."""
    mark = mark_contents(five_things(), place="BAG-L", choices=CHOICES, answer=tuple(answer))

    assert mark.outcome == outcome
    assert (mark.missed, mark.not_there) == (tuple(missed), tuple(not_there))


def test_contents_say_what_is_known_of_each_thing() -> None:
    """A hit is known here, a missed one is not, and a false one is not known where it is."""
    mark = mark_contents(five_things(), place="BAG-L", choices=CHOICES, answer=("a", "e"))

    assert set(mark.findings) == {
        Finding(item("a", "BAG-L"), RIGHT, POCKET),
        *(Finding(item(each, "BAG-L"), WRONG, "") for each in "bcd"),
        Finding(item("e", "I1A"), WRONG, ""),
    }


def test_contents_say_nothing_of_where_the_bag_hangs() -> None:
    """The prompt names the bag, so its place was not asked."""
    mark = mark_contents(five_things(), place="BAG-L", choices=CHOICES, answer=tuple("abcd"))

    assert {each.fact.kind for each in mark.findings} == {ITEM}


def test_what_was_not_among_the_choices_counts_for_nothing() -> None:
    """An answer can only be marked on what was offered."""
    mark = mark_contents(
        five_things(), place="BAG-L", choices=("a", "b", "e"), answer=("a", "b", "c", "z")
    )

    assert (mark.outcome, mark.missed, mark.not_there) == (RIGHT, (), ())


@given(layouts(), st.data())
def test_every_answer_gets_one_mark(rig: Layout, data: st.DataObject) -> None:
    """Whatever place is given for whatever thing, the mark stands and its findings are facts of it.

    A wrong place has a name, and a right one none; no fact is judged twice by one answer.
    """
    thing = data.draw(st.sampled_from(sorted(rig.things)))
    answer = data.draw(st.sampled_from(sorted(rig.by_code)))

    mark = mark_locate(rig, thing=thing, depth=data.draw(st.sampled_from(DEPTHS)), answer=answer)

    assert mark.outcome in {RIGHT, PARTLY, WRONG}
    assert (mark.near != "") == (mark.outcome == WRONG)
    assert mark.place in rig.things[thing].places
    assert mark.findings
    judged = [each.fact for each in mark.findings]
    assert len(set(judged)) == len(judged)


@given(layouts(), st.data())
def test_the_place_itself_is_right_at_every_depth(rig: Layout, data: st.DataObject) -> None:
    """Naming the very compartment is right whatever depth was asked, and nothing in it is wrong."""
    thing = data.draw(st.sampled_from(sorted(rig.things)))
    answer = data.draw(st.sampled_from(rig.things[thing].places))

    mark = mark_locate(rig, thing=thing, depth=data.draw(st.sampled_from(DEPTHS)), answer=answer)

    assert mark.outcome == RIGHT
    assert {each.outcome for each in mark.findings} == {RIGHT}


@given(layouts())
def test_nothing_moved_between_a_rig_and_itself(rig: Layout) -> None:
    """A revision that changes nothing leaves no old place."""
    assert moved_since(rig, rig) == Moved({}, frozenset())
