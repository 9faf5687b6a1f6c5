"""Small promises of judging and working, each of which hangs on one line."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.entered import why_unread
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.saying import off
from drills.engine.dosing.working import all_steps, steps_to
from drills.engine.quantities import plain

TEN_KG = {"weight": "10 kg", "per_weight": "0.1 mg/kg", "concentration": "3 mg/mL"}
DOSE: dict[str, Any] = {"kind": "dose", **TEN_KG, "syringes": [1]}


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "slips"),
    [
        # 1,648.18 mL/h are set as 1,648.
        (
            {
                "kind": "burn",
                "weight": "259 lb",
                "area": "49 %",
                "per": "2 mL/kg/%",
                "since_injury": "1 h",
            },
            "first_half_rate",
            "1,648.000 mL/h",
            ["burn-doubled"],
        ),
        # A tenth is 0.0010625 mL/min, told as 0.00106; what is set by nothing has no marks.
        (
            {"kind": "drip", "dose_rate": "17 mcg/min", "concentration": "1600 mcg/mL"},
            "mL_per_min",
            "0.0011 mL/min",
            [],
        ),
    ],
)
def test_a_slip_is_met_as_the_device_is_set_where_one_is(
    problem: dict[str, Any], asked: str, entered: str, slips: list[str]
) -> None:
    assert [each.key for each in judge(read_problem(problem), asked, entered).slips] == slips


def test_the_low_end_of_what_is_told_is_told_as_it_is_and_not_as_a_mark_above() -> None:
    """No device has mL a minute: 0.15125 is 0.151, though that lies before the range."""
    drip = {
        "kind": "drip",
        "weight": "22 kg",
        "dose_rate": "11 mcg/kg/min",
        "high": "12 mcg/kg/min",
        "concentration": "1600 mcg/mL",
    }
    found = read_problem(drip).solve().results["mL_per_min"]

    assert (str(found.rounded), str(found.rounded_high)) == ("0.151 mL/min", "0.165 mL/min")


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("0.333 mL", ""),
        ("0.33 mL", ""),
        ("none", ""),
        ("0.3 mL", "10% too little"),
    ],
)
def test_nothing_is_off_of_what_is_right_and_of_what_cannot_be_read(
    entered: str, said: str
) -> None:
    """A right answer that was rounded is not told to be a hundredth off."""
    assert off(judge(read_problem(DOSE), "volume", entered)) == said


@pytest.mark.parametrize(
    ("written", "is_strange"),
    [("-5 mL", True), ("1:10 mL", True), ("5 boxes", True), ("5", False), ("", False)],
)
def test_what_is_no_amount_at_all_is_told_the_kind_that_is_asked_for(
    written: str, is_strange: bool
) -> None:
    """What only lacks something is told what that is."""
    assert why_unread(written).is_strange == is_strange


def test_a_figure_that_is_told_last_is_named_where_there_is_another() -> None:
    """Of one figure alone nobody asks which."""
    alone = read_problem({"kind": "weight", "from": "45 lb"}).solve()
    two = read_problem(
        {"kind": "oxygen", "factor": "0.16 L/psi", "pressure": "1,337 psi", "residual": "0 psi",
         "flow": "7 L/min"}
    ).solve()  # fmt: skip

    assert all_steps(alone)[-1] == "Rounded: 20.5 kg"
    assert "Rounded down: 213 L (litres)" in all_steps(two)


def test_the_working_of_a_figure_ends_with_how_it_is_rounded_and_before_the_next() -> None:
    solution = read_problem(DOSE).solve()
    dose, volume = "10 kg x 0.1 mg/kg = 1 mg", "1 mg / 3 mg/mL ≈ 0.333333 mL"

    assert steps_to(solution, "dose") == (dose,)
    assert steps_to(solution, "volume") == (
        *(dose, volume),
        "By marks of the 1 mL syringe 0.01 mL apart: 0.33 mL",
    )


def test_what_is_in_a_fluid_stands_for_its_volume_where_that_is_asked_alone() -> None:
    """Of a dose by volume 5 g is another kind of amount."""
    fluid = read_problem(
        {"kind": "dose", "weight": "10 kg", "per_weight": "5 mL/kg", "concentration": "10 %"}
    )

    assert judge(fluid, "dose", "5 g").verdict == "unreadable"
    assert judge(fluid, "volume", "5 g").verdict == "out of tolerance"
    assert judge(fluid, "amount", "5 g").verdict == "right"


@pytest.mark.parametrize(
    ("kg", "step", "mark"),
    [
        ("9.99", "1", "999"),
        ("10", "10", "1,000"),
        ("10.06", "10", "1,010"),
        ("20.04", "10", "2,000"),
    ],
)
def test_the_fluid_of_a_day_is_told_by_tens_from_a_litre_on(kg: str, step: str, mark: str) -> None:
    """It comes out of bags; below that by its figures."""
    burn = {"kind": "burn", "weight": f"{kg} kg", "area": "50 %", "per": "2 mL/kg/%"}
    found = read_problem(burn).solve().results["total"]

    assert (plain(found.step), plain(found.mark.amount)) == (step, mark)
