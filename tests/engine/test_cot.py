"""The cot: what lies on it takes no hands, it comes out by the rear, and it may be left behind."""

from dataclasses import replace
from decimal import Decimal

import pytest

from drills.engine.calls import MUST
from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine
from drills.engine.optimum import Plan, Rig, quickest
from drills.engine.optimum.kit import own_way, quickest_kit
from drills.engine.optimum.losses import BESIDE, COT, TRIPS
from drills.engine.optimum.motions import cs
from drills.engine.optimum.statement import Bag, Statement, StatementError, Way
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted
from tests.engine.optimum_instances import rig, seeded
from tests.engine.optimum_referee import referee
from tests.engine.own_kits import lost_on
from tests.engine.test_optimum import EXAMPLE, one_hand
from tests.layouts import demo_layout

LOCKERS = tuple(
    Compartment(code, code, face="curb", rect=Rect(9 * at, 0, 4, 4), closure="door")
    for at, code in enumerate("AB")
)
COT_PLACE = Compartment("F1", "Cot", face="floor", rect=Rect(6, 3, 13, 4), carried="wheeled")
CASE = replace(COT_PLACE, code="F2", name="Chair case", closure="zip")
ROOM = ("floor", "interior-street", "rear")
REAR = Point("REAR", "door", "Rear doors", "rear", 12, 6, ROOM)
ON_IT = StockLine("F1", "wheeled cot", 1, weight_kg=Decimal(62))
FIVE = StockLine("A", "cylinder", 5, weight_kg=Decimal(6))


def layout_of(*places: Compartment, stock: tuple[StockLine, ...] = (FIVE, ON_IT)) -> Layout:
    return Layout("Rig", "rig", compartments=(*LOCKERS, *places), stock=stock, points=(REAR,))


def needs_of(thing: str, many: int, *wrong: str) -> list[Wanted]:
    return [Wanted(thing, MUST, many, things=(thing,), wrong=wrong)]


def brought(statement: Statement, plan: Plan) -> set[str]:
    """The bags of a plan."""
    visits = [visit for route in plan.routes for visit in route.visits]
    return {statement.bags[number].code for visit in visits for number in visit.bags}


def with_cot(lift_cs: int) -> Statement:
    """The worked example with one hand, and a cot in the open at the first stop."""
    asked = one_hand(EXAMPLE)
    cot = Bag("cot", lift_cs, (Way(0),), carries=True)
    return replace(asked, bags=(*asked.bags, cot))


class TestPlan:
    @pytest.mark.parametrize(("lift_cs", "least", "walks"), [(200, 3550, 1), (700, 3950, 2)])
    def test_the_worked_example_with_a_cot(self, lift_cs: int, least: int, walks: int) -> None:
        """By hand: all at once is 33.5 s and the cot; two walks with one hand are 39.5 s."""
        plan = quickest(with_cot(lift_cs))

        assert (plan.cs, len(plan.routes), plan.is_proved) == (least, walks, True)

    @pytest.mark.parametrize("seed", range(8))
    @pytest.mark.parametrize("people", [1, 2])
    def test_a_constraint_solver_agrees_on_whole_rigs(self, seed: int, people: int) -> None:
        """With a cot behind the rig, and more that is heavy than hands carry at once."""
        statement = heavy_rig(seed)
        plan = quickest(statement, people)
        trips = 2 if people == 1 else 1

        found = referee(statement, people=people, trips=trips, seconds=4)

        assert plan.is_carried
        assert found.bound <= plan.cs
        assert found.cs is None or (plan.cs == found.cs if found.is_proved else plan.cs <= found.cs)

    def test_the_whole_rigs_ask_for_the_cot(self) -> None:
        """Some bring it, some do without: else nothing was compared."""
        made = [heavy_rig(seed) for seed in range(8)]
        with_it = ["cot" in brought(each, quickest(each)) for each in made]

        assert 0 < sum(with_it) < len(made)

    @pytest.mark.parametrize("seed", range(15))
    def test_a_cot_is_never_slower_and_no_limit_never_slower_than_it(self, seed: int) -> None:
        """It may be left where it is."""
        statement = heavy_rig(seed)
        bags = tuple(replace(each, carries=False) for each in statement.bags)
        for people in (1, 2):
            by_hand = quickest(replace(statement, bags=bags), people)
            rolled = quickest(statement, people)
            assert quickest(replace(statement, hands=None), people).cs <= rolled.cs
            assert rolled.cs <= by_hand.cs or not by_hand.is_carried


def heavy_rig(seed: int) -> Statement:
    """A rig at random with a cot, and with heavy things for more hands than a person has."""
    return rig(seeded(seed), most=16, has_cot=True)


