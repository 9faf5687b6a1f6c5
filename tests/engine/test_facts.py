"""What there is to know: the chain of places is cut at whatever is carried."""

from dataclasses import replace

from hypothesis import given

from drills.engine.facts import BAG, ITEM, Fact, door_of, facts_of, steps
from drills.engine.layout import Compartment, Layout, StockLine
from tests.layouts import demo_layout, practice_rig
from tests.strategies import layouts


def test_an_item_in_no_bag_is_one_fact() -> None:
    """However deep it lies, an item in no bag has one fact, at the place that holds it."""
    rig = practice_rig()

    assert steps(rig, "gauze roll", "I1A") == (Fact(ITEM, "gauze roll", "I1A"),)


def test_an_item_in_a_bag_takes_the_bag_and_the_item() -> None:
    """Finding it takes where the bag is, and where in the bag the item is."""
    rig = practice_rig()

    assert steps(rig, "suction tip", "BAG-L") == (
        Fact(BAG, "BAG", "S1A"),
        Fact(ITEM, "suction tip", "BAG-L"),
    )


def test_a_bag_in_a_bag_is_a_fact_of_its_own() -> None:
    """Each carried thing on the way cuts the chain once more."""
    rig = practice_rig()
    pouch = Compartment("POUCH", "Pouch", inside="BAG-M", carried="one-hand")
    nested = replace(rig, compartments=(*rig.compartments, pouch))

    assert steps(nested, "needle", "POUCH") == (
        Fact(BAG, "BAG", "S1A"),
        Fact(BAG, "POUCH", "BAG-M"),
        Fact(ITEM, "needle", "POUCH"),
    )


def test_a_bag_that_stands_alone_is_its_own_place() -> None:
    """What is carried and lies in nothing stands where it stands: that is one thing to know."""
    cot = Compartment("F1", "Cot", face="floor", carried="wheeled")
    rig = Layout("Cot", "cot", compartments=(cot,), stock=(StockLine("F1", "Cot straps", 1),))

    assert steps(rig, "cot straps", "F1") == (
        Fact(BAG, "F1", "F1"),
        Fact(ITEM, "cot straps", "F1"),
    )


def test_things_in_one_bag_share_the_fact_of_the_bag() -> None:
    """Four things in the bag are four facts and one more."""
    rig = practice_rig()

    found = facts_of(rig, ["oral airway set", "suction tip", "trauma dressing"])

    assert [str(fact) for fact in found] == [
        "bag:BAG@S1A",
        "item:oral airway set@BAG-L",
        "item:suction tip@BAG-L",
        "item:trauma dressing@BAG-M",
    ]


def test_doubles_have_a_fact_for_each_place() -> None:
    """A thing in two places is two facts, besides the bag that one of them lies in."""
    found = facts_of(practice_rig(), ["tourniquet"])

    assert {(fact.kind, fact.place) for fact in found} == {
        (BAG, "S1A"),
        (ITEM, "BAG-M"),
        (ITEM, "I1A"),
    }


def test_an_outlet_is_a_fact_like_a_thing() -> None:
    """Where the oxygen outlet is can be known, and so can be asked."""
    assert facts_of(practice_rig(), ["oxygen outlet"]) == (Fact(ITEM, "oxygen outlet", "P1"),)


def test_facts_are_keyed_by_place_and_not_by_code() -> None:
    """A label that changes makes nothing to learn anew."""
    rig = practice_rig()
    renamed = replace(
        rig,
        compartments=tuple(
            replace(each, code="Z9", place="P1") if each.code == "P1" else each
            for each in rig.compartments
        ),
        points=tuple(replace(each, serves=("Z9",)) for each in rig.points if each.code == "O2"),
    )

    assert facts_of(renamed, ["oxygen outlet"]) == facts_of(rig, ["oxygen outlet"])


def test_a_bag_that_moves_changes_one_fact() -> None:
    """All of the paediatric bag moves with it, and only where the bag hangs is new to learn.

    The other new facts of that revision are the blanket and the dressings that made room and the
    resuscitation mask set that joined the bag. Source: the notes of the demonstration, ours.
    """
    before, now = demo_layout("mesa-box"), demo_layout("mesa-box-rev2")
    was, became = set(facts_of(before)), set(facts_of(now))

    assert {str(fact) for fact in became - was} == {
        "bag:mesa-ped@mesa-w5",
        "item:blanket, wool@mesa-w8",
        "item:multi-trauma dressing, 10 x 30 in@mesa-w6",
        "item:resuscitation mask set, neonate to child@mesa-ped-a",
    }
    assert {fact for fact in was - became if fact.kind == BAG} == {
        Fact(BAG, "mesa-ped", "mesa-c1c")
    }


def test_a_fact_lies_behind_its_door() -> None:
    """A fact inside a bag lies behind the door behind which the bag hangs."""
    rig = practice_rig()

    doors = [door_of(rig, fact) for fact in facts_of(rig, ["suction tip", "midazolam"])]

    assert doors == ["S1", "S1", "I1"]


@given(layouts())
def test_every_way_to_a_thing_ends_in_its_place(rig: Layout) -> None:
    """There is one item fact for each place of a thing, after one fact for each bag on the way."""
    for thing in rig.things.values():
        for code in thing.places:
            *bags, item = steps(rig, thing.key, code)

            assert item == Fact(ITEM, thing.key, rig.by_code[code].key)
            assert [bag.thing for bag in bags] == [
                each.key for each in rig.chain(code) if each.is_bag
            ]


@given(layouts())
def test_each_fact_is_listed_once(rig: Layout) -> None:
    """No fact is counted twice, however many things and doubles share it."""
    found = facts_of(rig)

    assert len(found) == len(set(found))
