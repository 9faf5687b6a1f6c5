"""The question that a rig asks: where one stands, what is in the way, and what is brought."""

import re
from dataclasses import replace
from decimal import Decimal
from itertools import product
from typing import Any

import pytest

from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine
from drills.engine.optimum import (
    CAB,
    NEAR_PATIENT,
    SIDES,
    PatientPlace,
    Rig,
    StatementError,
    quickest,
)
from drills.engine.optimum.motions import MOTIONS, PUBLISHED, cs, look_cs, walk_cs
from drills.engine.optimum.page import PRINTED
from drills.engine.tables.kinds import CONFIRMED, OURS
from tests.layouts import demo_layout

LAYOUTS = ("mesa-box", "arroyo-van", "first-response-truck")
INSIDE = ("interior-street", "interior-curb", "bulkhead", "floor")


def rig_of(*compartments: Compartment, stock: tuple[StockLine, ...]) -> Rig:
    points = (
        Point("SIDE", "door", "Side door", "curb", 6, 6, INSIDE),
        Point("REAR", "door", "Rear doors", "rear", 12, 6, (*INSIDE, "rear")),
    )
    layout = Layout(
        name="Rig",
        slug="rig",
        length_m=Decimal("4.8"),
        width_m=Decimal("2.4"),
        compartments=compartments,
        stock=stock,
        points=points,
    )
    return Rig(layout)


STREET = Compartment("S1", "Locker", face="street", rect=Rect(0, 0, 4, 6), closure="door")
WALL = Compartment("W1", "Cabinet", face="interior-street", rect=Rect(20, 0, 4, 6), closure="lid")


class TestGround:
    @pytest.mark.parametrize("name", LAYOUTS)
    @pytest.mark.parametrize(("side", "begin"), list(product(SIDES, (NEAR_PATIENT, CAB))))
    def test_no_way_by_way_of_others_is_shorter(self, name: str, side: str, begin: str) -> None:
        """On every layout, wherever the patient is; otherwise nothing would be proved."""
        layout = demo_layout(name)
        kit = {layout.stock[0].item: 1}

        statement = Rig(layout).at(PatientPlace(side, 8)).statement(kit, begin=begin)

        statement.check()
        assert statement.is_closed is (begin == NEAR_PATIENT)
        assert max(max(row) for row in statement.walk_cs) < 10_000

    def test_two_doors_side_by_side_are_reached_from_one_spot(self) -> None:
        """Less than 0.6 m apart on the same face; across the rig they are not."""
        near = replace(STREET, code="S2", rect=Rect(0, 6, 6, 6))
        far = replace(STREET, code="S3", rect=Rect(16, 0, 4, 6))
        across = replace(STREET, code="C1", face="curb", rect=Rect(20, 0, 4, 6))
        stock = tuple(StockLine(code, code, 1) for code in ("S1", "S2", "S3", "C1"))
        statement = rig_of(STREET, near, far, across, stock=stock).statement(
            dict.fromkeys(("S1", "S2", "S3", "C1"), 1)
        )

        stops = {source.place.code: source.stop for source in statement.sources}

        assert stops["S1"] == stops["S2"]
        assert len(set(stops.values())) == 3

    def test_one_walks_round_the_rig_and_not_through_it(self) -> None:
        """From the street to the curb by a corner and its turn, or through two doors."""
        curb = replace(STREET, code="C1", face="curb", rect=Rect(20, 0, 4, 6))
        stock = (StockLine("S1", "mask", 1), StockLine("C1", "vest", 1))
        statement = rig_of(STREET, curb, stock=stock).statement({"mask": 1, "vest": 1})
        street, other = (source.stop for source in statement.sources)

        straight = walk_cs(3.4, inside=False)

        assert statement.walk_cs[street][other] > straight + 2 * cs("turn") / 2

    def test_inside_is_reached_by_a_door_and_a_step(self) -> None:
        """Two steps and half the door each way."""
        stock = (StockLine("W1", "mask", 1),)
        rig = rig_of(WALL, stock=stock)
        statement = rig.at(PatientPlace("rear", 0.5)).statement({"mask": 1})
        (source,) = statement.sources

        through = 2 * cs("step") + cs("door") // 2

        assert rig.ground.standing[source.stop].is_inside
        assert statement.walk_cs[statement.begin][source.stop] > through

    def test_a_room_without_a_door_is_entered_from_the_rear(self) -> None:
        """A workbook that names no door to it leaves nothing out of reach."""
        layout = rig_of(WALL, stock=(StockLine("W1", "mask", 1),)).layout
        seat = Point("DRIVER", "seat", "Driver's seat", "cab", 5, 7)
        statement = Rig(replace(layout, points=(seat,))).statement({"mask": 1})

        assert quickest(statement).cs < 10_000


