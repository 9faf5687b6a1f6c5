"""Where one's own way lost its time: each loss by itself, and together all of it."""

from dataclasses import replace
from decimal import Decimal

import pytest

from drills.engine.calls import MUST, USEFUL
from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine
from drills.engine.optimum.losses import (
    AGAIN,
    BAG,
    BESIDE,
    FARTHER,
    INSIDE_AGAIN,
    MISSING,
    OPEN,
    ORDER,
    OTHER,
    TRIPS,
    WHOLE,
    Loss,
)
from drills.engine.optimum.motions import cs
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted
from tests.engine.optimum_instances import seeded
from tests.engine.own_kits import kit_at_random, lost_on
from tests.layouts import demo_layout, practice_rig


def wanted(**counts: int) -> list[Wanted]:
    return [Wanted(name, MUST, many, things=(name,)) for name, many in counts.items()]


def locker(code: str, x: int, face: str = "street") -> Compartment:
    return Compartment(code, code, face=face, rect=Rect(x, 0, 3, 4), closure="door")


def layout_of(compartments: tuple[Compartment, ...], *stock: StockLine) -> Layout:
    door = Point("REAR", "door", "Rear doors", "rear", 12, 6, ("interior-street", "rear"))
    return Layout("Rig", "rig", compartments=compartments, stock=stock, points=(door,))


def told(
    layout: Layout,
    kit: Kit,
    needs: list[Wanted],
    *order: str,
    held: tuple[tuple[str, str], ...] = (),
) -> dict[str, Loss]:
    """The losses by kind."""
    return {each.kind: each for each in lost_on(layout, kit, needs, order, held).losses}


CURB = tuple(locker(code, 10 * n, "curb") for n, code in enumerate("ABC"))
THREE = (locker("A", 0), locker("B", 10), locker("C", 20))
SPLIT = StockLine("A", "mask", 1), StockLine("A", "vest", 1), StockLine("B", "cap", 1)


def test_the_quickest_way_loses_nothing() -> None:
    """Nor does the same from its other end."""
    kit = Kit({("A", "mask"): 1, ("B", "cap"): 1})

    assert told(layout_of(THREE, *SPLIT), kit, wanted(mask=1, cap=1), "A", "B") == {}
    assert told(layout_of(THREE, *SPLIT), kit, wanted(mask=1, cap=1), "B", "A") == {}


def test_of_two_sources_the_farther_costs_its_way() -> None:
    """It names what was taken there, and where it lies nearer."""
    layout = layout_of(CURB, StockLine("A", "mask", 1), StockLine("B", "mask", 1))

    found = told(layout, Kit({("A", "mask"): 1}), wanted(mask=1), "A")

    assert found.keys() == {FARTHER}
    loss = found[FARTHER]
    assert (loss.places, loss.things, loss.instead) == (("A",), ("mask",), ("B",))


def test_what_lies_where_one_was_anyway_costs_the_other_door() -> None:
    """The mask is behind the door that was opened for the vest."""
    layout = layout_of(THREE, *SPLIT, StockLine("B", "mask", 1))
    kit = Kit({("A", "mask"): 1, ("B", "cap"): 1})

    found = told(layout, kit, wanted(mask=1, cap=1), "A", "B")

    assert found.keys() == {OPEN}
    assert found[OPEN].instead == ("B",)
    assert found[OPEN].cs > cs("turn") + cs("door")


def test_a_bag_that_was_not_taken_whole_costs_its_pockets() -> None:
    """Told at the pocket that made it worth while, with all that comes in the bag."""
    bag = Compartment("BAG", "Bag", inside="A", closure="zip", carried="one-hand")
    pockets = [Compartment(f"P{n}", "Pocket", inside="BAG", closure="zip") for n in range(3)]
    stock = [StockLine(f"P{n}", f"thing{n}", 1) for n in range(3)]
    layout = layout_of((*THREE, bag, *pockets), *stock)
    kit = Kit({(f"P{n}", f"thing{n}"): 1 for n in range(3)})

    found = told(layout, kit, wanted(thing0=1, thing1=1, thing2=1), "P0", "P1", "P2")

    assert found.keys() == {BAG}
    assert found[BAG].instead == ("BAG",)
    assert sum(each.cs for each in found.values()) > 2 * cs("zip")


