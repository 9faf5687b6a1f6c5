"""The kit of a call asked of a rig, beside every mix of things tried one by one."""

from dataclasses import replace
from decimal import Decimal
from itertools import product
from math import ceil
from random import Random

import pytest

from drills.engine.calls import MUST, USEFUL
from drills.engine.layout import Compartment, Layout, Rect, StockLine
from drills.engine.optimum import Rig, StatementError, quickest
from drills.engine.optimum.kit import own_way, quickest_kit
from drills.engine.optimum.motions import cs
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted, share
from tests.engine.optimum_instances import seeded
from tests.layouts import practice_rig

PLACES = ("A", "B", "C")
TOURNIQUET = Wanted("tourniquet", MUST, 1, things=("tourniquet",))


def three_lockers(*stock: StockLine) -> Layout:
    """Lockers along the street, the first the nearest to the cab."""
    lockers = [
        Compartment(code, code, face="street", rect=Rect(at * 9, 0, 4, 4), closure="door")
        for at, code in enumerate(PLACES)
    ]
    return Layout(name="Rig", slug="rig", compartments=tuple(lockers), stock=stock)


def at_random(random: Random) -> tuple[Layout, list[Wanted]]:
    """Four things here and there, one of them heavy and one a pack, for two needs and a third."""
    stock = tuple(
        StockLine(place, f"thing {n}", random.randint(1, 2), weight_kg=Decimal(6 if n == 3 else 1))
        for n in range(4)
        for place in random.sample(PLACES, random.randint(1, 2))
    )
    things = [f"thing {n}" for n in range(4)]
    needs = [
        Wanted(
            f"need {number}",
            MUST,
            random.randint(1, 3),
            things=(things[number],),
            instead=tuple(random.sample(things[2:] if number < 2 else things[:2], 1)),
            holds={things[2]: 2},
        )
        for number in range(3)
    ]
    return three_lockers(*stock), needs


def by_every_mix(layout: Layout, needs: list[Wanted]) -> int | None:
    """The least time of all kits of things that serve, none of them left out."""
    rig, found = Rig(layout), []
    pars = {
        thing.key: sum(line.par for line in layout.stock if line.key == thing.key)
        for thing in layout.things.values()
    }
    for counts in product(*(range(par + 1) for par in pars.values())):
        kit = dict(zip(pars, counts, strict=True))
        counted = {thing: n * (2 if thing == "thing 2" else 1) for thing, n in kit.items()}
        got = share(needs, counted)
        if all(has.total() >= need.quantity for has, need in zip(got, needs, strict=True)):
            asked = {thing: n for thing, n in kit.items() if n}
            plan = quickest(rig.statement(asked))
            found += [plan.cs] if plan.is_carried else []
    return min(found, default=None)


@pytest.mark.parametrize("seed", range(40))
def test_no_mix_of_things_takes_less(seed: int) -> None:
    """Things shared by needs, packs and heavy ones among light, against all kits there are."""
    layout, needs = at_random(seeded(seed))
    least = by_every_mix(layout, needs)
    if least is None:
        return

    found = quickest_kit(Rig(layout), needs)

    assert found is not None
    assert found.is_proved
    assert found.cs == least
    assert sum(leg.cs for leg in found.legs) == found.cs


def test_some_of_the_kits_at_random_can_be_brought() -> None:
    """Else nothing was compared."""
    made = [at_random(seeded(seed)) for seed in range(40)]

    assert sum(by_every_mix(*each) is not None for each in made) > 15


def test_what_lies_of_several_things_is_added_up() -> None:
    """Two masks of one make and one of another, all in the second locker: it alone is opened."""
    layout = three_lockers(
        StockLine("A", "mask, plain", 3), StockLine("B", "mask, plain", 2), StockLine("B", "cap", 1)
    )
    masks = Wanted("mask", MUST, 3, things=("mask, plain",), instead=("cap",))
    both = [masks, Wanted("x", MUST, 1, things=("y",))]
    layout = replace(layout, stock=(*layout.stock, StockLine("B", "y", 1)))

    found = quickest_kit(Rig(layout), both)

    assert found is not None
    assert [leg.code for leg in found.legs] == ["B", ""]


def test_packs_are_taken_whole() -> None:
    """Ten in packs of four are three picks."""
    layout = three_lockers(StockLine("A", "pads, four", 3))
    pads = Wanted("pads", MUST, 10, things=("pads, four",), holds={"pads, four": 4})

    found = quickest_kit(Rig(layout), [pads])

    assert found is not None
    assert found.legs[0].take_cs == 3 * cs("pick")


def test_of_very_many_mixes_the_first_are_tried_and_it_is_said_by_how_much() -> None:
    """Twelve pads, single, in pairs and in threes: four picks of threes are never come to. What no
    plan is quicker than is not above that."""
    layout = three_lockers(
        StockLine("A", "single", 12), StockLine("B", "pair", 6), StockLine("C", "three", 4)
    )
    sizes = {"pair": 2, "three": 3}
    pads = Wanted("pads", MUST, 12, things=("single", "pair", "three"), holds=sizes)
    rig = Rig(layout)
    in_threes = quickest(rig.statement({"three": 4}))

    found = quickest_kit(rig, [pads])

    assert found is not None
    assert found.bound_cs <= in_threes.cs < found.cs
    assert not found.is_proved
    assert found.most_above == ceil(100 * (found.cs / found.bound_cs - 1))


