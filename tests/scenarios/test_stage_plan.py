"""The door of the quickest plan: JSON in, JSON out, and enough to work it out again outside."""

from collections import Counter
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from drills.demo.factories import published
from drills.engine.layout import WHEELED, Compartment, Layout, Rect, StockLine
from drills.engine.optimum import SIDES
from drills.engine.optimum.door import MOST_THINGS, told_plan
from drills.engine.optimum.statement import (
    Bag,
    Need,
    Opening,
    Place,
    Source,
    Statement,
    StatementError,
    Way,
)
from drills.engine.staying import BUILT_IN
from drills.rigs import models
from tests.engine.optimum_referee import referee
from tests.layouts import demo_layout

pytestmark = pytest.mark.django_db

MAIN = "kit, Main oxygen cylinder, size M"
KIT = {"Rescue helmet": 1, "Tourniquet": 2, "Nasal cannula, adult": 1}


@pytest.fixture(autouse=True)
def layout(db: None) -> None:
    published(demo_layout("mesa-box"))


def asked(**fields: Any) -> dict[str, Any]:
    kit = {line.item: 1 for line in demo_layout("mesa-box").stock[10:60:7]}
    return {"layout": "mesa-box", "kit": kit, **fields}


def restated(explained: dict[str, Any]) -> Statement:
    """The question made anew from what was printed, and from nothing else."""
    codes = list(explained["openings"])
    items = [each["item"] for each in explained["needs"]]
    bags = [each["code"] for each in explained["bags"]]

    def opened(each: dict[str, Any]) -> tuple[int, ...]:
        return tuple(codes.index(code) for code in each["open"])

    return Statement(
        needs=tuple(
            Need(e["item"], e["quantity"], e["pick"], e["hands"]) for e in explained["needs"]
        ),
        openings=tuple(Opening(code, cs) for code, cs in explained["openings"].items()),
        sources=tuple(
            Source(
                Place(e["place"]),
                e["stop"],
                opened(e),
                {items.index(item): n for item, n in e["stock"].items()},
                frozenset(map(bags.index, e["in_bags"])),
            )
            for e in explained["sources"]
        ),
        bags=tuple(
            Bag(
                e["code"],
                e["lift"],
                tuple(Way(way["stop"], opened(way)) for way in e["ways"]),
                e["hands"],
                frozenset(map(bags.index, e["in_bags"])),
                e["carries"],
                {items.index(item): n for item, n in e["holds"].items()},
            )
            for e in explained["bags"]
        ),
        walk_cs=tuple(map(tuple, explained["walk"])),
        hands=explained["hands"],
    )


def test_what_is_explained_is_enough_to_work_the_plan_out_again(door: Any) -> None:
    """By the constraint solver, from the printed JSON alone, to the hundredth of a second."""
    code, told = door("stage_plan", asked(hands=None), "--explain")

    found = referee(restated(told["explained"]), seconds=30)

    assert code == 0
    assert found.is_proved
    assert (told["seconds"], told["proved"]) == ((found.cs or 0) / 100, True)


@pytest.mark.parametrize("people", [1, 2])
def test_each_route_adds_up_by_the_rules_that_are_printed(door: Any, people: int) -> None:
    """Walks, openings, lifts and picks, from the JSON alone; a bag is worth all its content."""
    for first in range(10):
        kit = {line.item: 1 for line in demo_layout("mesa-box").stock[10 + first : 220 : 43]}
        _, told = door("stage_plan", asked(kit=kit, people=people, hands=None), "--explain")
        shown = told["explained"]
        bags = {each["code"]: each for each in shown["bags"]}
        picks = {each["item"]: each["pick"] for each in shown["needs"]}
        brought: Counter[str] = Counter()
        for route in told["routes"]:
            nodes = [-2, *(stop["stop"] for stop in route["stops"]), -1]
            cs = sum(shown["walk"][one][other] for one, other in pairwise(nodes))
            for stop in route["stops"]:
                cs += sum(shown["openings"][code] for code in stop["open"])
                cs += sum(bags[code]["lift"] for code in stop["bags"])
                cs += sum(picks[each["item"]] * each["quantity"] for each in stop["take"])
                brought.update({e["item"]: e["quantity"] for e in stop["take"]})
                for code in stop["bags"]:
                    brought.update(bags[code]["content"])
            assert cs == round(route["seconds"] * 100)
        assert brought >= Counter(kit)


