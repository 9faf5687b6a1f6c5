"""What is faster than any pump: no open clamp for whom weighs little, nor for a medicine."""

from dataclasses import replace
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import DRIP, FLUID, MedicineRule
from drills.engine.quantities import read_quantity
from tests.engine.treating import carrying, rule

OPENED = "wide open, under pressure with a pressure bag, or through more than one line."
STRONGER = "Use a stronger mixture, or ask medical direction."
ASK = "Ask medical direction how it is run in."
BOLUS = rule("20 mL/kg", packed="1,000 mL", topic=FLUID, over_min=5)


def ways_out(given: MedicineRule, weight: str, *, months: int = 1, **aboard: Any) -> list[str]:
    """What is told of how it is run in, where the pump is not set."""
    patient = Patient(age=Age(months), weight=read_quantity(weight) if weight else None)
    supplies = replace(carrying(given.comes_as[0].printed), **aboard)
    running = work_out(patient, given, supplies).running
    assert running is not None
    assert running.refusal is not None
    assert running.pump.rounded is None
    return list(running.refusal.instead)


@pytest.mark.parametrize(
    ("weight", "said"),
    [
        ("4.5 kg", "Push it by hand over 5 min, in 2 fillings of the 60 mL syringe, "),
        ("8 kg", "Push it by hand over 5 min, in 3 fillings of the 60 mL syringe, "),
        ("9 kg", "Push it by hand over 5 min, in 3 fillings of the 60 mL syringe, "),
        ("9.05 kg", ASK),
        ("14 kg", ASK),
        ("39.9 kg", ASK),
        ("87 lb", ASK),
    ],
)
def test_nothing_is_run_wide_open_into_whom_weighs_little(weight: str, said: str) -> None:
    """20 mL/kg over five minutes: by syringe up to three fillings, and else by direction."""
    (way,) = ways_out(BOLUS, weight)

    assert way.startswith(said)
    assert "open" not in way
    assert "pressure" not in way


@pytest.mark.parametrize("weight", ["40 kg", "88 lb", "80 kg"])
def test_fluid_is_run_wide_open_from_40_kg_on(weight: str) -> None:
    assert ways_out(BOLUS, weight, months=480) == [f"Run it in over 5 min without a pump: {OPENED}"]


@pytest.mark.parametrize(
    ("syringes", "said"),
    [
        ((1, 3, 20, 60), "Push it by hand over 5 min, in 2 fillings of the 60 mL syringe, "),
        ((1, 10, 20), ASK),
        ((10,), ASK),
        ((), "Push it by hand over 5 min, in 2 fillings of the 60 mL syringe, "),
    ],
)
def test_the_fillings_are_those_of_the_largest_syringe_aboard(
    syringes: tuple[int, ...], said: str
) -> None:
    """90 mL are five fillings of 20 mL."""
    (way,) = ways_out(BOLUS, "4.5 kg", syringes=syringes)

    assert way.startswith(said)


def test_one_syringe_is_pushed_by_hand_at_any_weight() -> None:
    assert ways_out(replace(BOLUS, over_min=1), "3 kg") == [
        "Push it by hand from a syringe over 1 min."
    ]


def test_where_no_weight_is_told_both_are_said() -> None:
    """A fixed 500 mL, and 150 mL, over five minutes; and a rate that has no end."""
    fixed = replace(BOLUS, rule=rule("500 mL", packed="1,000 mL", topic=FLUID).rule)
    small = replace(BOLUS, rule=rule("150 mL", packed="1,000 mL", topic=FLUID).rule)
    opened = f"From 40 kg on: Run it in over 5 min without a pump: {OPENED}"

    assert ways_out(fixed, "") == [opened, f"Below 40 kg: {ASK}"]
    assert ways_out(small, "") == [
        opened,
        "Below 40 kg: Push it by hand over 5 min, in 3 fillings of the 60 mL syringe, as your "
        "protocols say.",
    ]
    assert ways_out(fixed, "12 kg") == [ASK]


def test_a_fast_drip_into_whom_weighs_little_is_by_direction() -> None:
    """0.9 mL/kg/min of 20 kg are 1,080 mL/h."""
    told = told_solution(
        read_problem({"kind": "drip", "rate": "0.9 mL/kg/min", "weight": "20 kg"}).solve()
    )

    assert told["refused"]["instead"] == [ASK]
    assert ways_out(rule("60 mL/kg/h", packed="1,000 mL", topic=DRIP), "20 kg") == [ASK]


def test_drops_that_nobody_counts_have_the_same_way_out() -> None:
    """90 mL in five minutes by a set of 60."""
    bolus = {"kind": "drip", "volume": "90 mL", "over": "5 min", "set": "60 gtt/mL"}
    told = told_solution(read_problem(bolus | {"weight": "4.5 kg"}).solve())

    assert [each[:16] for each in told["refused"]["instead"]] == ["Push it by hand "]


@pytest.mark.parametrize(
    "given",
    [
        rule("1 mEq/kg", packed="50 mEq / 50 mL", maximum="100 mEq", over_min=5),
        rule("2 mL/kg", packed="25 g / 250 mL", topic=FLUID, over_min=5),
        rule("20 mL/kg/h", packed="25 g / 250 mL", topic=DRIP),
    ],
    ids=["a dose drawn up", "a bolus with something in it", "a rate of it"],
)
def test_a_medicine_is_never_told_wide_open(given: MedicineRule) -> None:
    """100 mL over five minutes, 1,200 mL/h, at 100 kg."""
    assert ways_out(given, "100 kg", months=480) == [STRONGER]


def test_a_medicine_that_one_syringe_holds_is_pushed() -> None:
    given = rule("1 mEq/kg", packed="50 mEq / 50 mL", over_min=1)

    assert ways_out(given, "50 kg", months=480) == ["Push it by hand from a syringe over 1 min."]
