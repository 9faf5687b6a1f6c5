"""A kit brought to a call: what passes, what fails, and what costs marks."""

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drills.engine.calls import MUST, NEEDLESS, USEFUL, Asked
from drills.engine.layout import Layout
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.staging import Kit, StageMark, mark_stage, must_haves
from drills.engine.wanted import want
from tests.engine.test_wanted import TIES, Made, tied_calls
from tests.engine.test_wanted import rig as rig
from tests.reference import table

ASKED = (
    Asked("tourniquet-limb", MUST, 1, why="It stops the leg"),
    Asked("board-splints", MUST, 1, instead=("dressing",), wrong_grab=("cervical-collar-adult",)),
    Asked("gauze", USEFUL, 1),
)


def line_of(rig: Layout, thing: str) -> tuple[str, str]:
    return rig.things[thing].places[0], thing


def brought(rig: Layout, *things: str, bags: tuple[str, ...] = ()) -> StageMark:
    kit = Kit({line_of(rig, thing): 1 for thing in things}, frozenset(bags))
    return mark_stage(rig, want(rig, TIES, ASKED), kit, TIES)


def test_the_must_haves_alone_are_right(rig: Layout) -> None:
    found = brought(rig, "tourniquet", "splint")

    assert (found.outcome, found.marks) == (RIGHT, 100)


def test_what_is_useful_costs_nothing(rig: Layout) -> None:
    assert brought(rig, "tourniquet", "splint", "gauze roll").marks == 100


def test_a_must_have_missed_fails_whatever_the_rest(rig: Layout) -> None:
    found = brought(rig, "splint", "gauze roll")

    assert (found.outcome, found.marks) == (WRONG, 0)
    assert [(each.wanted.need, each.brought) for each in found.missing] == [("tourniquet-limb", 0)]
    assert found.missing[0].wanted.why == "It stops the leg"


def test_what_serves_instead_counts_and_is_named(rig: Layout) -> None:
    found = brought(rig, "tourniquet", "trauma dressing")

    assert found.outcome == RIGHT
    assert [(thing, each.need) for thing, each in found.instead] == [
        ("trauma dressing", "board-splints")
    ]


def test_a_wrong_grab_costs_marks_and_is_named(rig: Layout) -> None:
    found = brought(rig, "tourniquet", "splint", "neck collar")

    assert (found.outcome, found.marks) == (PARTLY, 90)
    assert [(thing, each.need) for thing, each in found.wrong] == [("neck collar", "board-splints")]


def test_what_nobody_asked_for_costs_marks(rig: Layout) -> None:
    ties = TIES | {"traffic cone": "cones"}
    kit = Kit({line_of(rig, each): 1 for each in ("tourniquet", "splint", "traffic cone")})

    found = mark_stage(rig, want(rig, ties, ASKED), kit, ties)

    assert (found.outcome, found.marks, found.needless) == (PARTLY, 95, ("traffic cone",))


def test_what_is_tied_to_nothing_is_not_judged(rig: Layout) -> None:
    found = brought(rig, "tourniquet", "splint", "traffic cone")

    assert (found.marks, found.unjudged) == (100, ("traffic cone",))


def test_what_is_needless_by_the_call_costs_marks(rig: Layout) -> None:
    asked = (*ASKED[:2], Asked("gauze", NEEDLESS, 1))
    kit = Kit({line_of(rig, each): 1 for each in ("tourniquet", "splint", "gauze roll")})

    assert mark_stage(rig, want(rig, TIES, asked), kit, TIES).needless == ("gauze roll",)


def test_a_bag_brought_whole_brings_what_is_in_it(rig: Layout) -> None:
    """Nothing inside it is needless: one does not unpack a bag at the doors."""
    found = brought(rig, "splint", bags=("BAG",))

    assert (found.outcome, found.marks) == (RIGHT, 100)


def test_nothing_brought_is_never_right(rig: Layout) -> None:
    """Not even where nothing that is asked for is aboard."""
    found = mark_stage(rig, want(rig, {}, ASKED), Kit(), {})

    assert (found.outcome, found.marks, found.missing) == (WRONG, 0, ())