def test_a_bag_that_was_taken_whole_for_what_lies_beside_it() -> None:
    """One thing out of a locker takes less than the bag far off."""
    bag = Compartment("BAG", "Bag", inside="A", closure="zip", carried="one-hand")
    layout = layout_of((*CURB, bag), StockLine("BAG", "mask", 1), StockLine("B", "mask", 1))

    found = told(layout, Kit(bags=frozenset({"BAG"})), wanted(mask=1), "BAG")

    assert found.keys() == {WHOLE}
    assert (found[WHOLE].places, found[WHOLE].instead) == (("BAG",), ("B",))


def test_a_bag_for_nothing_is_told_as_what_it_is() -> None:
    """With all that lies in it."""
    bag = Compartment("BAG", "Bag", inside="A", closure="zip", carried="one-hand")
    layout = layout_of((*THREE, bag), StockLine("BAG", "vest", 1), StockLine("B", "mask", 1))
    kit = Kit({("B", "mask"): 1}, frozenset({"BAG"}))

    found = told(layout, kit, wanted(mask=1), "BAG", "B")

    assert found.keys() == {BESIDE}
    assert (found[BESIDE].places, found[BESIDE].things) == (("BAG",), ("vest",))


def test_what_is_no_must_have_is_told_apart() -> None:
    """Useful or not, and one more than was asked as well."""
    layout = layout_of(THREE, StockLine("A", "mask", 1), StockLine("B", "cap", 3))
    needs = [*wanted(mask=1, cap=1), Wanted("vest", USEFUL, 1, things=("cap",))]
    kit = Kit({("A", "mask"): 1, ("B", "cap"): 3})

    found = told(layout, kit, needs, "A", "B")

    assert found.keys() == {BESIDE}
    assert (found[BESIDE].things, found[BESIDE].cs) == (("cap",), 2 * cs("pick"))


def test_a_second_walk_back_is_told_where_it_went() -> None:
    """To the same stop, for what could have been taken the first time."""
    shelf = Compartment("A2", "Shelf", inside="A")
    layout = layout_of((*THREE, shelf), *SPLIT[:1], SPLIT[2], StockLine("A2", "vest", 1))
    kit = Kit({("A", "mask"): 1, ("B", "cap"): 1, ("A2", "vest"): 1})

    found = told(layout, kit, wanted(mask=1, cap=1, vest=1), "A", "B", "A2")

    assert found.keys() == {AGAIN}
    assert found[AGAIN].places == ("A2",)


def test_in_and_out_again_is_told() -> None:
    """Two cabinets inside with a locker outside between them."""
    inside = tuple(locker(f"W{n}", 3 + 8 * n, "interior-street") for n in range(2))
    layout = layout_of(
        (*THREE, *inside), *SPLIT[:1], *(StockLine(f"W{n}", f"in{n}", 1) for n in (0, 1))
    )
    kit = Kit({("W0", "in0"): 1, ("A", "mask"): 1, ("W1", "in1"): 1})

    found = told(layout, kit, wanted(mask=1, in0=1, in1=1), "W0", "A", "W1")

    assert INSIDE_AGAIN in found
    assert found[INSIDE_AGAIN].places == ("W1",)


