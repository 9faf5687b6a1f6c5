"""No pump is told to be set above the most that one is set to; the arithmetic stands."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import DRIP, FLUID
from tests.engine.treating import CHILD, carrying, rule

# 999 mL/h: common practice, no source.
MOST = "999 mL/h, the most that a pump is set to."
BY_PRESSURE = "wide open, under pressure with a pressure bag, or through more than one line."
BOLUS = {"kind": "drip", "volume": "1 L", "over": "5 min", "weight": "80 kg"}  # 12,000 mL/h
MEDICINE = {"kind": "drip", "dose_rate": "20 mg/min", "concentration": "1 mg/mL"}  # 1,200 mL/h
RANGE = {"kind": "drip", "rate": "20 mL/kg/h", "high": "40 mL/kg/h", "weight": "40 kg"}
BURN = {"kind": "burn", "weight": "100 kg", "area": "80 %", "per": "4 mL/kg/%"}  # 2,000 mL/h


def told(problem: dict[str, Any]) -> dict[str, Any]:
    return told_solution(read_problem(problem).solve())


@pytest.mark.parametrize(
    ("problem", "asked", "exact", "instead"),
    [
        (BOLUS, "mL_per_h", "12000", f"Run it in over 5 min without a pump: {BY_PRESSURE}"),
        (
            {"kind": "drip", "rate": "0.5 mL/kg/min", "weight": "50 kg"},
            "mL_per_h",
            "1500",
            f"Run it in without a pump: {BY_PRESSURE}",
        ),
        (
            {"kind": "drip", "volume": "20 mL", "over": "1 min"},
            "mL_per_h",
            "1200",
            "Push it by hand from a syringe over 1 min.",
        ),
        (
            {"kind": "drip", "volume": "61 mL", "over": "1 min", "weight": "40 kg"},
            "mL_per_h",
            "3660",
            f"Run it in over 1 min without a pump: {BY_PRESSURE}",
        ),
        (MEDICINE, "mL_per_h", "1200", "Use a stronger mixture, or ask medical direction."),
        (
            BURN,
            "first_half_rate",
            "2000",
            "Ask medical direction or the burn centre for the rate, and tell what has run in: "
            "16,000 mL are due by eight hours.",
        ),
    ],
    ids=["bolus", "by weight", "push", "more than a syringe", "medicine", "burn"],
)
def test_a_faster_rate_is_not_set_and_the_way_out_is_told(
    problem: dict[str, str], asked: str, exact: str, instead: str
) -> None:
    """A medicine is never run wide open."""
    found = told(problem)

    assert found["results"][asked]["exact"] == exact
    assert found["results"][asked]["rounded"] is None
    assert found["refused"]["because"].endswith(f" mL/h is faster than {MOST}")
    assert found["refused"]["instead"] == [instead]


@pytest.mark.parametrize(
    ("rate", "rounded"), [("998.6 mL/h", "999"), ("999 mL/h", "999"), ("999.1 mL/h", None)]
)
def test_the_most_itself_is_set(rate: str, rounded: str | None) -> None:
    """And nothing above it."""
    found = told({"kind": "drip", "rate": rate})

    assert found["results"]["mL_per_h"]["rounded"] == rounded
    assert ("refused" in found) == (rounded is None)


@pytest.mark.parametrize(
    ("problem", "asked"),
    [
        ({"kind": "drip", "rate": "998 mL/h", "graduation": "5 mL/h"}, "mL_per_h"),
        (BURN | {"per": "1.996 mL/kg/%", "graduation": "5 mL/h"}, "first_half_rate"),
    ],
    ids=["drip", "burn"],
)
def test_coarse_marks_lead_no_higher(problem: dict[str, str], asked: str) -> None:
    """998 mL/h by fives are 995, since no pump goes to 1,000."""
    found = told(problem)

    assert found["results"][asked] == {"exact": "998", "rounded": "995", "unit": "mL/h"}
    assert "refused" not in found


def test_a_mark_that_is_too_far_below_the_most_is_refused() -> None:
    """980 mL/h by hundreds: 1,000 is 2 % off and not there, 900 is 8 % off."""
    coarse = {"kind": "drip", "rate": "980 mL/h", "graduation": "100 mL/h"}

    assert told(coarse)["results"]["mL_per_h"]["rounded"] == "900"
    strict = told(coarse | {"refused_from": "5 %"})
    assert strict["results"]["mL_per_h"]["rounded"] is None
    assert "the nearest that is not more, 900 mL/h, is 8% off" in strict["refused"]["because"]


def test_the_flow_and_the_bag_are_told_all_the_same() -> None:
    """A litre in five minutes."""
    found = told(BOLUS | {"bag": "1 L"})["results"]

    assert [found[each]["rounded"] for each in ("mL_per_min", "minutes")] == ["200", "5"]


# 300 drops a minute, five each second: ours, no source.
UNCOUNTED = "300 gtt/min, the most that anybody counts."
LARGER = "Use a drip set with larger drops, or a pump."


@pytest.mark.parametrize(
    ("problem", "exact", "rate", "instead"),
    [
        ({"kind": "drip", "rate": "900 mL/h", "set": "60 gtt/mL"}, "900", "900", LARGER),
        (
            BOLUS | {"set": "10 gtt/mL"},
            "2000",
            None,
            f"Run it in over 5 min without a pump: {BY_PRESSURE}",
        ),
        (
            {"kind": "drip", "rate": "301 gtt/min", "set": "20 gtt/mL"},
            "301",
            "903",
            LARGER,
        ),
    ],
    ids=["by the pump", "by neither", "ordered in drops"],
)
def test_drops_that_nobody_counts_are_not_set(
    problem: dict[str, str], exact: str, rate: str | None, instead: str
) -> None:
    """The pump is set all the same where one goes so fast."""
    found = told(problem)
    judged = judge(read_problem(problem), "gtt_per_min", f"{exact} gtt/min")

    assert found["results"]["gtt_per_min"] == {"exact": exact, "rounded": None, "unit": "gtt/min"}
    assert found["results"]["mL_per_h"]["rounded"] == rate
    assert found["refused"]["instead"] == [instead]
    assert judged.sentence.startswith("Right as a figure, and refused: ")
    assert judged.sentence.endswith(f" gtt/min is faster than {UNCOUNTED}")


@pytest.mark.parametrize(("rate", "drops"), [("300 mL/h", "300"), ("300.1 mL/h", None)])
def test_the_most_that_is_counted_is_set(rate: str, drops: str | None) -> None:
    """By sixty drops of a mL; and the pump is right without a word of drops."""
    problem = {"kind": "drip", "rate": rate, "set": "60 gtt/mL"}

    assert told(problem)["results"]["gtt_per_min"]["rounded"] == drops
    assert judge(read_problem(problem), "mL_per_h", rate).sentence == "Right."


def test_a_range_of_drops_is_set_as_far_as_anybody_counts() -> None:
    """240 to 480 drops a minute, by sixty of a mL."""
    ranged = RANGE | {"rate": "6 mL/kg/h", "high": "12 mL/kg/h", "set": "60 gtt/mL"}
    drops = told(ranged)["results"]["gtt_per_min"]

    assert (drops["rounded"], drops["rounded_high"], drops["exact_high"]) == ("240", "300", "480")


def test_the_rest_of_a_burn_is_told_no_rate_that_no_pump_goes_to() -> None:
    """Nine hours after: half of 72,000 mL in sixteen hours would be 2,250 mL/h."""
    late = BURN | {"weight": "200 kg", "area": "90 %", "since_injury": "9 h"}

    (instead,) = told(late)["refused"]["instead"]

    assert instead.endswith(f"in the sixteen after them. 2,250 mL/h is faster than {MOST}")
    (slower,) = told(late | {"weight": "50 kg"})["refused"]["instead"]
    assert slower.endswith("in the sixteen after them, at 562.5 mL/h.")


def test_the_rest_of_a_childs_burn_is_told_no_faster_than_its_weight_bears() -> None:
    """10 kg, 90 %: 112.5 mL/h; of three times the fluid 337.5 is above 20 mL/kg/h."""
    late = BURN | {"weight": "10 kg", "area": "90 %", "since_injury": "9 h"}

    assert told(late)["refused"]["instead"][0].endswith(", at 112.5 mL/h.")
    (faster,) = told(late | {"per": "12 mL/kg/%"})["refused"]["instead"]
    assert faster.endswith("337.5 mL/h is faster than 200 mL/h, 20 mL/kg/h for 10 kg.")


def test_a_range_is_set_as_far_as_the_pump_goes() -> None:
    """800 to 1,600 mL/h: the high end stands as a figure, and no pump is told to reach it."""
    found = told(RANGE)
    rate = found["results"]["mL_per_h"]

    assert (rate["rounded"], rate["rounded_high"], rate["exact_high"]) == ("800", "999", "1600")
    assert "refused" not in found
    assert "A pump is set to 999 mL/h at most" in found["steps"]
    assert "By steps of the pump of 1 mL/h: 800 mL/h, up to 999 mL/h" in found["steps"]
    assert judge(read_problem(RANGE), "mL_per_h", "1,600 mL/h").verdict == "right"


def test_a_range_that_begins_above_it_is_refused_whole() -> None:
    """1,200 to 1,600 mL/h, neither end of which is set."""
    found = told(RANGE | {"rate": "30 mL/kg/h"})
    rate = found["results"]["mL_per_h"]

    assert (rate["rounded"], rate["rounded_high"]) == (None, None)
    assert found["refused"]["because"] == f"1,200 mL/h is faster than {MOST}"
    assert not [each for each in found["steps"] if "A pump is set" in each]


def test_the_figure_is_right_and_said_to_be_refused() -> None:
    """A slip in it is named as ever."""
    problem = read_problem(BOLUS)

    right, wrong = (judge(problem, "mL_per_h", each) for each in ("12,000 mL/h", "200 mL/h"))

    assert right.verdict == "right"
    assert right.sentence == f"Right as a figure, and refused: 12,000 mL/h is faster than {MOST}"
    assert [each.key for each in wrong.slips] == ["minute-for-hour"]
    assert wrong.sentence.endswith("= 12,000 mL/h, which is more than a pump is set to.")


def test_a_bolus_of_a_patient_says_how_it_runs_without_a_pump() -> None:
    """400 mL over five minutes: the dose is given, and the pump alone is refused."""
    given = rule("20 mL/kg", packed="1,000 mL", topic=FLUID, over_min=5)

    worked = work_out(CHILD, given, carrying("1,000 mL"))

    assert worked.refusal is None
    assert worked.running is not None
    assert worked.running.pump.rounded is None
    assert worked.running.refusal is not None
    assert worked.running.refusal.because == f"4,800 mL/h is faster than {MOST}"


def test_a_drip_of_a_patient_that_no_pump_runs_is_refused() -> None:
    """60 mL/kg/h of 20 kg, by rule."""
    given = rule("60 mL/kg/h", packed="1,000 mL", topic=DRIP)

    worked = work_out(CHILD, given, carrying("1,000 mL"))

    assert worked.refusal is not None
    assert worked.refusal.because == f"1,200 mL/h is faster than {MOST}"
