"""What a revision moved is asked for: a bag once, a thing once, and never what stayed."""

from dataclasses import replace

import pytest

from drills.engine.facts import BAG, Fact
from drills.engine.generation import MOST_MOVED, plan_drill
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.moving import bags_alone, without_bags
from drills.engine.prompts import bag_asked, bag_subject, ways
from drills.engine.recipes import CONTENTS, LOCATE, MOVED, CannotApplyError, RecipeSpec
from drills.engine.scoring import (
    DOOR,
    ELSEWHERE,
    NEXT_DOOR,
    OLD_PLACE,
    PARTLY,
    POCKET,
    RIGHT,
    WRONG,
    Finding,
    mark_bag,
    moved_since,
)
from tests.layouts import practice_rig

IN_TURN = "moved first"
WHAT_MOVED = RecipeSpec(
    "what-moved", ((MOVED, 0), (LOCATE, 6)), order=IN_TURN, focus=("what moved",)
)
ONLY_MOVED = RecipeSpec("moved-alone", ((MOVED, 0),), order=IN_TURN)
BAG_FACT = Fact(BAG, "BAG", "I1")


def with_bag_in(code: str) -> Layout:
    """The practice rig with the response bag in another place; the order stays."""
    rig = practice_rig()
    return replace(
        rig,
        compartments=tuple(
            replace(each, inside=code) if each.code == "BAG" else each for each in rig.compartments
        ),
    )


def with_line_in(item: str, code: str) -> Layout:
    """The practice rig with all lines of an item in one other place."""
    rig = practice_rig()
    first = next(line for line in rig.stock if line.item == item)
    others = tuple(line for line in rig.stock if line.item != item)
    return replace(rig, stock=(*others, replace(first, compartment=code)))


def asked(spec: RecipeSpec, before: Layout, now: Layout, **more: object) -> list[tuple[str, str]]:
    made = plan_drill(now, spec, seed=1, before=before, **more)  # type: ignore[arg-type]  # as given
    return [(each.kind, each.subject) for each in made.prompts]


@pytest.mark.parametrize(("codes", "varies"), [(("S1",), False), (("S1", "I1A"), True)])
def test_what_moved_in_mixed_order_varies_where_more_than_one_thing_did(
    codes: tuple[str, ...], *, varies: bool
) -> None:
    """As many as have moved are asked, so that of two the order is another by another seed."""
    now = practice_rig()
    for item, code in zip(("Splint", "Traffic cone"), codes, strict=False):
        now = replace(
            now,
            stock=tuple(
                replace(line, compartment=code) if line.item == item else line for line in now.stock
            ),
        )
    mixed = replace(ONLY_MOVED, order="mixed")

    plans = [plan_drill(now, mixed, seed=seed, before=practice_rig()) for seed in range(20)]

    assert {plan.varies for plan in plans} == {varies}
    assert len({tuple(each.subject for each in plan.prompts) for plan in plans}) == len(codes)


def test_a_bag_that_moved_is_asked_for_once_and_none_of_its_lines() -> None:
    """One prompt for the bag with its four lines, and none for what is inside."""
    (prompt,) = plan_drill(with_bag_in("I1"), ONLY_MOVED, seed=1, before=practice_rig()).prompts

    assert (prompt.kind, prompt.subject) == (MOVED, bag_subject("BAG"))
    assert prompt.name == "Response bag"
    assert prompt.answer == ("I1",)
    assert prompt.critical
    assert ways(with_bag_in("I1"), MOVED, prompt.subject, prompt.answer) == [(BAG_FACT,)]


def test_a_thing_that_moved_is_asked_for_as_such() -> None:
    """Its question says that it moved, and its answer is the new place."""
    now = with_line_in("Splint", "I1A")
    (prompt,) = plan_drill(now, ONLY_MOVED, seed=1, before=practice_rig()).prompts

    assert (prompt.subject, prompt.answer) == ("splint", ("I1A",))
    assert prompt.text.startswith("It moved. Where is it now?")


def test_a_thing_that_is_new_is_not_said_to_have_moved() -> None:
    """A line that no revision had is new."""
    rig = practice_rig()
    now = replace(rig, stock=(*rig.stock, StockLine("I1A", "Shears", 1)))
    (prompt,) = plan_drill(now, ONLY_MOVED, seed=1, before=rig).prompts

    assert prompt.subject == "shears"
    assert prompt.text.startswith("It is new on this layout.")


def test_a_second_place_of_a_thing_is_said_to_be_one_of_its_places() -> None:
    """Its other place is right as well, so the question says so."""
    rig = practice_rig()
    now = replace(rig, stock=(*rig.stock, StockLine("S1A", "Gauze roll", 1)))
    (prompt,) = plan_drill(now, ONLY_MOVED, seed=1, before=rig).prompts

    assert prompt.text.startswith("One of its places is new.")
    assert set(prompt.answer) == {"I1A", "S1A"}


def test_no_question_names_a_place_new_or_old() -> None:
    """Neither the texts nor the names of the prompts hold a code or name of a place."""
    now = replace(with_bag_in("I1"), stock=with_line_in("Splint", "I1A").stock)
    made = plan_drill(now, ONLY_MOVED, seed=1, before=practice_rig())

    words = " ".join(f"{each.name} {each.text}" for each in made.prompts)
    for place in now.compartments:
        assert place.code == "BAG" or place.name not in words.replace("Response bag", "")


