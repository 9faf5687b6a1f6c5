"""The workbooks a keeper may start from: a small invented rig, and an empty form.

The rig uses every column at least once, so that its own cells are the examples of `guide`.
"""

from datetime import date
from decimal import Decimal

from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine

AIRWAY, OXYGEN, BLEEDING = "airway", "breathing and oxygen", "circulation and bleeding"
MEDICINES, SPLINTS, SCENE = "medicines", "immobilisation", "scene and incident"

_COMPARTMENTS = (
    Compartment(
        "S1",
        "Street locker",
        face="street",
        rect=Rect(0, 2, 6, 10),
        also_face="interior-street",
        also_rect=Rect(0, 2, 6, 10),
        opens="both",
        closure="door",
        place="splint-locker",
        notes="Opens from both sides.",
    ),
    Compartment("S1A", "Upper shelf", inside="S1", rect=Rect(0, 2, 6, 5), opens="both"),
    Compartment("S1B", "Lower shelf", inside="S1", rect=Rect(0, 7, 6, 5), opens="both"),
    Compartment("R1", "Rear bin", face="rear", rect=Rect(2, 8, 8, 4), opens="outside"),
    Compartment(
        "BAG",
        "First-in bag",
        face="floor",
        rect=Rect(14, 2, 4, 4),
        closure="zip",
        carried="one-hand",
        height="floor",
    ),
    Compartment("BAG-L", "Lid pocket", inside="BAG", closure="zip"),
    Compartment("BAG-M", "Main pocket", inside="BAG", closure="zip"),
    Compartment(
        "C1",
        "Drawer tower",
        face="interior-curb",
        rect=Rect(8, 2, 6, 8),
        reach_from=("SEAT1",),
    ),
    Compartment("C1A", "Top drawer", inside="C1", rect=Rect(8, 2, 6, 4), closure="drawer"),
    Compartment(
        "C1B",
        "Medicine drawer",
        inside="C1",
        rect=Rect(8, 6, 6, 4),
        closure="drawer",
        locked=True,
        sealed=True,
    ),
    Compartment("P1", "Oxygen panel", face="bulkhead", rect=Rect(4, 4, 6, 3)),
)

_STOCK = (
    StockLine("S1A", "Long splint", 2, "each", SPLINTS, weight_kg=Decimal("1.2")),
    StockLine(
        "S1A",
        "Pelvic binder",
        1,
        "each",
        SPLINTS,
        critical=True,
        aliases=("pelvic wrap", "hip binder"),
        need="pelvic-binder",
    ),
    StockLine("S1B", "Neck collar", 3, "each", SPLINTS, critical=True),
    StockLine("S1B", "Head blocks", 1, "pair", SPLINTS),
    StockLine("R1", "Reflective cone", 4, "each", SCENE, notes="Stacked."),
    StockLine("R1", "Fire extinguisher", 1, "each", SCENE, expires=date(2031, 3, 31)),
    StockLine("BAG-L", "Oral airway set", 1, "set", AIRWAY, critical=True),
    StockLine("BAG-L", "Hand suction", 1, "each", AIRWAY),
    StockLine("BAG-M", "Tourniquet", 2, "each", BLEEDING, critical=True),
    StockLine("BAG-M", "Pressure dressing", 4, "each", BLEEDING),
    StockLine("BAG-M", "Trauma shears", 1, "each", BLEEDING),
    StockLine("C1A", "Oxygen mask, adult", 3, "each", OXYGEN),
    StockLine("C1A", "Nasal cannula", 3, "each", OXYGEN),
    StockLine("C1A", "Tourniquet", 1, "each", BLEEDING, critical=True),
    StockLine("C1B", "Aspirin", 8, "tablet", MEDICINES, presentation="81 mg tablet"),
    StockLine("C1B", "Normal saline", 2, "bag", MEDICINES, presentation="1000 mL bag"),
)

_POINTS = (
    Point("SIDE", "door", "Side door", "curb", 10.0, 6.0, ("interior-curb", "bulkhead")),
    Point("BACK", "door", "Rear door", "rear", 12.0, 6.0, ("floor",)),
    Point("COT", "cot", "Cot position", "floor", 8.0, 6.0),
    Point("SEAT1", "seat", "Side seat", "floor", 12.0, 9.0),
    Point("O2", "outlet", "Oxygen outlet", "bulkhead", 6.0, 5.0, ("P1",)),
)

SAMPLE = Layout(
    name="Sample rig",
    slug="sample-rig",
    body="van",
    length_m=Decimal("3.6"),
    width_m=Decimal("1.8"),
    height_m=Decimal("1.9"),
    notes="An invented rig, to show the form.",
    compartments=_COMPARTMENTS,
    stock=_STOCK,
    points=_POINTS,
)