@pytest.mark.parametrize(
    ("count", "outcome", "excess"), [(2, RIGHT, ()), (3, PARTLY, ("tourniquet",))]
)
def test_a_spare_costs_nothing_and_more_costs_marks(
    rig: Layout, count: int, outcome: str, excess: tuple[str, ...]
) -> None:
    kit = Kit({line_of(rig, "tourniquet"): count, line_of(rig, "splint"): 1})

    found = mark_stage(rig, want(rig, TIES, ASKED), kit, TIES)

    assert (found.outcome, found.excess) == (outcome, excess)


def test_a_bag_brought_for_nothing_costs_marks(rig: Layout) -> None:
    """A pocket is a bag of its own here; nothing in it was asked for."""
    ties = TIES | {line.key: "other" for line in rig.stock if line.key not in TIES}
    kit = Kit({line_of(rig, each): 1 for each in ("tourniquet", "splint")}, frozenset(["BAG-L"]))

    found = mark_stage(rig, want(rig, ties, ASKED), kit, ties)

    assert (found.outcome, found.marks, found.idle_bags) == (PARTLY, 95, ("BAG-L",))
    assert mark_stage(rig, want(rig, TIES, ASKED), kit, TIES).idle_bags == ()

    rolling = replace(rig.by_code["BAG-L"], carried="wheeled")
    others = tuple(each for each in rig.compartments if each.code != "BAG-L")
    rig = replace(rig, compartments=(*others, rolling))
    assert mark_stage(rig, want(rig, ties, ASKED), kit, ties).idle_bags == ()


def test_what_is_short_aboard_may_be_brought_all_the_same(rig: Layout) -> None:
    """A tourniquet that is reported missing and lies there nevertheless."""
    places = {rig.by_code[code].key for code in rig.things["tourniquet"].places}
    wanted = want(rig, TIES, ASKED, {("tourniquet", place) for place in places})
    kit = Kit({line_of(rig, each): 1 for each in ("tourniquet", "splint")})

    found = mark_stage(rig, wanted, kit, TIES)

    assert (found.outcome, found.excess) == (RIGHT, ())


def test_what_serves_one_need_is_counted_once_for_all_that_serves(rig: Layout) -> None:
    """One board, and three things that would each do: more than twice one is too many."""
    asked = [Asked("board-splints", MUST, 1, instead=("dressing", "gauze"))]
    kit = Kit({line_of(rig, each): 1 for each in ("splint", "trauma dressing", "gauze roll")})

    found = mark_stage(rig, want(rig, TIES, asked), kit, TIES)

    assert (found.outcome, found.marks, len(found.excess)) == (PARTLY, 95, 1)


def test_a_line_of_a_bag_brought_whole_is_never_needless(rig: Layout) -> None:
    ties = {line.key: TIES.get(line.key, "other") for line in rig.stock}
    inside = next(line for line in rig.lines_in["BAG-L"] if ties[line.key] == "other")
    kit = Kit({(inside.compartment, inside.key): 1, line_of(rig, "splint"): 1}, frozenset(["BAG"]))

    assert mark_stage(rig, want(rig, ties, ASKED), kit, ties).marks == 100


def test_a_line_taken_out_of_a_bag_beside_it_counts_once(rig: Layout) -> None:
    par = sum(line.par for line in rig.lines_in["BAG-M"] if line.key == "tourniquet")
    wanted = want(rig, TIES, [Asked("tourniquet-limb", MUST, par + 1)])
    kit = Kit({("BAG-M", "tourniquet"): par}, frozenset(["BAG"]))

    (missing,) = mark_stage(rig, wanted, kit, TIES).missing

    assert missing.brought == par


def test_a_bag_inside_one_that_was_brought_is_not_brought_for_nothing(rig: Layout) -> None:
    ties = {line.key: TIES.get(line.key, "other") for line in rig.stock}
    kit = Kit({line_of(rig, "splint"): 1}, frozenset(["BAG", "BAG-L"]))

    assert mark_stage(rig, want(rig, ties, ASKED), kit, ties).marks == 100


def test_when_no_marks_are_left_it_fails(rig: Layout) -> None:
    """Twenty needless things, five marks each, beside all the must-haves."""
    extra = [replace(rig.stock[0], item=f"Thing {n}", compartment="P1") for n in range(20)]
    rig = replace(rig, stock=(*rig.stock, *extra))
    ties = TIES | {line.key: "other" for line in extra}
    kit = Kit({line_of(rig, each): 1 for each in ("tourniquet", "splint")})
    all_of_it = Kit(dict(kit.lines) | {("P1", line.key): 1 for line in extra})
    one_less = Kit(dict(kit.lines) | {("P1", line.key): 1 for line in extra[1:]})

    wanted = want(rig, ties, ASKED)

    assert mark_stage(rig, wanted, all_of_it, ties).outcome == WRONG
    assert mark_stage(rig, wanted, one_less, ties).marks == 5