def test_the_content_of_a_bag_is_all_that_comes_with_it(door: Any) -> None:
    """Not only what cannot be taken out of it: the cuff in its pocket, the cot that is the bag."""
    kit = {"Blood pressure cuff, adult": 1, "Powered cot": 1}

    _, told = door("stage_plan", asked(kit=kit), "--explain")
    bags = {each["code"]: each for each in told["explained"]["bags"]}

    assert (bags["FIB"]["holds"], bags["FIB"]["content"]) == ({}, {"Blood pressure cuff, adult": 1})
    assert bags["F1"]["holds"] == bags["F1"]["content"] == {"Powered cot": 1}
    assert bags["OXY"]["content"] == {}


def test_what_is_named_instead_can_be_brought(door: Any) -> None:
    """Neither the example nor what is near in name is strapped in its bay."""
    strapped = {each.item for each in demo_layout("mesa-box").stock if each.need in BUILT_IN}

    for name in ("Flux", "Main oxygen cylinder, size N"):
        _, told = door("stage_plan", asked(kit={name: 1}))
        assert "no such thing is aboard" in told["error"]
        assert not [each for each in strapped if each in told["error"]]


def test_what_is_heavy_rides_on_the_cot_and_can_be_worked_out_again(door: Any) -> None:
    """All that takes a hand, the cot itself among it: in one walk, and by the solver alike."""
    stock = [line for line in demo_layout("mesa-box").stock if line.need not in BUILT_IN]
    heavy = [line for line in stock if (line.weight_kg or 0) >= 5]
    kit = dict.fromkeys([*(line.item for line in heavy[:5]), "Powered cot"], 1)

    _, told = door("stage_plan", {"layout": "mesa-box", "kit": kit}, "--explain")
    found = referee(restated(told["explained"]), trips=1, seconds=30)
    bags = [bag for route in told["routes"] for stop in route["stops"] for bag in stop["bags"]]

    assert told["carried"]
    assert len(told["routes"]) == 1
    assert "F1" in bags
    assert found.is_proved
    assert told["seconds"] == (found.cs or 0) / 100


@pytest.mark.parametrize("people", [1, 2])
def test_the_plan_brings_all_that_was_asked_for(door: Any, people: int) -> None:
    """Out of places, or in a bag that holds it; the stops in their order, and no explanation."""
    given = asked(people=people)
    code, told = door("stage_plan", given)

    stops = [stop for route in told["routes"] for stop in route["stops"]]
    taken = {take["item"] for stop in stops for take in stop["take"]}
    layout = demo_layout("mesa-box")
    bags = {bag for stop in stops for bag in stop["bags"]}
    inside = {
        line.item
        for line in layout.stock
        if bags & {each.code for each in layout.chain(line.compartment)}
    }
    assert code == 0
    assert set(given["kit"]) <= taken | inside
    assert "explained" not in told
    seconds = [route["seconds"] for route in told["routes"]]
    assert told["seconds"] == pytest.approx(max(seconds) if people > 1 else sum(seconds))


