"""What is reached belted in: what is asked of each seat, and how it is marked."""

from dataclasses import replace

import pytest

from drills.engine.asking import is_held
from drills.engine.facts import Fact
from drills.engine.generation import plan_drill
from drills.engine.layout import Layout, Point
from drills.engine.prompts import skill_of
from drills.engine.reaching import mark_reach, reach_prompts
from drills.engine.recipes import LOCATE, REACH, CannotApplyError, RecipeSpec
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from tests.layouts import demo_layout, practice_rig

SPEC = RecipeSpec("reach", ((REACH, 9),))
BLEEDING = "practice-rig SEAT circulation and bleeding"


def reached(rig: Layout, **codes: tuple[str, ...]) -> Layout:
    """A rig with other seats that reach the places named."""
    return replace(
        rig,
        compartments=tuple(
            replace(each, reach_from=codes.get(each.code, ())) for each in rig.compartments
        ),
    )


def test_a_seat_is_asked_of_a_category_with_all_that_the_rig_has_of_it() -> None:
    """The upper drawer alone is reached; a dressing in the bag is not."""
    (prompt,) = reach_prompts(practice_rig(), SPEC, ())

    assert (prompt.subject, prompt.name) == (BLEEDING, "Attendant seat")
    assert prompt.answer == ("gauze roll", "tourniquet")
    assert prompt.choices == ("gauze roll", "tourniquet", "trauma dressing")
    assert prompt.critical


def test_a_place_is_reached_by_its_own_seats_and_not_by_those_around_it() -> None:
    """A drawer of a cabinet that is reached may lie too low."""
    rig = reached(practice_rig(), S1=("SEAT",))

    assert list(reach_prompts(rig, SPEC, ())) == []
    (of_cone,) = reach_prompts(
        replace(rig, stock=(*rig.stock, replace(rig.stock[0], compartment="P1", item="Flare"))),
        SPEC,
        (),
    )
    assert of_cone.answer == ("traffic cone",)


def test_outlets_are_reached_like_things() -> None:
    """And where all of a category is reached there is nothing to tell apart."""
    rig = reached(practice_rig(), P1=("SEAT",), S1A=("SEAT",))
    mask = replace(rig.stock[0], item="Oxygen mask", category="breathing and oxygen")

    (prompt,) = reach_prompts(replace(rig, stock=(*rig.stock, mask)), SPEC, ())

    assert prompt.answer == ("oxygen outlet",)
    assert prompt.choices == ("oxygen mask", "oxygen outlet")


def test_nothing_is_asked_of_some_faces_or_of_bags() -> None:
    """A seat is of no face; a recipe that looks there asks nothing else instead."""
    for spec in (replace(SPEC, faces=("interior-curb",)), replace(SPEC, bags_only=True)):
        with pytest.raises(CannotApplyError, match="nothing to ask about"):
            plan_drill(practice_rig(), spec, seed=1)


@pytest.mark.parametrize(
    "held", [("tourniquet", ""), ("trauma dressing", "BAG-M"), ("", "I1A"), ("", "BAG")]
)
def test_a_report_of_the_category_holds_it_out(held: tuple[str, str]) -> None:
    assert is_held(practice_rig(), REACH, BLEEDING, [held])


def test_a_report_of_another_category_does_not() -> None:
    assert not is_held(practice_rig(), REACH, BLEEDING, [("splint", ""), ("", "I1B")])


@pytest.mark.parametrize(
    ("said", "outcome", "missed", "extra"),
    [
        (("gauze roll", "tourniquet"), RIGHT, (), ()),
        (("tourniquet",), PARTLY, ("gauze roll",), ()),
        (("gauze roll", "tourniquet", "trauma dressing"), PARTLY, (), ("trauma dressing",)),
        (("tourniquet", "trauma dressing"), WRONG, ("gauze roll",), ("trauma dressing",)),
        (("trauma dressing",), WRONG, ("gauze roll", "tourniquet"), ("trauma dressing",)),
        ((), WRONG, ("gauze roll", "tourniquet"), ()),
    ],
)
def test_it_is_marked_like_what_is_in_a_place(
    said: tuple[str, ...], outcome: str, missed: tuple[str, ...], extra: tuple[str, ...]
) -> None:
    """All and no other is right, more hits than false ones partly; one skill is told of."""
    (prompt,) = reach_prompts(practice_rig(), SPEC, ())

    mark = mark_reach(prompt.subject, right=prompt.answer, choices=prompt.choices, answer=said)

    assert (mark.outcome, mark.missed, mark.not_there) == (outcome, missed, extra)
    (finding,) = mark.findings
    assert finding.fact == Fact("skill", "reach practice-rig SEAT", "")
    assert finding.outcome == outcome


def test_all_categories_of_a_seat_are_one_skill() -> None:
    assert skill_of(REACH, BLEEDING) == skill_of(REACH, "practice-rig SEAT airway")
    assert skill_of(REACH, BLEEDING) != skill_of(REACH, "practice-rig BENCH airway")


@pytest.mark.parametrize("layout", ["mesa-box-rev2", "arroyo-van", "first-response-truck"])
def test_seat_by_seat_is_seat_by_seat(layout: str) -> None:
    """In the order of the rig every seat has its prompts together, and each seat comes."""
    rig = demo_layout(layout)
    spec = RecipeSpec("reach", ((REACH, 12), (LOCATE, 4)), order="seat by seat")

    plan = plan_drill(rig, spec, seed=1)

    seats = [each.subject.split(" ")[1] for each in plan.prompts if each.kind == REACH]
    turns = [seat for at, seat in enumerate(seats) if at == 0 or seats[at - 1] != seat]
    assert len(turns) == len(set(turns))
    reaching = {seat for each in rig.compartments for seat in each.reach_from}
    assert set(turns) == reaching


def test_an_assumed_seat_reaches_nothing_and_is_not_asked() -> None:
    """Where the workbook has no seats, nothing says what is reached."""
    rig = reached(replace(practice_rig(), points=()))

    assert list(reach_prompts(rig, SPEC, ())) == []


def test_a_seat_without_anything_in_reach_is_not_asked() -> None:
    rig = practice_rig()
    bench = Point("BENCH", "seat", "Squad bench", "floor", 7.0, 10.0)

    found = [*reach_prompts(replace(rig, points=(*rig.points, bench)), SPEC, ())]

    assert {each.name for each in found} == {"Attendant seat"}
