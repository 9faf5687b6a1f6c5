"""A synthetic rig far larger than real ones, to measure with: no service has it.

It is made by rule, so that the same numbers always give the same rig, and valid by our own reader.
"""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import islice

from drills.engine.layout import FACES, Compartment, Layout, Point, Rect, StockLine

LETTERS = dict(zip(FACES, "SCRDWVBF", strict=True))
ACROSS, DOWN = 6, 2  # cabinets on one face, each 4 by 6 units
CABINETS = ACROSS * DOWN * len(FACES)
PER_CABINET = 10
SHARE_OF_ITEMS = Decimal("0.3")  # how many lines are the first of their item
USES = {
    "airway": ("Oral airway", "Nasal airway", "Laryngoscope blade", "Suction catheter"),
    "breathing and oxygen": ("Oxygen mask", "Nasal cannula", "Bag valve mask", "Oxygen tubing"),
    "circulation and bleeding": ("Roller gauze", "Trauma dressing", "Tourniquet", "IV catheter"),
    "medicines": ("Normal saline", "Dextrose", "Sterile water", "Oral glucose"),
    "immobilisation": ("Neck collar", "Padded splint", "Head blocks", "Triangular bandage"),
    "moving patients": ("Carry sheet", "Transfer board", "Cot strap", "Stair chair strap"),
    "paediatric and obstetric": ("Cord clamp", "Infant blanket", "Measuring tape", "Bulb syringe"),
    "protection and infection": ("Exam gloves", "Face shield", "Gown", "Sharps box"),
    "monitoring": ("Chest electrodes", "Pressure cuff", "Oxygen probe", "Defibrillator pads"),
    "scene and incident": ("Reflective vest", "Triage tags", "Torch", "Scene tape"),
}


@cache
def big_layout(compartments: int = 400, lines: int = 5_000) -> Layout:
    """A synthetic rig of that many compartments, nested to depth 5, and stock lines.

    `ValueError` where there are no such rigs: at most 960 compartments, each item once in each.
    """
    if not 1 <= compartments <= CABINETS * PER_CABINET:
        raise ValueError(f"{compartments} came in; 1 to {CABINETS * PER_CABINET} are accepted.")
    places = tuple(islice(_places(), compartments))
    return Layout(
        name="Synthetic big rig",
        slug="synthetic-big-rig",
        body="synthetic, made by rule to measure with",
        length_m=Decimal("7.2"),
        width_m=Decimal("2.4"),
        height_m=Decimal("2.8"),
        notes="No service has this rig.",
        compartments=places,
        stock=_stock([each.code for each in places], lines),
        points=_points(places[0].code),
    )


def _places() -> Iterator[Compartment]:
    """Cabinet after cabinet, a face each in turn, each with all that lies in it."""
    for number in range(CABINETS):
        slot, face = divmod(number, len(FACES))
        x, y = slot % ACROSS * 4, slot // ACROSS * 6
        yield from _cabinet(number, FACES[face], slot + 1, x, y)


def _cabinet(number: int, face: str, slot: int, x: int, y: int) -> Iterator[Compartment]:
    use = tuple(USES)[number % len(USES)].split()[0].capitalize()
    code = f"{LETTERS[face]}{slot}"
    opens = "outside" if face in ("street", "curb", "rear") else "inside"
    first = Compartment(
        code,
        f"{use} cabinet {slot}",
        face=face,
        rect=Rect(x, y, 4, 6),
        opens=opens,
        closure="door",
        locked=number % 16 == 15,
        reach_from=("SEAT1",) if face == "interior-curb" else (),
    )
    yield first
    inner = replace(first, locked=False, reach_from=(), face="")
    for shelf, letter in enumerate("AB"):
        on, bag = f"{code}{letter}", f"{code}{letter}-K"
        rect = Rect(x, y + 3 * shelf, 4, 3)
        yield replace(
            inner, code=on, name=f"{use} shelf {letter}", inside=code, rect=rect, closure="open"
        )
        zipped = replace(inner, rect=None, closure="zip")
        carried = ("one-hand", "two-hands")[shelf]
        yield replace(zipped, code=bag, name=f"{use} bag {letter}", inside=on, carried=carried)
        yield replace(zipped, code=f"{bag}1", name="Main pocket", inside=bag)
        yield replace(
            zipped, code=f"{bag}2", name="Side pocket", inside=bag, sealed=number % 5 == 0
        )
        if not shelf:
            yield replace(zipped, code=f"{bag}1P", name="Inner pouch", inside=f"{bag}1")


def _stock(codes: list[str], count: int) -> tuple[StockLine, ...]:
    """The lines by compartment; an item lies in several places, as far apart as can be."""
    items = [_item(number) for number in range(max(1, int(count * SHARE_OF_ITEMS)))]
    copies = -(-count // len(items))
    if copies > len(codes):
        most = len(codes) * len(items)
        raise ValueError(f"{count} lines came in; at most {most} are accepted.")
    apart = len(codes) // copies
    made = []
    for number in range(count):
        copy, which = divmod(number, len(items))
        at = (which + copy * apart) % len(codes)
        par = 1 + (number * 7) % 12
        made.append((at, replace(items[which], compartment=codes[at], par=par)))
    return tuple(line for _, line in sorted(made, key=lambda each: each[0]))


def _item(number: int) -> StockLine:
    """A thing of one of forty kinds, and its size, which tells it from the others of its kind."""
    category = tuple(USES)[number % len(USES)]
    kind, size = number // len(USES) % 4, number // (len(USES) * 4) + 1
    name = USES[category][kind]
    is_medicine = category == "medicines"
    return StockLine(
        compartment="",
        item=f"{name}, size {size}",
        par=1,
        unit="bag" if is_medicine else "each",
        category=category,
        critical=number % 20 == 0,
        aliases=(f"{name} no. {size}",) if number % 3 == 0 else (),
        presentation=f"{size * 10} mL bag" if is_medicine else "",
        weight_kg=Decimal(number % 40 + 1) / 20,
    )


def _points(panel: str) -> tuple[Point, ...]:
    return (
        Point("SIDE", "door", "Side door", "curb", 12.0, 6.0, ("interior-curb", "interior-street")),
        Point("BACK", "door", "Rear door", "rear", 12.0, 6.0, ("floor", "bulkhead")),
        Point("FRONT", "door", "Cab door", "cab", 6.0, 6.0, ("cab",)),
        Point("COT", "cot", "Cot position", "floor", 12.0, 6.0),
        Point("SEAT1", "seat", "Attendant seat", "floor", 20.0, 6.0),
        Point("SEAT2", "seat", "Side seat", "floor", 14.0, 10.0),
        Point("O2", "outlet", "Oxygen outlet", "interior-street", 3.0, 2.0, (panel,)),
        Point("SHUT", "control", "Oxygen shut-off", "bulkhead", 5.0, 2.0, (panel,)),
    )