def test_where_one_begins_and_where_the_patient_is_counts(door: Any) -> None:
    """A patient twice as far off takes longer."""
    near, far = (
        door("stage_plan", asked(patient={"side": "rear", "metres": metres}))[1]["seconds"]
        for metres in (4, 30)
    )
    begun = door("stage_plan", asked(begin="cab", patient={"side": "rear", "metres": 30}))[1]

    assert near < begun["seconds"] < far


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("{", "standard input: it is no JSON"),
        ("[]", "standard input: an empty list came in; an object with layout, kit, people"),
        ("7", "standard input: 7 came in; an object with layout"),
        ({"kit": KIT}, "layout: nothing came in; the published layouts are accepted: mesa-box."),
        (
            {"layout": "nowhere", "kit": KIT},
            "layout: 'nowhere' came in; the published",
        ),
        ({"layout": "\0", "kit": KIT}, "layout: '\\x00' came in; the published"),
        ({"layout": 7, "kit": KIT}, "layout: 7 came in; the published layouts"),
        (asked(kit={}), "kit: an empty object came in; an object of things with how many of each"),
        (asked(kit=[]), "kit: an empty list came in; an object of things with how many of each"),
        ({"layout": "mesa-box"}, "kit: nothing came in; an object of things with how many of each"),
        (
            asked(kit={"Rescue helmet": 0}),
            "kit, Rescue helmet: 0 came in; a whole number, 1 to",
        ),
        (asked(kit={"Rescue helmet": "1"}), "kit, Rescue helmet: '1' came in"),
        (asked(kit={"Rescue helmet": True}), "kit, Rescue helmet: true came in; a whole number"),
        (
            asked(kit={"Rescue helmet": -1}),
            "kit, Rescue helmet: -1 came in; a whole number",
        ),
        (asked(kit={"Rescue helmet": 1.5}), "kit, Rescue helmet: 1.5 came in; a whole number"),
        (asked(kit={"Rescue helmet": 10**400}), "kit, Rescue helmet: a long number came in"),
        (asked(kit={"Rescue helmet": 99}), "kit, Rescue helmet: 99 came in; 2 are aboard"),
        (asked(kit={"Rescue helmt": 1}), "kit, Rescue helmt: no such thing is aboard; near it: Re"),
        (asked(kit={"Anvil": 1}), "kit, Anvil: no such thing is aboard; things are named as on"),
        (asked(kit={"": 1}), "kit, '': no such thing is aboard"),
        (asked(kit={"rescue helmet": 1, "Rescue  Helmet": 1}), "kit, Rescue  Helmet: it came in"),
        (asked(kit={"Rescue helmet": None}), "kit, Rescue helmet: null came in; a whole number"),
        (asked(kit={"Főtáska 止血帯": 1}), "kit, Főtáska 止血帯: no such thing is aboard"),
        (asked(kit={"Main oxygen cylinder, size M": 1}), f"{MAIN}: it stays with the rig: it is"),
        (asked(people=0), "people: 0 came in; accepted is 1, 2"),
        (asked(people=3), "people: 3 came in; accepted is 1, 2"),
        (asked(people=True), "people: true came in; accepted is 1, 2"),
        (asked(people="2"), "people: '2' came in; accepted is 1, 2"),
        (asked(hands=0), "hands: 0 came in; accepted is 1, 2, 3, 4, null"),
        (asked(hands=True), "hands: true came in; accepted is 1, 2, 3, 4, null"),
        (asked(begin="moon"), "begin: 'moon' came in; accepted is 'patient', 'cab'"),
        (
            asked(patient={"side": "roof"}),
            "patient, side: 'roof' came in; accepted is 'curb', 's",
        ),
        (asked(patient={"metres": -1}), "patient, metres: -1 came in"),
        (asked(patient={"metres": 1e400}), "standard input: it is no JSON|patient, metres"),
        (asked(patient={"metres": 501}), "patient, metres: 501 came in; above 0, and up to 500"),
        (asked(patient={"floor": 2}), "patient, floor: no such field; there are side, metres"),
        (asked(patient=6), "patient: 6 came in; an object with side and metres"),
        (asked(patients={}), "patients: no such field; there are layout, kit"),
        ('{"layout": "mesa-box", "layout": "x"}', "layout: it came in twice"),
    ],
)
def test_what_cannot_be_understood_names_the_field(door: Any, given: Any, said: str) -> None:
    """And what came in, and what would be accepted; with code 2."""
    code, told = door("stage_plan", given)

    assert code == 2
    assert len(told["error"]) < 400
    assert any(told["error"].startswith(each) for each in said.split("|")), told


def plain(compartments: tuple[Compartment, ...], stock: tuple[StockLine, ...]) -> Layout:
    return Layout(name="Cart", slug="cart", compartments=compartments, stock=stock)


