"""What is said of a wrong answer is true of it: no cause is named that a plainer one explains."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNREADABLE, UNSAFE
from drills.engine.dosing.working import all_steps, steps_to

VIALS = {
    "kind": "containers",
    "weight": "40 kg",
    "per_weight": "5 mg/kg",
    "max": "300 mg",
    "concentration": "150 mg / 3 mL",
}
TITRATED = {
    "kind": "drip",
    "dose_rate": "30 mg/h",
    "high": "150 mg/h",
    "concentration": "1 mg/mL",
    "set": "15 gtt/mL",
}
BAG = {"kind": "drip", "volume": "1,000 mL", "over": "8 h", "set": "15 gtt/mL"}
ARREST = {"kind": "dose", "fixed": "1 mg", "concentration": "1:10,000"}
GRAMS = {"kind": "dose", "weight": "20 kg", "per_weight": "0.3 g/kg", "high": "0.6 g/kg"}
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "pressure": "1,150 psi",
    "residual": "200 psi",
    "flow": ["10 L/min"],
}
NEWBORN = {"kind": "weight", "from": "7.04 lb"}


def keys(given: dict[str, Any], asked: str, entered: str) -> list[str]:
    return [each.key for each in judge(read_problem(given), asked, entered).slips]


@pytest.mark.parametrize("entered", ["1 vial", "3 vials"])
def test_a_container_too_few_or_too_many_names_no_slip(entered: str) -> None:
    """Two are right: whoever counts one has counted wrong, whatever else one could be."""
    judged = judge(read_problem(VIALS), "open", entered)
    assert judged.verdict == UNSAFE
    assert (judged.slips, judged.possibly) == ((), ())


def test_a_count_that_two_slips_come_to_names_neither() -> None:
    """Of 14 right, 30 by pounds and by the other strength alike."""
    many = VIALS | {"per_weight": "50 mg/kg", "max": "6,000 mg"}
    assert judge(read_problem(many), "open", "14 vials").verdict == RIGHT
    assert keys(many, "open", "30 vials") == ["kg-to-pounds"]
    assert keys(many | {"others": ["22.7 mg/mL"]}, "open", "30 vials") == []


def test_two_slips_that_nearly_cancel_are_no_pair() -> None:
    """25 mL/h of 30 to 150: a sixtieth of 150 and ten times that explain nothing."""
    assert judge(read_problem(TITRATED), "mL_per_h", "25 mL/h").possibly == ()
    far = judge(read_problem(TITRATED), "mL_per_h", "5.0 mL/h")
    assert [[each.key for each in pair] for pair in far.possibly] == [
        ["minute-for-hour", "tenfold-over"]
    ]


def test_millilitres_an_hour_taken_for_drops_a_minute_are_named() -> None:
    """125 mL/h on a set of 15 are 31 drops a minute; on one of 60 the numbers are the same."""
    assert keys(BAG, "gtt_per_min", "125 gtt/min") == ["hourly-as-drops"]
    assert judge(
        read_problem(BAG | {"set": "60 gtt/mL"}), "gtt_per_min", "125 gtt/min"
    ).verdict == (RIGHT)


def test_a_right_number_with_a_wrong_unit_is_told_as_that() -> None:
    """10 mg for the 10 mL that hold 1 mg: the dose would be ten times, and nobody moved a point."""
    judged = judge(read_problem(ARREST), "volume", "10 mg")
    assert (judged.verdict, judged.slips) == (UNSAFE, ())
    assert judged.sentence == (
        "Unsafe, the number is right and the unit is wrong: 10 mg is 10 times as much as is right. "
        "Right: 10 mL."
    )
    assert keys(ARREST, "volume", "1 mg") == ["amount-given"]
    assert keys(ARREST, "volume", "100 mL") == ["tenfold-over"]


def test_near_to_what_is_right_a_slip_is_met_within_rounding() -> None:
    """13 g beside a high end of 12 g is no 13.2 g."""
    assert keys(GRAMS, "dose", "13 g") == []
    assert keys(GRAMS, "dose", "13.2 g") == ["kg-to-pounds"]
    assert keys(GRAMS, "dose", "26 g") == ["kg-to-pounds"]


def test_what_is_unsafe_is_not_said_to_be_on_the_safe_side() -> None:
    """10 minutes of 15.2."""
    judged = judge(read_problem(OXYGEN), "minutes", "10 min")
    assert judged.sentence.startswith(
        "Unsafe, 34% too little: so far off that the sum is wrong. Right: "
    )


@pytest.mark.parametrize(
    ("entered", "verdict"),
    [("3200 g", RIGHT), ("3.2 kg", RIGHT), ("3000 g", OUT_OF_TOLERANCE), ("320 g", UNSAFE)],
)
def test_a_weight_in_grams_is_read_as_one(entered: str, verdict: str) -> None:
    """A newborn's is told in them."""
    judged = judge(read_problem(NEWBORN), "kg", entered)
    assert judged.verdict == verdict
    assert ("tenfold-under" in {each.key for each in judged.slips}) is (entered == "320 g")


def test_a_weight_in_pounds_is_asked_for_in_kg() -> None:
    """It was told in pounds: to tell it again is no answer, and no other kind of amount."""
    judged = judge(read_problem(NEWBORN), "kg", "7.04 lb")
    assert judged.verdict == UNREADABLE
    assert judged.sentence == (
        "7.04 lb is a weight in pounds, and kg was asked for: turn it into kg."
    )


def test_the_working_of_a_drip_by_drops_does_not_come_back_to_them() -> None:
    """Of 120 drops a minute the bag is worked out, and no drops."""
    by_drops = {"kind": "drip", "rate": "120 gtt/min", "set": "60 gtt/mL", "bag": "250 mL"}
    solution = read_problem(by_drops).solve()
    assert all_steps(solution) == (
        "120 gtt/min / 60 gtt/mL = 2 mL/min",
        "2 mL/min x 60 min/h = 120 mL/h",
        "250 mL / 2 mL/min = 125 min",
    )
    assert steps_to(solution, "minutes")[-1] == "250 mL / 2 mL/min = 125 min"


def test_what_has_run_in_is_no_fixed_dose() -> None:
    """A volume is a volume, whether it is due or in."""
    run_in = {"kind": "dose", "fixed": "175 mL", "concentration": "4 mg/mL"}
    assert read_problem(run_in).solve().steps[0] == "Volume: 175 mL"
    assert read_problem(ARREST).solve().steps[0] == "Fixed dose: 1 mg"


def test_a_whole_count_is_not_said_to_be_rounded() -> None:
    """One container of exactly one."""
    one = {"kind": "containers", "fixed": "10 mg", "concentration": "10 mg / 2 mL"}
    assert read_problem(one).solve().steps[-1] == "2 mL / 2 mL = 1 container"
    assert read_problem(one | {"fixed": "11 mg"}).solve().steps[-1] == "Rounded up: 2"
