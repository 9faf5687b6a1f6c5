"""The rigs of the tests: one small enough to know by heart, and those of the demonstration."""

from decimal import Decimal
from functools import cache
from pathlib import Path

from drills.engine.layout import Compartment, Layout, Point, Rect, StockLine
from drills.engine.workbook import read_workbook

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"
DEMO_LAYOUTS = ("mesa-box", "mesa-box-rev2", "arroyo-van", "first-response-truck")

AIRWAY, BLEEDING, MEDICINES = "airway", "circulation and bleeding", "medicines"
SCENE = "scene and incident"


def practice_rig(slug: str = "practice-rig") -> Layout:
    """Two doors, a shelf, a bag with two pockets, a drawer, a locked one, and an oxygen panel.

    The tourniquet has two places: the main pocket of the bag, and the upper drawer, which is
    nearer to the cot. A grid unit is 0.2 m both ways.
    """
    return Layout(
        name=slug.replace("-", " ").capitalize(),
        slug=slug,
        length_m=Decimal("4.8"),
        width_m=Decimal("2.4"),
        compartments=_COMPARTMENTS,
        stock=_STOCK,
        points=(
            Point("SIDE", "door", "Side door", "curb", 12.0, 6.0, ("interior-curb",)),
            Point("COT", "cot", "Cot position", "floor", 12.0, 6.0),
            Point("SEAT", "seat", "Attendant seat", "floor", 20.0, 6.0),
            Point("O2", "outlet", "Oxygen outlet", "interior-street", 4.0, 5.0, ("P1",)),
        ),
    )


_COMPARTMENTS = (
    Compartment("S1", "Street cabinet", face="street", rect=Rect(0, 0, 6, 12), opens="outside"),
    Compartment("S1A", "Lower shelf", inside="S1", rect=Rect(0, 6, 6, 6), opens="outside"),
    Compartment("BAG", "Response bag", inside="S1A", carried="one-hand", closure="zip"),
    Compartment("BAG-L", "Lid pocket", inside="BAG", closure="zip"),
    Compartment("BAG-M", "Main pocket", inside="BAG", closure="zip"),
    Compartment("I1", "Wall cabinet", face="interior-curb", rect=Rect(10, 4, 4, 4)),
    Compartment("I1A", "Upper drawer", inside="I1", closure="drawer", reach_from=("SEAT",)),
    Compartment("I1B", "Locked drawer", inside="I1", closure="drawer", locked=True, sealed=True),
    Compartment("P1", "Oxygen panel", face="interior-street", rect=Rect(2, 4, 4, 2)),
)

_STOCK = (
    StockLine("S1", "Traffic cone", 4, category=SCENE),
    StockLine("S1A", "Splint", 2, category="immobilisation"),
    StockLine("S1A", "Neck collar", 2, category="immobilisation", critical=True),
    StockLine("BAG-L", "Oral airway set", 1, category=AIRWAY, critical=True),
    StockLine("BAG-L", "Suction tip", 2, category=AIRWAY),
    StockLine("BAG-M", "Tourniquet", 2, category=BLEEDING, critical=True),
    StockLine("BAG-M", "Trauma dressing", 4, category=BLEEDING),
    StockLine("I1A", "Tourniquet", 1, category=BLEEDING, critical=True),
    StockLine("I1A", "Gauze roll", 6, category=BLEEDING),
    StockLine("I1B", "Midazolam", 2, category=MEDICINES, critical=True),
    StockLine("I1B", "Fentanyl", 2, category=MEDICINES),
)


@cache
def demo_layout(name: str) -> Layout:
    """A layout of the demonstration by the name of its folder."""
    parsed = read_workbook(FIXTURES / "layouts" / name)
    assert parsed.layout is not None, parsed.problems
    return parsed.layout