def test_few_mixes_are_all_tried() -> None:
    """Four pads of the same: then the plan is proved, and nothing above it."""
    layout = three_lockers(StockLine("A", "single", 4), StockLine("C", "three", 2))
    pads = Wanted("pads", MUST, 4, things=("single", "three"), holds={"three": 3})

    found = quickest_kit(Rig(layout), [pads])

    assert found is not None
    assert (found.is_proved, found.most_above) == (True, 0)


def test_what_is_reported_missing_is_not_there() -> None:
    """From the bag, where the drawer's is missing; with neither it is said."""
    rig = Rig(practice_rig())
    places = [
        {leg.code for leg in found.legs}
        for held in ([], [("tourniquet", "I1A")], [("tourniquet", "BAG-M")])
        if (found := quickest_kit(rig, [TOURNIQUET], held=held))
    ]

    assert places[1] == {"BAG", ""}
    assert places[2] == {"I1A", ""}
    assert places[0] in places[1:]
    with pytest.raises(StatementError, match="tourniquet: 1 are asked for, and 0 are aboard"):
        quickest_kit(rig, [TOURNIQUET], held=[("tourniquet", "")])


def test_useful_things_and_what_is_wholly_short_are_left_out() -> None:
    """A kit without must-haves has no quickest way."""
    rig = Rig(practice_rig())
    short = replace(TOURNIQUET, quantity=0, short=1)

    assert quickest_kit(rig, [replace(TOURNIQUET, grade=USEFUL), short]) is None


class TestOwn:
    def legs(self, kit: Kit, *order: str) -> list[str] | None:
        found = own_way(Rig(practice_rig()), kit, order)
        return [leg.code for leg in found.legs] if found else None

    def test_the_order_is_that_of_the_person(self) -> None:
        """Whatever the order of the kit; a place that nothing was left of is passed over."""
        kit = Kit({("I1A", "gauze roll"): 2, ("S1A", "splint"): 1})

        assert self.legs(kit, "S1A", "S1", "I1A") == ["S1A", "I1A", ""]
        assert self.legs(kit, "I1A", "S1A") == ["I1A", "S1A", ""]

    def test_without_the_whole_order_there_is_none(self) -> None:
        """Nothing is made up."""
        kit = Kit({("I1A", "gauze roll"): 2, ("S1A", "splint"): 1})

        assert self.legs(kit, "S1A") is None
        assert self.legs(kit) is None
        assert self.legs(Kit()) is None

    def test_what_lies_in_a_bag_that_comes_whole_comes_with_it(self) -> None:
        """Its pockets are not opened."""
        kit = Kit({("BAG-M", "tourniquet"): 1}, frozenset({"BAG"}))

        assert self.legs(kit, "BAG-M", "BAG") == ["BAG", ""]
        assert self.legs(kit, "BAG-M") is None

    def test_each_heavy_thing_takes_a_hand(self) -> None:
        """Three of them out of one place are two trips."""
        layout = three_lockers(StockLine("A", "cylinder", 3, weight_kg=Decimal(6)))
        found = own_way(Rig(layout), Kit({("A", "cylinder"): 3}), ["A"])

        assert found is not None
        assert [leg.code for leg in found.legs].count("") == 2


class TestTwo:
    @pytest.mark.parametrize("seed", range(30))
    def test_the_later_of_two_ways_is_the_plan_and_never_later_than_one(self, seed: int) -> None:
        """Each walked by itself, on the kits at random; together they bring what one brings."""
        layout, needs = at_random(seeded(seed))
        if by_every_mix(layout, needs) is None:
            return
        rig = Rig(layout)
        one, two = quickest_kit(rig, needs), quickest_kit(rig, needs, people=2)
        assert one is not None
        assert two is not None

        assert max(sum(leg.cs for leg in way) for way in two.ways) == two.cs <= one.cs
        assert two.cs * 2 >= one.cs
        assert len(one.ways) == 1

    def test_what_lies_at_two_ends_is_split(self) -> None:
        """One goes to the first locker, one to the last."""
        layout = three_lockers(StockLine("A", "mask", 1), StockLine("C", "vest", 1))
        needs = [Wanted(name, MUST, 1, things=(name,)) for name in ("mask", "vest")]

        found = quickest_kit(Rig(layout), needs, people=2)

        assert found is not None
        assert sorted(way[0].code for way in found.ways) == ["A", "C"]

    def test_who_has_nothing_to_do_has_no_way(self) -> None:
        """One thing is brought by one."""
        layout = three_lockers(StockLine("A", "mask", 1))

        found = quickest_kit(Rig(layout), [Wanted("m", MUST, 1, things=("mask",))], people=2)

        assert found is not None
        assert len(found.ways) == 1
