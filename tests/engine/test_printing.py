"""What may stand on paper."""

from dataclasses import replace

from hypothesis import given

from drills.engine.layout import Compartment, Layout, Point, StockLine
from drills.engine.printing import printable
from tests.layouts import practice_rig
from tests.strategies import layouts


def test_what_is_behind_a_lock_is_left_out() -> None:
    """The locked drawer stays, what it holds does not, nor places and controls in it."""
    rig = practice_rig()
    rig = replace(
        rig,
        compartments=(*rig.compartments, Compartment("I1C", "Opioid tray", inside="I1B")),
        stock=(*rig.stock, StockLine("I1C", "Morphine", 1)),
        points=(*rig.points, Point("A", "control", "Alarm", "interior-curb", 1, 1, ("I1C",))),
    )

    paper = printable(rig)

    assert "I1B" in paper.by_code
    assert "I1C" not in paper.by_code
    assert {"midazolam", "fentanyl", "morphine"}.isdisjoint(paper.things)
    assert "tourniquet" in paper.things
    assert [point.code for point in paper.points] == ["SIDE", "COT", "SEAT", "O2"]


@given(layouts())
def test_nothing_on_paper_lies_behind_a_lock(layout: Layout) -> None:
    """Whatever nests in whatever: no line, no place in a locked one; all else stays."""
    paper = printable(layout)

    assert not any(paper.is_locked(line.compartment) for line in paper.stock)
    assert not any(each.inside and paper.is_locked(each.inside) for each in paper.compartments)
    assert [line for line in layout.stock if not layout.is_locked(line.compartment)] == list(
        paper.stock
    )
