"""What stays with the rig is in no kit: built in, or too heavy for hands."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from drills.engine.calls import MUST, Asked
from drills.engine.layout import Layout, StockLine
from drills.engine.optimum.page import PRINTED
from drills.engine.staying import BUILT_IN, staying, too_heavy
from drills.engine.wanted import want
from tests.layouts import DEMO_LAYOUTS, FIXTURES, demo_layout, practice_rig

PUMP = StockLine("I1A", "big pump", 1, weight_kg=Decimal(40))


def needs_of_calls() -> set[str]:
    """All that any call type of the product asks for, or takes instead."""
    rows = [each["fields"] for each in json.loads((FIXTURES / "call_types.json").read_text())]
    needs = [need for row in rows for need in row["needs"]]
    return {each["need"] for each in needs}.union(*(each["serves_instead"] for each in needs))


def test_no_call_asks_for_what_is_built_in() -> None:
    """Every row of the table is a need there is; none is one that a call asks for."""
    known = {each["fields"]["key"] for each in json.loads((FIXTURES / "needs.json").read_text())}
    assert set(BUILT_IN) <= known
    assert needs_of_calls()
    assert needs_of_calls().isdisjoint(BUILT_IN)


def test_the_guide_prints_what_is_built_in_with_what_goes_instead() -> None:
    """Each row whole: the need, why, what goes to the patient, and whose word that is."""
    printed = PRINTED["built in"]()
    for row in BUILT_IN.values():
        assert f"| {row.need} | {row.why} | {row.note} | {row.source} |" in printed


@pytest.mark.parametrize("name", DEMO_LAYOUTS)
def test_the_main_cylinder_stays_and_the_cot_does_not(name: str) -> None:
    """However it is called aboard."""
    layout = demo_layout(name)
    mains = {line.key for line in layout.stock if "main" in line.key and line.weight_kg}
    found = staying(layout, dict.fromkeys(mains, "oxygen-cylinder-main"))

    assert set(found) >= mains
    assert "powered cot" not in found


def test_from_just_above_23_kg_on_a_thing_is_too_heavy_for_one() -> None:
    """By the heaviest of its lines; what has no weight told is not."""
    rig = practice_rig()
    for kg, found in (("23", {}), ("23.1", {PUMP.key: Decimal("23.1")})):
        heavy = replace(PUMP, weight_kg=Decimal(kg))
        light = replace(PUMP, weight_kg=Decimal(1))
        laden = replace(rig, stock=(*rig.stock, heavy, light, replace(PUMP, item="tarp")))
        assert {key: w for key, w in too_heavy(laden).items() if key == PUMP.key} == found


def asked(rig: Layout, ties: dict[str, str], *, instead: tuple[str, ...] = ()) -> tuple[int, int]:
    """How many of a pump are asked for on a rig, and how many are short."""
    (found,) = want(rig, ties, [Asked("pump", MUST, 1, name="Pump", instead=instead)])
    return found.quantity, found.short


def test_what_is_built_in_serves_nothing_in_its_stead() -> None:
    """A light one too; what serves beside it still does."""
    rig = practice_rig()
    rig = replace(rig, stock=(*rig.stock, PUMP))
    ties = {PUMP.key: "suction-unit-fixed"}
    assert asked(rig, ties, instead=("suction-unit-fixed",)) == (0, 1)
    assert asked(rig, {PUMP.key: "hand-pump"}, instead=("hand-pump",)) == (1, 0)
