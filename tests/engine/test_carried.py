"""What a rig carries of medicines, syringes, drip sets, cylinders and fluids."""

from dataclasses import replace
from fractions import Fraction

import pytest

from drills.engine.carried import Aboard, NeedSaid, TakenFor, aboard
from drills.engine.layout import Layout, StockLine, item_key
from tests.layouts import practice_rig

NEEDS = [
    NeedSaid("epinephrine-vial", "Epinephrine 1 mg/mL", "1 mg / 1 mL", "epinephrine"),
    NeedSaid("epinephrine-syringe", "Epinephrine 0.1 mg/mL", "1 mg / 10 mL", "epinephrine"),
    NeedSaid("epinephrine-injector", "Epinephrine auto-injector", "adult", "epinephrine"),
    NeedSaid("midazolam", "Midazolam", "10 mg / 2 mL", "midazolam"),
    NeedSaid("saline-1000", "Normal saline", "1000 mL", "normal-saline", "Sodium chloride 0.9%"),
    NeedSaid("dextrose-10", "Dextrose 10%", "25 g / 250 mL", "dextrose"),
    NeedSaid("water", "Sterile water, 1,000 mL", "1000 mL"),
    NeedSaid("syringe-10", "Syringe, 10 mL", "10 mL"),
    NeedSaid("syringe-50", "Syringe, 50 mL", "50 mL"),
    NeedSaid("syringe", "Syringe, luer lock"),
    NeedSaid("naloxone", "Naloxone", "2 mg / 2 mL", "naloxone"),
    NeedSaid("naloxone-spray", "Naloxone nasal spray", "4 mg / 1 mL", "naloxone"),
    NeedSaid("flush", "Saline flush, 10 mL syringe", "10 mL"),
    NeedSaid("bulb", "Bulb syringe", "infant"),
    NeedSaid("drip-set-10", "IV set, 10 gtt/mL", "10 gtt/mL"),
    NeedSaid("own-drip", "Giving set 15 drops per mL"),
    NeedSaid("cylinder", "Portable oxygen cylinder", "D"),
]


def rig(*stock: StockLine) -> Layout:
    return replace(practice_rig(), stock=stock)


def carried(*stock: StockLine, **taken: TakenFor | str) -> Aboard:
    """Each line in turn taken for what stands at its place."""
    meant = [TakenFor(each) if isinstance(each, str) else each for each in taken.values()]
    keys = list(dict.fromkeys(line.key for line in stock))
    return aboard(rig(*stock), dict(zip(keys, meant, strict=True)), NEEDS)


def vial(name: str, presentation: str = "", par: int = 2, at: str = "I1A") -> StockLine:
    return StockLine(at, name, par, presentation=presentation)


def test_a_medicine_is_carried_with_strength_volume_par_and_places() -> None:
    """Par of all its places together, in the order of the workbook; a lock on any is told."""
    lines = (
        vial("Midazolam", "10 mg / 2 mL", 2, "I1B"),
        vial("Midazolam", "10 mg / 2 mL", 1, "BAG-M"),
    )

    (found,) = carried(*lines, one="midazolam").of_need("midazolam")

    assert found.packing is not None
    assert (found.packing.per_ml, found.packing.volume_ml) == (Fraction(5), Fraction(2))
    assert (found.item, found.name, found.count) == ("midazolam", "Midazolam", 3)
    assert found.places == ("I1B", "BAG-M")
    assert found.is_locked
    assert found.is_confirmed


def test_a_box_counts_as_what_it_holds() -> None:
    """Two boxes of ten are twenty vials."""
    boxes = vial("Midazolam box", "10 mg / 2 mL", 2)

    (found,) = carried(boxes, one=TakenFor("midazolam", holds=10)).of_need("midazolam")

    assert found.count == 20
    assert not found.is_locked


@pytest.mark.parametrize(
    ("presentation", "serves"),
    [
        ("1 mg / 1 mL", True),
        ("30 mg / 30 mL", True),
        ("1000 mcg / 1 mL", True),
        ("", True),
        ("1 mg / 10 mL", False),
        ("0.999 mg / 1 mL", False),
        ("1 mg powder", False),
        ("two boxes", False),
    ],
)
def test_a_tie_across_strengths_serves_no_dose(presentation: str, serves: bool) -> None:
    """The same strength in another volume does; unreadable is never taken for the need's own."""
    found = carried(vial("Adrenaline", presentation), one="epinephrine-vial")

    assert bool(found.of_need("epinephrine-vial")) is serves
    assert bool(found.of_medicine("epinephrine")) is serves
    assert bool(found.for_kits_alone("epinephrine")) is not serves
    assert found.of_need("epinephrine-syringe") == ()


def test_a_name_that_says_another_strength_serves_no_dose() -> None:
    """Where no presentation is written the name is believed before the need."""
    found = carried(vial("Adrenaline 1:10,000"), one="epinephrine-vial")

    assert found.of_medicine("epinephrine") == ()
    assert [each.item for each in found.for_kits_alone("epinephrine")] == ["adrenaline 1:10,000"]


def test_a_strength_of_its_own_serves_the_doses_of_that_strength() -> None:
    """Tied to no need, it is drawn from wherever its own strength is the one asked."""
    own = TakenFor(medicine="epinephrine")
    found = carried(vial("Big vial", "30 mg / 30 mL"), vial("Odd one", "2 mg / 1 mL"), a=own, b=own)

    assert [each.item for each in found.of_need("epinephrine-vial")] == ["big vial"]
    assert [each.item for each in found.of_medicine("epinephrine")] == ["big vial", "odd one"]