@pytest.mark.parametrize("people", [1, 2])
def test_a_layout_of_one_place_has_a_plan(people: int) -> None:
    """One goes there and comes back; a second person has nothing to do but wait."""
    box = Compartment("A", "Box", face="curb", rect=Rect(0, 0, 4, 4), closure="lid")
    cart = plain((box,), (StockLine("A", "mask", 3),))

    told = told_plan(
        cart, {"layout": "cart", "kit": {"MASK ": 3}, "people": people}, is_explained=True
    )

    (visit,) = [stop for route in told["routes"] for stop in route["stops"]]
    assert visit["take"] == [{"item": "mask", "from": "A", "quantity": 3}]
    assert visit["open"] == ["A curb"]
    assert (visit["locks"], visit["bags"], visit["with_bags"], told["notes"]) == ([], [], [], [])
    assert told["proved"]


def test_what_comes_with_a_whole_bag_is_told() -> None:
    """With its bag and how many lie in it; what is taken beside it stands apart."""
    bag = Compartment(
        "B", "Bag", face="curb", rect=Rect(0, 0, 4, 4), closure="zip", carried="one-hand"
    )
    box = Compartment("A", "Box", face="curb", rect=Rect(5, 0, 4, 4), closure="lid")
    things = [StockLine("B", each, 2) for each in ("mask", "gauze", "splint", "pads")]
    cart = plain((bag, box), (*things, StockLine("A", "vest", 1)))
    kit = {"mask": 2, "gauze": 1, "splint": 2, "pads": 2, "vest": 1}

    told = told_plan(cart, {"layout": "cart", "kit": kit}, is_explained=False)

    stops = [stop for route in told["routes"] for stop in route["stops"]]
    assert [each for stop in stops for each in stop["with_bags"]] == [
        {"item": item, "bag": "B", "quantity": 2} for item in ("mask", "gauze", "splint", "pads")
    ]
    assert [each["item"] for stop in stops for each in stop["take"]] == ["vest"]


@pytest.mark.parametrize("people", [1, 2])
def test_what_is_controlled_is_taken_with_a_count_and_a_witness(door: Any, people: int) -> None:
    """And each lock on the way is told with its seconds; an open place has none."""
    models.Need.objects.create(
        key="f", name_us="Fentanyl", name_intl="Fentanyl", category="medicines", is_controlled=True
    )
    kit = {"Fentanyl": 1, "Amiodarone": 1, "Rescue helmet": 1}
    _, told = door("stage_plan", {"layout": "mesa-box", "kit": kit, "people": people})

    stops = [stop for route in told["routes"] for stop in route["stops"]]
    locks = [(lock["place"], lock["seconds"]) for stop in stops for lock in stop["locks"]]
    of_locks, of_controlled = told["notes"]
    assert {("D1", 2.4), ("D1A", 2.4), ("D1C", 2.4)} == set(locks)
    assert of_locks.startswith("Locked: D1")
    assert of_controlled == (
        "Controlled: Fentanyl. The authorised person takes it, with a count and a witness, and it "
        "is never laid on a tarp. That time is not in the seconds."
    )


def test_without_a_lock_nothing_is_said_of_one(door: Any) -> None:
    """Nor of who may take it."""
    _, told = door("stage_plan", {"layout": "mesa-box", "kit": {"Rescue helmet": 1}})
    assert told["notes"] == []


@pytest.mark.parametrize(
    ("kg", "people", "is_carried", "note"),
    [
        ("23", 1, True, ""),
        ("23.1", 1, False, "pump, 23.1 kg. One person carries up to 23 kg; it takes two, or the c"),
        ("23.1", 2, True, "pump, 23.1 kg. One person carries up to 23 kg; the two carry it toget"),
    ],
)
def test_what_is_too_heavy_for_one_takes_two(
    kg: str, people: int, note: str, *, is_carried: bool
) -> None:
    """From the first tenth above 23 kg on; the plan says so."""
    box = Compartment("A", "Box", face="curb", rect=Rect(0, 0, 4, 4))
    pump = StockLine("A", "pump", 1, weight_kg=Decimal(kg))
    given = {"layout": "cart", "kit": {"pump": 1}, "people": people}

    told = told_plan(plain((box,), (pump,)), given, is_explained=False)

    assert told["carried"] == is_carried
    assert len(told["notes"]) == bool(note)
    assert all(each.startswith(f"Too heavy for one: {note}") for each in told["notes"])


