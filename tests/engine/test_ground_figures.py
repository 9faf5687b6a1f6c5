"""Worked examples of where one stands and walks, with the arithmetic written out by hand.

Walking is 1.2 m a second outside and 0.8 m inside, a corner 0.7 s, rounded up to hundredths. On the
plan a face is 24 units long. All of it is ours, no source.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from drills.engine.layout import WHEELED, Compartment, Layout, Point, Rect, StockLine
from drills.engine.optimum import CAB, NEAR_PATIENT, Rig
from drills.engine.optimum.ground import Ground
from drills.engine.optimum.motions import walk_cs

# A rig of 5 m by 2 m with a cab: a fifth of it, 1 m, is the cab and 4 m the body, so that a unit of
# the plan is 1/6 m. The patient is 6 m off the middle of the curb side.
LOCKER = Compartment("S1", "Locker", face="street", rect=Rect(0, 0, 6, 6), closure="door")
ACROSS = Compartment("C1", "Locker", face="curb", rect=Rect(18, 0, 6, 6), closure="door")
BOX = Compartment("K1", "Box", face="cab", rect=Rect(18, 0, 6, 6), closure="lid")


def layout_of(*compartments: Compartment, sized: bool = True) -> Layout:
    return Layout(
        name="Rig",
        slug="rig",
        length_m=Decimal(5) if sized else None,
        width_m=Decimal(2) if sized else None,
        compartments=compartments,
        stock=tuple(StockLine(each.code, each.code, 1) for each in compartments),
        points=(),
    )


def walks(layout: Layout, *codes: str, begin: str = NEAR_PATIENT) -> tuple[int, ...]:
    """Hundredths of a second between two places, from the second to the patient, and from where
    one begins to the second."""
    statement = Rig(layout).statement(dict.fromkeys(codes, 1), begin=begin)
    first, second = (source.stop for source in statement.sources)
    between, to_patient = (statement.walk_cs[second][each] for each in (first, statement.end))
    return between, to_patient, statement.walk_cs[statement.begin][second]


def test_the_walk_round_a_rig_is_what_it_is_by_hand() -> None:
    """S1 is 3 units or 0.5 m from the front of the body, C1 across from it, each half a metre off.

    Round the cab, 0.5 m off its front: 2.0 m and half a corner, 167 + 35; 3.0 m and half of two
    corners, 250 + 70; 2.0 m and half a corner, 202. From C1 at (0.5, 2.5) to the patient at
    (2, 8): 5.701 m, 476. From the cab's door at (-0.5, 2.5) to C1: 1.0 m, 84.
    """
    rig = layout_of(LOCKER, ACROSS, BOX)
    assert walks(rig, "S1", "C1") == (202 + 320 + 202, 476, 476)
    assert walks(rig, "S1", "C1", begin=CAB) == (724, 476, 84)


def test_a_rig_of_no_told_size_is_4_3_by_2_4_m() -> None:
    """Without a cab: from the middle of the rear, (4.8, 1.2), by the corner, (4.8, 2.9), to the
    middle of the curb side, (2.15, 2.9): 1.7 m, 142 + 35, and 2.65 m, 221 + 35. To the patient, 6 m
    off it, 5.5 m: 459."""
    rear = Compartment("R1", "Bay", face="rear", rect=Rect(9, 0, 6, 6))
    middle = Compartment("C1", "Bay", face="curb", rect=Rect(9, 0, 6, 6))
    assert walks(layout_of(rear, middle, sized=False), "R1", "C1") == (177 + 256, 459, 459)


@pytest.mark.parametrize(("left", "wide", "spots"), [(4, 5, 1), (5, 4, 2)])
def test_places_0_6_m_apart_are_two_and_nearer_are_one(left: int, wide: int, spots: int) -> None:
    """3.5 units are 0.583 m and four are 0.667 m; the first has its middle at 3 units."""
    beside = Compartment("S2", "Locker", face="street", rect=Rect(left, 0, wide, 6))
    statement = Rig(layout_of(LOCKER, beside, BOX)).statement({"S1": 1, "S2": 1})
    assert len({source.stop for source in statement.sources}) == spots


def test_the_aisle_has_a_standing_place_each_0_8_m() -> None:
    """In 4 m five, the first 0.4 m from the front; from one to the next takes 0.8 m at 0.8 m/s."""
    wall = Compartment("W1", "Cabinet", face="interior-street", rect=Rect(0, 0, 6, 6))
    ground = Ground(layout_of(wall, BOX))
    assert [round(ground.standing[each].x, 3) for each in ground.aisle] == [0.4, 1.2, 2.0, 2.8, 3.6]
    found = ground.walks((0, 9), (0, 9))[0]
    assert [found[each] for each in ground.aisle] == [0, 100, 200, 300, 400]


@pytest.mark.parametrize(
    ("metres", "inside", "by_hand"),
    [
        (0.1 + 0.2, True, 38),
        (0.24, True, 30),
        (2.0 - 1.2, True, 100),
        (0.801, True, 101),
        (0.8000004, True, 100),
        (0.800001, True, 101),
        (1.2, False, 100),
        (1.201, False, 101),
        (0, False, 0),
    ],
)
def test_a_walk_is_rounded_up_from_whole_micrometres(
    metres: float, by_hand: int, *, inside: bool
) -> None:
    """0.3 m at 0.8 m/s is 0.375 s; what a sum of decimals is off by adds no hundredth."""
    assert walk_cs(metres, inside=inside) == by_hand


ROOM = ("interior-street", "rear")
REAR = Point("REAR", "door", "Rear doors", "rear", 12, 6, ROOM)
SIDE = Point("SIDE", "door", "Side door", "curb", 3, 6, ROOM)
SEAT = Point("DRIVER", "seat", "Driver's seat", "cab", 5, 7)


@pytest.mark.parametrize(
    ("points", "front", "back"),
    [((REAR,), 685, 285), ((SEAT,), 685, 285), ((REAR, SIDE), 685, 285)],
)
def test_inside_is_two_steps_and_half_a_door_behind_the_rear(
    points: tuple[Point, ...], front: int, back: int
) -> None:
    """Two steps of 0.7 s and half of 2.9 s to the hindmost place of the aisle, four places or 3.2 m
    further to the foremost; so where the workbook names no door to it, and round by the side door
    is farther."""
    bay = Compartment("R1", "Bay", face="rear", rect=Rect(9, 0, 6, 6))
    wall = [
        Compartment(code, code, face="interior-street", rect=Rect(x, 0, 6, 6))
        for code, x in (("REAR", 0), ("FRONT", 18))
    ]
    layout = replace(layout_of(bay, *wall, BOX), points=points)
    statement = Rig(layout).statement({"R1": 1, "REAR": 1, "FRONT": 1})
    outside, hindmost, foremost = (source.stop for source in statement.sources)

    assert statement.walk_cs[outside][hindmost] == statement.walk_cs[hindmost][outside] == back
    assert statement.walk_cs[outside][foremost] == front


@pytest.mark.parametrize(
    ("carried", "closure", "hands"),
    [("one-hand", "zip", 1), ("two-hands", "zip", 2), (WHEELED, "lid", 1)],
)
def test_a_bag_fills_the_hands_that_the_workbook_says(
    carried: str, closure: str, hands: int
) -> None:
    """A case that rolls is pulled with one."""
    bag = Compartment("B1", "Bag", inside="S1", closure=closure, carried=carried)
    assert Rig(layout_of(LOCKER, bag)).bag("B1").hands == hands