def test_nothing_is_drawn_up_from_an_auto_injector() -> None:
    """It is as strong as the vial, and serves its own need alone."""
    found = carried(vial("Auto", "0.3 mg / 0.3 mL"), one="epinephrine-injector")

    assert found.of_need("epinephrine-vial") == ()
    assert len(found.of_need("epinephrine-injector")) == 1


def test_what_is_merely_suggested_is_kept_apart() -> None:
    """Practice may use it, whatever is assessed may not."""
    found = carried(
        vial("Midazolam", "10 mg / 2 mL"), one=TakenFor("midazolam", is_confirmed=False)
    )

    assert [each.is_confirmed for each in found.of_need("midazolam")] == [False]
    assert found.confirmed.of_need("midazolam") == ()


def test_no_medicine_is_none() -> None:
    """Neither an unknown key nor an empty one finds what is no medicine."""
    found = carried(StockLine("S1", "Syringe", 4), one="syringe-10")

    assert (
        found.of_need("no-such-need") == found.of_need("syringe-10") == found.of_medicine("") == ()
    )


def test_syringes_are_told_by_size() -> None:
    """What the item says of itself is believed before its need; other syringes are none."""
    found = carried(
        StockLine("S1", "Syringe", 4),
        StockLine("S1", "3 cc syringe", 6),
        StockLine("S1", "Flush", 6),
        StockLine("S1", "Bulb", 1),
        a="syringe-10",
        b="syringe-10",
        c="flush",
        d="bulb",
    )

    assert [(int(each.size), each.carried.count) for each in found.syringes()] == [(3, 6), (10, 4)]


def test_drip_sets_are_told_by_drops() -> None:
    """Read from the item, else from the size of its need, else from the name of that."""
    found = carried(
        StockLine("S1", "Macro set", 4),
        StockLine("S1", "Micro set 60 gtt/mL", 2),
        StockLine("S1", "House set", 1),
        a="drip-set-10",
        b="drip-set-10",
        c="own-drip",
    )

    assert [(int(each.size), each.carried.name) for each in found.drip_sets()] == [
        (10, "Macro set"),
        (15, "House set"),
        (60, "Micro set 60 gtt/mL"),
    ]


@pytest.mark.parametrize(
    ("name", "letter"),
    [
        ("Oxygen, portable", "D"),
        ("O2 portable E", "E"),
        ("Portable oxygen cylinder, size D", "D"),
        ("E tank, O2", "E"),
        ("Oxygen bottle JD", "JD"),
        ("Oxygen IN USE bottle", "D"),
    ],
)
def test_a_cylinder_has_the_letter_it_says(name: str, letter: str) -> None:
    """The item's own letter before the one of its need."""
    (found,) = carried(StockLine("S1", name, 2), one="cylinder").cylinders()

    assert (found.letter, found.carried.count) == (letter, 2)


def test_fluids_are_bags_of_no_amount() -> None:
    """A bag in another volume is told by its own; sugar in water and water to rinse are none."""
    found = carried(
        vial("NS", "1000 mL bag", 4),
        vial("NS half", "500 mL bag", 1),
        vial("D10", "25 g / 250 mL"),
        vial("Water", "1000 mL bag"),
        vial("Sugar 10%", "250 mL bag"),
        vial("Salt 3%", "250 mL bag"),
        a="saline-1000",
        b="saline-1000",
        c="dextrose-10",
        d="water",
        e="dextrose-10",
        f="saline-1000",
    )

    assert [(int(each.size), each.carried.name) for each in found.fluids()] == [
        (500, "NS half"),
        (1000, "NS"),
    ]


def test_items_are_found_whatever_the_case_of_their_names() -> None:
    """The key of an item is its name without differences of case."""
    found = aboard(rig(vial("MIDAZOLAM")), {item_key("Midazolam"): TakenFor("midazolam")}, NEEDS)

    assert [each.count for each in found.of_need("midazolam")] == [2]


def test_a_syringe_whose_marks_nobody_knows_is_told_apart() -> None:
    """By a size that is in no table, or by none; a flush and a bulb are no empty syringes."""
    found = carried(
        *map(vial, ("Syringe 10 mL", "Syringe 50 mL", "Syringe, large", "Flush", "Bulb")),
        a="syringe-10",
        b="syringe-50",
        c="syringe",
        d="flush",
        e="bulb",
    )

    assert [each.name for each in found.syringes_without_marks()] == [
        "Syringe 50 mL",
        "Syringe, large",
    ]


def test_nothing_is_drawn_up_from_a_spray() -> None:
    """By its name or that of its need, whatever it holds; it serves the doses that it is for."""
    found = carried(
        vial("Naloxone", "2 mg / 2 mL"),
        vial("Naloxone, ready-made", "4 mg / 1 mL"),
        vial("Naloxone nasal spray 4 mg", "4 mg / 1 mL"),
        vial("Epinephrine", "1 mg / 1 mL"),
        vial("Epinephrine auto-injector"),
        a="naloxone",
        b="naloxone-spray",
        c=TakenFor(medicine="naloxone"),
        d="epinephrine-vial",
        e="epinephrine-injector",
    )

    assert [each.name for each in found.drawn_of("naloxone")] == ["Naloxone"]
    assert [each.name for each in found.drawn_of("epinephrine")] == ["Epinephrine"]
    assert len(found.of_medicine("naloxone")) == 3