@given(tied_calls())
def test_what_is_promised_together_is_aboard_together(made: Made) -> None:
    """The kit of the must-haves passes, and takes from no line more than lies there."""
    layout, ties, wanted = made
    kit = must_haves(layout, wanted)

    assert mark_stage(layout, wanted, kit, ties).outcome == (RIGHT if kit.lines else WRONG)
    assert sum(kit.lines.values()) == sum(each.quantity for each in wanted)
    for (code, thing), count in kit.lines.items():
        here = [line.par for line in layout.lines_in[code] if line.key == thing]
        assert count <= sum(here)


@given(tied_calls())
def test_one_thing_less_than_the_must_haves_fails(made: Made) -> None:
    layout, ties, wanted = made
    kit = must_haves(layout, wanted)

    for at, count in kit.lines.items():
        fewer = Kit(dict(kit.lines) | {at: count - 1})
        assert mark_stage(layout, wanted, fewer, ties).outcome == WRONG


@given(tied_calls(), st.randoms(use_true_random=False))
def test_every_kit_that_serves_all_passes(made: Made, random: Random) -> None:
    """Whoever takes any of the things that serve, from wherever, until all is served."""
    layout, ties, wanted = made
    lines = [(line.compartment, line.key) for line in layout.stock for _ in range(line.par)]
    random.shuffle(lines)
    taken: Counter[tuple[str, str]] = Counter()
    for each in sorted(wanted, key=lambda _: random.random()):
        mine = [at for at in lines if at[1] in each.serving][: each.quantity]
        assume(len(mine) == each.quantity)
        for at in mine:
            lines.remove(at)
            taken[at] += 1

    assert mark_stage(layout, wanted, Kit(taken), ties).missing == ()


@pytest.mark.parametrize("row", table("packs.csv"), ids=lambda row: row["note"])
def test_a_pack_counts_for_what_it_holds(row: dict[str, str], rig: Layout) -> None:
    """Promised, short, enough and too many, as the table works them out."""
    par, holds, asked, count = (int(row[name]) for name in ("par", "holds", "asked", "brought"))
    (gauze,) = (line for line in rig.stock if line.key == "gauze roll")
    rig = replace(rig, stock=(replace(gauze, par=par),))
    (wanted,) = want(rig, TIES, [Asked("gauze", MUST, asked)], holds={"gauze roll": holds})
    kit = Kit({line_of(rig, "gauze roll"): count} if count else {})

    found = mark_stage(rig, [wanted], kit, TIES)

    assert (wanted.quantity, wanted.short) == (asked - int(row["short"]), int(row["short"]))
    assert must_haves(rig, [wanted]).lines == {
        line_of(rig, "gauze roll"): -(-wanted.quantity // holds)
    }
    assert (not found.missing) == (row["enough"] == "yes")
    assert bool(found.excess) == (row["excess"] == "yes")


def test_a_pack_that_serves_instead_counts_as_well(rig: Layout) -> None:
    """One pack of two dressings does for two splints, whatever else is asked for."""
    asked = [Asked("board-splints", MUST, 4, instead=("dressing",))]
    wanted = want(rig, TIES, asked, holds={"trauma dressing": 2, "gauze roll": 9})
    kit = Kit({line_of(rig, "splint"): 2, line_of(rig, "trauma dressing"): 1})

    found = mark_stage(rig, wanted, kit, TIES)

    assert wanted[0].holds == {"trauma dressing": 2}
    assert found.missing == ()
    assert [thing for thing, _ in found.instead] == ["trauma dressing"]
    assert must_haves(rig, wanted) == kit


def test_a_pack_in_a_bag_brought_whole_counts(rig: Layout) -> None:
    """What lies in the bag is counted as what it is a pack of."""
    asked = [Asked("tourniquet-limb", MUST, 4)]
    wanted = want(rig, TIES, asked, holds={"tourniquet": 2})

    assert mark_stage(rig, wanted, Kit({}, frozenset(["BAG"])), TIES).missing == ()
    (missing,) = mark_stage(rig, want(rig, TIES, asked), Kit({}, frozenset(["BAG"])), TIES).missing
    assert missing.brought == 2