def test_what_stayed_beside_what_left_is_asked_after_what_moved() -> None:
    """The things behind the door that the bag left, less what hangs in the bag."""
    found = asked(WHAT_MOVED, practice_rig(), with_bag_in("I1"))

    assert found[0] == (MOVED, bag_subject("BAG"))
    assert {subject for kind, subject in found[1:]} == {"traffic cone", "splint", "neck collar"}
    assert {kind for kind, _ in found[1:]} == {LOCATE}


def test_contents_are_asked_where_something_left() -> None:
    """Of a focus on what moved, no place behind a door that lost nothing."""
    spec = RecipeSpec("beside", ((CONTENTS, 6),), order=IN_TURN, focus=("what moved",))
    found = asked(spec, practice_rig(), with_line_in("Gauze roll", "S1A"))

    assert {subject for _, subject in found} <= {"I1A", "I1B"}
    assert found


def test_what_is_reported_as_gone_is_not_asked_for() -> None:
    """A bag by its own report, a thing by its own."""
    now = replace(with_bag_in("I1"), stock=with_line_in("Splint", "I1A").stock)

    assert asked(ONLY_MOVED, practice_rig(), now, held=[("", "BAG")]) == [(MOVED, "splint")]
    assert asked(ONLY_MOVED, practice_rig(), now, held=[("splint", "")]) == [
        (MOVED, bag_subject("BAG"))
    ]


def test_as_many_as_moved_are_asked_up_to_a_limit() -> None:
    """Forty lines that change place are asked in several drills."""
    rig = practice_rig()
    lines = [StockLine("S1", f"Thing {number}", 1) for number in range(40)]
    before = replace(rig, stock=(*rig.stock, *lines))
    now = replace(rig, stock=(*rig.stock, *(replace(each, compartment="I1") for each in lines)))

    made = plan_drill(now, ONLY_MOVED, seed=1, before=before)
    assert len(made.prompts) == MOST_MOVED
    assert made.spares


@pytest.mark.parametrize(
    ("before", "said"),
    [
        (None, "Practice rig has no earlier revision"),
        (practice_rig(), "nothing has moved on Practice rig since the revision before"),
    ],
)
def test_where_nothing_moved_it_says_so(before: Layout | None, said: str) -> None:
    """A first revision, and one that changed numbers alone."""
    with pytest.raises(CannotApplyError, match=said):
        plan_drill(practice_rig(), WHAT_MOVED, seed=1, before=before)


def test_a_bag_that_stands_by_itself_now_is_not_asked_for() -> None:
    """The drawing shows it on its face."""
    with pytest.raises(CannotApplyError, match="has nothing to ask about"):
        plan_drill(_standing(), ONLY_MOVED, seed=1, before=practice_rig())


def _standing() -> Layout:
    rig = practice_rig()
    return replace(
        rig,
        compartments=tuple(
            replace(each, inside="", face="floor", rect=Rect(0, 0, 2, 2))
            if each.code == "BAG"
            else each
            for each in rig.compartments
        ),
    )


@pytest.mark.parametrize(
    ("answer", "depth", "outcome", "near"),
    [
        ("I1A", POCKET, RIGHT, ""),
        ("I1", POCKET, PARTLY, ""),
        ("I1B", DOOR, RIGHT, ""),
        ("S1A", POCKET, WRONG, OLD_PLACE),
        ("S1", DOOR, WRONG, OLD_PLACE),
        ("I1B", POCKET, WRONG, NEXT_DOOR),
        ("P1", POCKET, WRONG, ELSEWHERE),
    ],
)
def test_a_place_given_for_a_bag_is_judged_like_any(
    answer: str, depth: str, outcome: str, near: str
) -> None:
    """Right, partly right, and each way to be wrong; the evidence is of the bag alone."""
    now = with_bag_in("I1A")
    mark = mark_bag(
        now, bag="BAG", depth=depth, answer=answer, moved=moved_since(practice_rig(), now)
    )

    assert (mark.outcome, mark.near, mark.place) == (outcome, near, "I1A")
    (finding,) = mark.findings
    assert finding == Finding(Fact(BAG, "BAG", "I1A"), outcome, mark.depth_reached)


def test_a_drawing_without_bags_is_the_same_wherever_they_are() -> None:
    """And the list of what is left out is too, each place named from its own bag on."""
    rigs = [with_bag_in(code) for code in ("S1A", "S1", "I1", "I1A", "P1")]

    assert all(without_bags(each) == without_bags(rigs[0]) for each in rigs)
    assert {bags_alone(each) for each in rigs} == {
        (
            ("BAG", "Response bag"),
            ("BAG-L", "Response bag › Lid pocket"),
            ("BAG-M", "Response bag › Main pocket"),
        )
    }


def test_a_pouch_in_a_bag_is_named_from_itself_on() -> None:
    """Where the pouch hangs in the bag is a question of its own."""
    rig = practice_rig()
    pouch = Compartment("POUCH", "Pouch", inside="BAG-M", carried="one-hand")
    within = bags_alone(replace(rig, compartments=(*rig.compartments, pouch)))

    assert ("POUCH", "Pouch") in within


def test_no_thing_is_taken_for_a_bag() -> None:
    """Whatever an item is called, its key has no two spaces in a row."""
    key = StockLine("S1", "Bag   BAG", 1).key

    assert bag_asked(key) == ""
    assert bag_asked(bag_subject("BAG")) == "BAG"