class TestRig:
    def test_it_comes_out_by_the_rear_and_carries_five(self) -> None:
        """Lift, rear door and all, in one walk where hands would need three."""
        asked = Rig(layout_of(COT_PLACE)).statement({"cylinder": 5})
        plan = quickest(asked)
        (cot,) = asked.bags
        (way,) = cot.ways

        assert Rig(layout_of(COT_PLACE)).ground.standing[way.stop].name.startswith("rear")
        assert [asked.openings[each].code for each in way.openings] == ["door to the rear"]
        assert (cot.cs, cot.carries) == (cs("cot"), True)
        assert plan.is_carried
        assert len(plan.routes) == 1
        assert brought(asked, plan) == {"F1"}

    def test_two_go_in_two_hands(self) -> None:
        """The cot stays where it is."""
        asked = Rig(layout_of(COT_PLACE)).statement({"cylinder": 2})

        assert brought(asked, quickest(asked)) == set()

    def test_a_case_on_wheels_carries_nothing(self) -> None:
        """One cannot lay five cylinders on it."""
        asked = Rig(layout_of(CASE, stock=(FIVE,))).statement({"cylinder": 5})

        assert not quickest(asked).is_carried

    def test_nobody_takes_the_cot_in_two_hands(self) -> None:
        """What is heavy on it comes with it, and with nothing else."""
        asked = Rig(layout_of(COT_PLACE)).statement({"wheeled cot": 1})
        plan = quickest(asked)

        assert brought(asked, plan) == {"F1"}
        assert asked.sources == ()
        assert plan.cs >= cs("cot") + cs("door")

    def test_more_cots_than_there_are_is_refused(self) -> None:
        """It counts as aboard once."""
        with pytest.raises(StatementError, match="wheeled cot: 2 are asked for, and 1 are aboard"):
            Rig(layout_of(COT_PLACE)).statement({"wheeled cot": 2})

    @pytest.mark.parametrize("name", ["mesa-box", "arroyo-van"])
    def test_the_demonstration_rigs_have_one(self, name: str) -> None:
        """And the chair in its case is none."""
        assert len(Rig(demo_layout(name)).cots) == 1


class TestCall:
    def test_where_its_wheels_stop_it_carries_nothing(self) -> None:
        """A call that says so: by the quickest way and by one's own."""
        rolling = Rig(layout_of(COT_PLACE))
        sand = needs_of("cylinder", 3, "wheeled cot")
        kit = Kit({("A", "cylinder"): 3}, frozenset({"F1"}))

        free, stuck = (quickest_kit(rolling, needs_of("cylinder", 3)), quickest_kit(rolling, sand))
        own = own_way(rolling, kit, ["F1", "A"], sand)

        assert free is not None
        assert stuck is not None
        assert own is not None
        assert len(stuck.plan.routes) == 2
        assert stuck.cs >= free.cs
        assert [leg.code for leg in own.legs].count("") == 2

    @pytest.mark.parametrize("order", [["F1", "A"], ["A", "F1"]])
    def test_who_brings_it_goes_once(self, order: list[str]) -> None:
        """What was taken before lies ready for it."""
        kit = Kit({("A", "cylinder"): 5}, frozenset({"F1"}))

        own = own_way(Rig(layout_of(COT_PLACE)), kit, order)

        assert own is not None
        assert [leg.code for leg in own.legs].count("") == 1

    def test_who_takes_it_by_its_name_brings_it_whole(self) -> None:
        """As the line of the thing itself."""
        kit = Kit({("A", "cylinder"): 5, ("F1", "wheeled cot"): 1})

        own = own_way(Rig(layout_of(COT_PLACE)), kit, ["F1", "A"])

        assert own is not None
        assert next((leg.code, leg.is_whole) for leg in own.legs) == ("F1", True)


class TestLost:
    def test_who_left_it_behind_is_told(self) -> None:
        """Five in three walks by hand."""
        kit = Kit({("A", "cylinder"): 5})

        lost = lost_on(layout_of(COT_PLACE), kit, needs_of("cylinder", 5), ["A"])

        assert [(each.kind, each.instead) for each in lost.losses] == [(COT, ("F1",))]

    def test_who_brought_it_for_nothing_is_told(self) -> None:
        """With an empty cot as well as with what lies on it."""
        kit = Kit({("A", "cylinder"): 1}, frozenset({"F1"}))
        for stock in ((FIVE,), (FIVE, ON_IT)):
            layout = layout_of(COT_PLACE, stock=stock)
            lost = lost_on(layout, kit, needs_of("cylinder", 1), ["A", "F1"])
            (loss,) = lost.losses
            assert (loss.kind, loss.places) == (BESIDE, ("F1",))
            assert loss.cs > cs("cot")

    def test_who_needed_it_lost_nothing(self) -> None:
        """Though no must-have lies on it."""
        kit = Kit({("A", "cylinder"): 5}, frozenset({"F1"}))

        assert lost_on(layout_of(COT_PLACE), kit, needs_of("cylinder", 5), ["A", "F1"]).cs == 0

    def test_where_it_does_not_roll_too_many_walks_are_told_as_that(self) -> None:
        """No cot would have helped."""
        kit = Kit({("A", "cylinder"): 5})
        sand = needs_of("cylinder", 5, "wheeled cot")

        lost = lost_on(layout_of(COT_PLACE), kit, sand, ["A"])

        assert [each.kind for each in lost.losses] == [TRIPS]