def test_a_wrong_order_names_the_better_one() -> None:
    """From the end that came first."""
    curb = locker("D", 10, "curb")
    layout = layout_of(
        (*THREE, curb), *SPLIT[:1], StockLine("C", "cap", 1), StockLine("D", "vest", 1)
    )
    kit = Kit({("A", "mask"): 1, ("D", "vest"): 1, ("C", "cap"): 1})

    found = told(layout, kit, wanted(mask=1, vest=1, cap=1), "A", "D", "C")

    assert found.keys() == {ORDER}
    assert sorted(found[ORDER].instead) == ["A", "C", "D"]
    assert found[ORDER].instead != ("A", "D", "C")


def test_what_was_not_brought_is_a_gain_and_said_so() -> None:
    """It is quicker to bring less."""
    found = told(layout_of(THREE, *SPLIT), Kit({("B", "cap"): 1}), wanted(mask=1, cap=1), "B")

    assert found.keys() == {MISSING}
    assert found[MISSING].cs < 0


def test_another_thing_that_serves_is_told_when_it_is_quicker() -> None:
    """The mask far off, and the cap near, which does as well."""
    layout = layout_of(CURB, StockLine("A", "mask", 1), StockLine("B", "cap", 1))
    needs = [Wanted("cover", MUST, 1, things=("mask",), instead=("cap",))]

    found = told(layout, Kit({("A", "mask"): 1}), needs, "A")

    assert found.keys() == {OTHER}
    assert found[OTHER].instead == ("B",)


def test_five_hands_full_are_more_trips_than_there_should_be() -> None:
    """Without a limit of hands nothing else was lost."""
    layout = layout_of(THREE, StockLine("B", "cylinder", 5, weight_kg=Decimal(6)))

    found = told(layout, Kit({("B", "cylinder"): 5}), wanted(cylinder=1), "B")

    assert TRIPS in found
    assert found[TRIPS].instead == ()


def test_what_is_reported_missing_is_no_nearer_source() -> None:
    """Nobody could have taken it there."""
    layout = layout_of(CURB, StockLine("A", "mask", 1), StockLine("B", "mask", 1))
    kit = Kit({("A", "mask"): 1})

    assert told(layout, kit, wanted(mask=1), "A", held=(("mask", "B"),)) == {}


@pytest.mark.parametrize("seed", range(60))
def test_losses_are_no_gains_and_add_up(seed: int) -> None:
    """On rigs of the demonstration and a small one: of a whole kit nothing is less than none."""
    random = seeded(seed)
    layout = random.choice(
        [practice_rig(), demo_layout("first-response-truck"), demo_layout("mesa-box")]
    )

    lost = lost_on(layout, *kit_at_random(random, layout))

    assert all(each.cs > 0 for each in lost.losses if each.kind not in (MISSING, TRIPS))
    assert all(each.kind != MISSING for each in lost.losses)
    assert lost.cs >= 0


def test_a_bag_that_was_opened_is_told_from_the_bag_taken_whole() -> None:
    """Though both have one code: what lies in the bag itself, beside a pocket."""
    bag = Compartment("BAG", "Bag", inside="A", closure="zip", carried="one-hand")
    pocket = Compartment("P", "Pocket", inside="BAG", closure="zip")
    layout = layout_of((*THREE, bag, pocket), StockLine("BAG", "vest", 1), StockLine("P", "cap", 1))

    found = told(layout, Kit({("BAG", "vest"): 1}), wanted(vest=1), "BAG")

    assert found.keys() == {BAG}
    assert (found[BAG].places, found[BAG].things, found[BAG].instead) == (
        ("BAG",),
        ("vest",),
        ("BAG",),
    )


def test_what_no_hands_carry_is_told_as_trips_alone() -> None:
    """Five cylinders asked for and brought from the far end, where the near one has them too."""
    far = StockLine("A", "cylinder", 3, weight_kg=Decimal(6))
    layout = layout_of(CURB, far, replace(far, compartment="B", par=4))
    kit = Kit({("A", "cylinder"): 3, ("B", "cylinder"): 2})

    found = told(layout, kit, wanted(cylinder=3), "A", "B")

    assert OTHER not in found
    assert found[TRIPS].cs > 0