class TestOpenings:
    def test_each_level_is_paid_once_from_the_outside_in(self) -> None:
        """Turn, door, shelf, and the height where it changes; lock and seal as well."""
        low = Compartment("S1B", "Bottom", inside="S1", closure="drawer", height="low", locked=True)
        box = Compartment("S1C", "Box", inside="S1B", closure="lid", height="low", sealed=True)
        stock = (
            StockLine("S1C", "mask", 1),
            StockLine("S1C", "gown", 1),
            StockLine("S1C", "cap", 1),
        )

        statement = rig_of(STREET, low, box, stock=stock).statement({"mask": 1})
        (source,) = statement.sources
        told = {each.code: each.cs for each in statement.openings}

        assert [statement.openings[each].code for each in source.openings] == [
            "S1 street",
            "S1B",
            "S1C",
        ]
        assert told["S1 street"] == cs("turn") + cs("door")
        assert told["S1B"] == cs("drawer") + cs("lock") + cs("low")
        assert told["S1C"] == cs("lid") + cs("seal") + look_cs(3)

    @pytest.mark.parametrize(
        ("told", "motion"),
        [
            ({"rect": Rect(0, 5, 4, 4)}, ""),
            ({"rect": Rect(0, 6, 4, 4)}, "low"),
            ({"rect": Rect(0, 6, 4, 4), "height": "waist"}, ""),
            ({"height": "low"}, "low"),
            ({"height": "floor"}, "low"),
            ({"height": "overhead"}, "overhead"),
        ],
    )
    def test_what_is_low_or_overhead_takes_a_motion_more(
        self, told: dict[str, Any], motion: str
    ) -> None:
        """By the height that the workbook says, else by the lowest third of a face, from row 8."""
        locker = replace(STREET, **told)
        statement = rig_of(locker, stock=(StockLine("S1", "mask", 1),)).statement({"mask": 1})
        (opening,) = statement.openings

        more = cs(motion) if motion else 0

        assert opening.cs == cs("turn") + cs("door") + look_cs(1) + more

    @pytest.mark.parametrize(
        ("closure", "is_bag", "key"),
        [
            ("zip", True, "zip"),
            ("zip", False, "pocket"),
            ("lid", False, "lid"),
            ("none", False, ""),
        ],
    )
    def test_each_closure_takes_its_own_motion(
        self, closure: str, key: str, *, is_bag: bool
    ) -> None:
        """What is zipped is a bag where it is carried, else a pocket."""
        carried = "one-hand" if is_bag else "no"
        inner = Compartment("S1A", "Inner", inside="S1", closure=closure, carried=carried)
        statement = rig_of(STREET, inner, stock=(StockLine("S1A", "mask", 1),)).statement(
            {"mask": 1}
        )
        told = {each.code: each.cs for each in statement.openings}

        assert told["S1A"] == (cs(key) if key else 0) + look_cs(1)

    @pytest.mark.parametrize(
        ("face", "opened"),
        [("cab", True), ("rear", True), ("street", False), ("curb", False), ("floor", False)],
    )
    def test_a_door_before_a_face_is_opened_first(self, face: str, *, opened: bool) -> None:
        """That of the cab and of the rear; a locker outside is its own door, and inside the door
        is in the walk."""
        box = replace(STREET, code="B1", face=face)
        rig = rig_of(box, stock=(StockLine("B1", "mask", 1),))
        doors = (*rig.layout.points, Point("CAB", "door", "Cab door", "cab", 5, 0, ("cab",)))
        statement = Rig(replace(rig.layout, points=doors)).statement({"mask": 1})
        (source,) = statement.sources

        codes = [statement.openings[each].code for each in source.openings]

        assert codes == [*([f"door to the {face}"] if opened else []), f"B1 {face}"]
        assert statement.openings[source.openings[0]].cs >= cs("door")

    def test_what_opens_to_both_sides_is_one_place_with_two(self) -> None:
        """Its stock is counted once; an inner place that only one side reaches has one."""
        both = replace(
            STREET,
            code="B1",
            opens="both",
            also_face="interior-street",
            also_rect=Rect(20, 0, 4, 6),
        )
        inner = Compartment("B1A", "Shelf", inside="B1", opens="outside")
        stock = (StockLine("B1", "mask", 1), StockLine("B1A", "vest", 1))
        statement = rig_of(both, inner, stock=stock).statement({"mask": 1, "vest": 1})

        places = [source.place.code for source in statement.sources]

        assert (places.count("B1"), places.count("B1A")) == (2, 1)
        assert statement.there_is(0) == 1

    @pytest.mark.parametrize(("lines", "glances"), [(1, 1), (2, 1), (3, 2), (12, 6), (40, 6)])
    def test_one_looks_twice_as_long_for_twice_as_much_up_to_twelve(
        self, lines: int, glances: int
    ) -> None:
        """Two things a glance."""
        assert look_cs(lines) == glances * cs("look")