def test_on_the_cot_any_weight_rides() -> None:
    """Where the cot is brought nobody carries it, and nothing is said of its weight."""
    cot = Compartment("F", "Cot", face="floor", rect=Rect(0, 0, 4, 4), carried=WHEELED)
    pump = StockLine("F", "pump", 1, weight_kg=Decimal("23.1"))
    given = {"layout": "cart", "kit": {"pump": 1}}

    told = told_plan(plain((cot,), (pump,)), given, is_explained=False)

    assert [bag for stop in told["routes"][0]["stops"] for bag in stop["bags"]] == ["F"]
    assert (told["carried"], told["notes"]) == (True, [])


def test_a_patient_before_the_cab_is_walked_to(door: Any) -> None:
    """Each side is another walk; none of the four is taken for another."""
    seconds = [
        door("stage_plan", asked(patient={"side": side, "metres": 9}))[1]["seconds"]
        for side in SIDES
    ]
    assert len(set(seconds)) == len(SIDES)


def test_the_seconds_of_two_trips_add_up_and_each_door_is_opened_once() -> None:
    """Three cylinders and two hands: what the first trip opened stands open on the second."""
    box = Compartment("A", "Box", face="curb", rect=Rect(0, 0, 4, 4), closure="door")
    cylinder = StockLine("A", "cylinder", 3, weight_kg=Decimal(6))
    given = {"layout": "cart", "kit": {"cylinder": 3}}

    told = told_plan(plain((box,), (cylinder,)), given, is_explained=False)

    opened = [code for route in told["routes"] for stop in route["stops"] for code in stop["open"]]
    assert (len(told["routes"]), opened) == (2, ["A curb"])
    assert told["seconds"] == pytest.approx(sum(route["seconds"] for route in told["routes"]))


def test_a_layout_of_nothing_says_that_nothing_is_aboard() -> None:
    """Rather than a plan for nothing."""
    with pytest.raises(
        StatementError, match="kit, mask: nothing that can be brought is aboard of cart"
    ):
        told_plan(plain((), ()), {"layout": "cart", "kit": {"mask": 1}}, is_explained=False)


@pytest.mark.parametrize("people", [1, 2])
def test_a_kit_of_thirty_things_is_brought(door: Any, people: int) -> None:
    """Far more than any call asks for; where it is not proved it says by how much at most."""
    stock = [line for line in demo_layout("mesa-box").stock if line.need not in BUILT_IN]
    items = list(dict.fromkeys(line.item for line in stock))
    kit = dict.fromkeys(items[::7][:30], 1)

    code, told = door("stage_plan", {"layout": "mesa-box", "kit": kit, "people": people})

    assert (code, len(kit)) == (0, 30)
    assert told["carried"]
    assert told["at_least"] <= told["seconds"] <= told["at_least"] * 1.05
    assert told["proved"] is (told["at_least"] == told["seconds"])


def test_more_than_a_kit_is_refused_before_it_is_tried() -> None:
    """By how many things there are; a whole rig is no kit."""
    things = [f"thing {n}" for n in range(MOST_THINGS + 1)]
    box = Compartment("A", "Box", face="curb", rect=Rect(0, 0, 4, 4))
    cart = plain((box,), tuple(StockLine("A", each, 1) for each in things))
    given = {"layout": "cart", "kit": dict.fromkeys(things, 1)}

    with pytest.raises(StatementError, match="kit: 41 things came in; up to 40 are accepted"):
        told_plan(cart, given, is_explained=False)
    given["kit"] = dict.fromkeys(things[1:], 1)
    assert told_plan(cart, given, is_explained=False)["proved"]
