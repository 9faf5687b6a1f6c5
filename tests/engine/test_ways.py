"""Two ways on the plan of a rig, and stop by stop."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from drills.engine.layout import Compartment, Rect, StockLine
from drills.engine.optimum import SIDES, PatientPlace, Plan, Rig, quickest
from drills.engine.optimum.kit import own_way, quickest_kit
from drills.engine.optimum.own import Leg, Taken, own_route, taken_on
from drills.engine.plan import BODY_BOTTOM, BODY_RIGHT, BODY_TOP, CAB_LEFT
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted
from drills.engine.waymark import mark_of
from drills.engine.ways import draw_ways, in_seconds, rows_of
from tests.layouts import demo_layout, practice_rig

KIT = Kit({("I1A", "gauze roll"): 2, ("S1A", "splint"): 1, ("I1A", "tourniquet"): 1})


@pytest.fixture
def rig() -> Rig:
    return Rig(practice_rig())


def ways(rig: Rig) -> tuple[tuple[Leg, ...], tuple[Leg, ...], int]:
    needs = [Wanted(thing, "must", 1, things=(thing,)) for thing in ("splint", "gauze roll")]
    quick = quickest_kit(rig, needs)
    own = own_way(rig, KIT, ["I1A", "S1A"])
    assert quick is not None
    assert own is not None
    return own.legs, quick.legs, quick.statement.end


def test_the_rows_add_up_to_both_ways(rig: Rig) -> None:
    """In tenths of a second, the patient last."""
    own, quick, end = ways(rig)

    rows = rows_of(rig, own, quick, end)

    assert [row.name for row in rows][-1] == "To the patient"
    for told, legs in (([r.own_cs for r in rows], own), ([r.quick_cs for r in rows], quick)):
        assert all(cs % 10 == 0 for cs in told)
        assert abs(sum(told) - sum(leg.cs for leg in legs)) <= 5
    assert [row.own_numbers for row in rows[:-1]] == [(1,), (2,)]


def test_no_number_hides_another_and_no_way_leaves_the_patient(rig: Rig) -> None:
    """Both begin and end at the patient; the numbers are those of the table."""
    own, quick, end = ways(rig)

    drawn = draw_ways(rig, own, quick, end)

    balls = [ball for way in drawn if way for ball in way.balls]
    for number, ball in enumerate(balls):
        for other in balls[:number]:
            assert abs(ball.x - other.x) >= 24 or abs(ball.y - other.y) >= 24
    for way in drawn:
        assert way is not None
        points = re.findall(r"-?\d+ -?\d+", way.line)
        assert points[0] == points[-1]
    ends = [int(way.line.rpartition(" ")[2]) for way in drawn if way]
    assert [end - BODY_BOTTOM for end in ends] == [70, 54]


def test_without_an_own_way_the_quickest_alone_is_drawn(rig: Rig) -> None:
    """Nothing is made up."""
    _, quick, end = ways(rig)

    own, drawn = draw_ways(rig, (), quick, end)

    assert own is None
    assert drawn.balls


def test_a_walk_from_the_rear_goes_round_the_body() -> None:
    """The patient is drawn nearer than they are, and no line crosses the body for that."""
    layout = practice_rig()
    rear = Compartment("R1", "Rear locker", face="rear", rect=Rect(9, 0, 6, 6))
    layout = replace(
        layout,
        compartments=(*layout.compartments, rear),
        stock=(*layout.stock, StockLine("R1", "board", 1)),
    )
    rig = Rig(layout)
    found = own_way(rig, Kit({("R1", "board"): 1}), ["R1"])
    assert found is not None

    way, _ = draw_ways(rig, found.legs, found.legs, found.statement.end)

    assert way is not None
    points = [tuple(map(int, each.split())) for each in re.findall(r"-?\d+ -?\d+", way.line)]
    assert any(x > 352 and y < 168 for x, y in points)
    for (_, above), (_, below) in pairwise(points):
        assert max(above, below) < 230 or min(above, below) >= 168


@pytest.mark.parametrize("name", ["mesa-box", "arroyo-van"])
@pytest.mark.parametrize("side", SIDES)
def test_no_straight_line_from_the_patient_crosses_the_body(name: str, side: str) -> None:
    """Whichever side they are off; they are seen whole, and a way begins and ends beside them."""
    rig = Rig(demo_layout(name)).at(PatientPlace(side, 12))
    mark = mark_of(rig.patient)
    left, top, width, height = map(int, mark.view.split())
    for line in rig.layout.stock[::9]:
        found = quickest(rig.statement({line.item: 1}))
        legs = own_route(rig.statement({line.item: 1}), taken_of(rig, line.item, found)).legs
        _, way = draw_ways(rig, (), legs, len(rig.ground.standing) + 1)
        points = [tuple(map(int, each.split())) for each in re.findall(r"-?\d+ -?\d+", way.line)]
        ends = [points[:2], points[:-3:-1]]
        assert points[0] == points[-1]
        assert abs(points[0][0] - mark.x) + abs(points[0][1] - mark.y) == 8
        assert not any(crosses_body(*end) for end in ends)
    assert left <= mark.x - 16 <= mark.x + 16 <= left + width
    assert top <= mark.y - 12 <= mark.text_y <= top + height


def taken_of(rig: Rig, item: str, plan: Plan) -> list[Taken]:
    return [each for route in plan.routes for each in taken_on(rig.statement({item: 1}), route)]


def crosses_body(begin: tuple[int, ...], end: tuple[int, ...]) -> bool:
    """Whether a straight line on the plan goes through the rig, at any of many points of it."""
    along = [
        [a + (b - a) * step / 100 for a, b in zip(begin, end, strict=True)] for step in range(101)
    ]
    return any(CAB_LEFT < x < BODY_RIGHT and BODY_TOP < y < BODY_BOTTOM for x, y in along)


@pytest.mark.parametrize(
    ("cs", "signed", "said"),
    [
        (1234, False, "12.3"),
        (50, True, "+0.5"),
        (-120, True, "\N{MINUS SIGN}1.2"),
        (0, True, "0.0"),
    ],
)
def test_seconds_are_said_to_a_tenth(cs: int, *, signed: bool, said: str) -> None:
    """With their sign where a difference is told."""
    assert in_seconds(cs, is_signed=signed) == said