class TestKit:
    @pytest.mark.parametrize(
        ("kg", "hands"), [("0.5", 0), ("4.9", 0), ("5", 1), ("11.9", 1), ("12", 2)]
    )
    def test_heavy_things_take_a_hand_or_two(self, kg: str, hands: int) -> None:
        """From 5 kg on one, from 12 kg on both."""
        stock = (StockLine("S1", "board", 2, weight_kg=Decimal(kg)),)

        statement = rig_of(STREET, stock=stock).statement({"board": 2})

        assert statement.needs[0].hands == hands
        assert len(statement.sources) == (2 if hands else 1)

    def test_a_name_is_read_whatever_its_case(self) -> None:
        """And what is aboard in several places is found in all of them."""
        stock = (StockLine("S1", "Face  mask", 1), StockLine("W1", "face mask", 2))
        statement = rig_of(STREET, WALL, stock=stock).statement({"FACE MASK": 3})

        assert statement.there_is(0) == 3

    @pytest.mark.parametrize(
        ("kit", "said"),
        [
            ({"mask": 3}, "mask: 3 are asked for, and 2 are aboard"),
            ({"anvil": 1}, "anvil: 1 are asked for, and 0 are aboard"),
        ],
    )
    def test_what_is_not_aboard_is_said(self, kit: dict[str, int], said: str) -> None:
        """By its name, with how many there are."""
        with pytest.raises(StatementError, match=said):
            rig_of(STREET, stock=(StockLine("S1", "mask", 2),)).statement(kit)

    def test_a_bag_is_brought_where_that_is_quicker(self) -> None:
        """Three pockets opened one by one take longer than the bag taken up."""
        bag = Compartment("BAG", "Bag", inside="S1", closure="zip", carried="one-hand")
        pockets = [Compartment(f"P{n}", "Pocket", inside="BAG", closure="zip") for n in range(3)]
        stock = tuple(StockLine(f"P{n}", f"thing {n}", 1) for n in range(3))
        rig = rig_of(STREET, bag, *pockets, stock=stock)

        statement = rig.statement({f"thing {n}": 1 for n in range(3)})
        (route,) = quickest(statement).routes
        (visit,) = route.visits

        assert [statement.bags[number].code for number in visit.bags] == ["BAG"]
        assert visit.taken == ()


class TestMotions:
    def test_every_motion_is_ours_and_says_so(self) -> None:
        """No table of a motion system is carried, and no row leans on what others found."""
        assert {each.status for each in MOTIONS} == {OURS}
        assert all(each.source.endswith("no source") for each in MOTIONS)
        assert not [each.key for each in MOTIONS if re.search(r"publish|19\d\d|20\d\d", each.note)]
        assert all(each.seconds > 0 for each in MOTIONS)

    def test_every_motion_is_rounded_to_a_tenth(self) -> None:
        """A finer figure would be somebody else's."""
        assert all((each.seconds * 10).denominator == 1 for each in MOTIONS)

    def test_what_was_published_names_where_or_says_that_it_does_not(self) -> None:
        """A year, or where it can be looked up; what has neither is from memory."""
        for each in PUBLISHED:
            is_named = re.search(r"\b(19|20)\d\d\b|\w\.(org|info)\b", each.source) is not None
            assert is_named is (each.status == CONFIRMED), each.key
            assert each.status != OURS

    def test_ours_beside_what_was_published_is_added_up_from_the_motions(self) -> None:
        """A drug out of a drawer, and six things out of three: within two deviations of theirs."""
        built = {each.key: each.ours_cs for each in PUBLISHED}

        one = cs("turn") + cs("drawer") + cs("look") + cs("pick")
        assert built["drug"] == one
        assert built["trolley"] == 3 * (one + cs("look") + cs("pick"))
        assert abs(built["drug"] - 519) < 2 * 334
        assert abs(built["trolley"] - 2270) < 2 * 366

    def test_the_manual_prints_both(self) -> None:
        """From the rows: ours as ours, and each study with its source and how it was read."""
        motions, published = PRINTED["motions"](), PRINTED["published times"]()

        assert motions.count("| ours |") == len(MOTIONS)
        assert all(each.source in published and each.found in published for each in PUBLISHED)
        assert published.count("*(confirmed)*") == 4
        assert "4.8 s" in published


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_thing_of_a_demonstration_rig_can_be_brought(name: str) -> None:
    """One of each by itself, from the cab or the patient."""
    rig = Rig(demo_layout(name))
    for line in rig.layout.stock[::7]:
        plan = quickest(rig.statement({line.item: 1}, begin=CAB))
        assert plan.is_carried
        assert plan.is_proved
