"""What the dial of a pump can be set to, and how a weight is told."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem

# 33.333... mL/h, and 3.333...
A_THIRD = {"kind": "drip", "volume": "100 mL", "over": "3 h"}
A_TENTH_OF_IT = {"kind": "drip", "volume": "10 mL", "over": "3 h"}
# 100 mcg/mL: mcg/min of 60/100 mL/h.
BY_DOSE = {"kind": "drip", "concentration": "100 mcg/mL"}
BURN = {
    "kind": "burn",
    "weight": "75 kg",
    "area": "11 %",
    "per": "2 mL/kg/%",
    "since_injury": "1 h",
}


def verdict(problem: dict[str, Any], asked: str, entered: str) -> str:
    return judge(read_problem(problem), asked, entered).verdict


@pytest.mark.parametrize(
    ("problem", "entered", "said"),
    [
        (A_THIRD, "33 mL/h", "right"),
        (A_THIRD, "33.3 mL/h", "right"),
        (A_THIRD, "33.33 mL/h", "right"),
        (A_THIRD, "34 mL/h", "out of tolerance"),
        (A_THIRD, "32 mL/h", "out of tolerance"),
        (A_TENTH_OF_IT, "3.3 mL/h", "right"),
        (A_TENTH_OF_IT, "3.38 mL/h", "right"),
        (A_TENTH_OF_IT, "3.4 mL/h", "out of tolerance"),
        (A_TENTH_OF_IT, "3 mL/h", "out of tolerance"),
        ({"kind": "drip", "rate": "9.96 mL/h"}, "10 mL/h", "right"),
        ({"kind": "drip", "rate": "9.96 mL/h"}, "9.9 mL/h", "out of tolerance"),
        ({"kind": "drip", "rate": "10 mL/h"}, "10.5 mL/h", "right"),
        ({"kind": "drip", "rate": "10 mL/h"}, "10.51 mL/h", "out of tolerance"),
        # A tenth is a sixth off 0.12 mL/h: no dial of ours comes near it.
        ({"kind": "drip", "rate": "0.12 mL/h"}, "0.12 mL/h", "right"),
        ({"kind": "drip", "rate": "0.12 mL/h"}, "0.1 mL/h", "out of tolerance"),
        ({"kind": "drip", "rate": "0.12 mL/h"}, "0.13 mL/h", "out of tolerance"),
        # What the pump can be set to is said: that stands before what is usual.
        (A_THIRD | {"graduation": "0.1 mL/h"}, "33 mL/h", "out of tolerance"),
        (A_THIRD | {"graduation": "0.1 mL/h"}, "33.3 mL/h", "right"),
    ],
)
def test_a_rate_is_right_by_the_dial_of_a_pump(
    problem: dict[str, Any], entered: str, said: str
) -> None:
    """Whole mL/h from 10 on and tenths below."""
    assert verdict(problem, "mL_per_h", entered) == said


def test_a_rate_is_set_as_the_pump_can_be_set() -> None:
    """One figure: what is told is what the dial is set to."""
    told = read_problem(A_THIRD).solve().results["mL_per_h"]

    assert told.rounded == told.mark
    assert (told.mark.amount, told.answer) == (Fraction(33), "33 mL/h")


def test_a_rate_that_no_dial_comes_near_is_refused() -> None:
    """A tenth is a sixth off 0.12 mL/h; the arithmetic stands, and the way out is named."""
    solution = read_problem({"kind": "drip", "rate": "0.12 mL/h"}).solve()

    assert solution.results["mL_per_h"].rounded is None
    assert solution.results["mL_per_h"].exact.amount == Fraction("0.12")
    assert solution.refusal is not None
    assert solution.refusal.instead == ("Use a pump with finer settings, or a weaker mixture.",)


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("33 mL/h", "right"),
        ("33.6 mL/h", "right"),
        ("33.61 mL/h", "unsafe"),
        ("34 mL/h", "unsafe"),
        ("32 mL/h", "out of tolerance"),
    ],
)
def test_no_dial_is_right_past_a_maximum(entered: str, said: str) -> None:
    """33.6 mL/h at most: the whole one below it is what a pump is set to."""
    capped = {**BY_DOSE, "dose_rate": "60 mcg/min", "max": "56 mcg/min"}

    assert verdict(capped, "mL_per_h", entered) == said


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("5.95 mL/h", "right"),
        ("5.9 mL/h", "out of tolerance"),
        ("20 mL/h", "right"),
        ("30 mL/h", "right"),
        ("30.1 mL/h", "out of tolerance"),
    ],
)
def test_each_end_of_a_range_has_its_own_dial(entered: str, said: str) -> None:
    """6 to 30 mL/h: half a tenth below the low end, and nothing above the high one."""
    ranged = {**BY_DOSE, "dose_rate": "10 mcg/min", "high": "50 mcg/min"}

    assert verdict(ranged, "mL_per_h", entered) == said


class TestTitrated:
    """A dose rate that is told as a range."""

    FROM_2_TO_10: dict[str, Any] = {
        "kind": "drip",
        "concentration": "16 mcg/mL",
        "dose_rate": "2 mcg/min",
        "high": "10 mcg/min",
    }

    def test_a_bag_lasts_as_the_fast_end_leaves_it(self) -> None:
        """37.5 mL/h empty 250 mL in 400 minutes; 2,000 would be at the slow end."""
        problem = read_problem(self.FROM_2_TO_10 | {"bag": "250 mL"})

        minutes = problem.solve().results["minutes"]
        assert (minutes.exact.amount, minutes.high) == (Fraction(400), None)
        assert judge(problem, "minutes", "401 min").verdict == "unsafe"

    @pytest.mark.parametrize(
        ("low", "high", "answer"),
        [
            # 7.5 to 37.5 mL/h: the last whole one inside, and no 38 past it.
            ("2 mcg/min", "10 mcg/min", "7.5 mL/h, up to 37 mL/h"),
            # 3.96 to 9.96: tenths, toward the inside at both ends.
            ("1.056 mcg/min", "2.656 mcg/min", "4 mL/h, up to 9.9 mL/h"),
            # 10.2 to 10.9 mL/h: no whole one lies inside, and 10 is near enough.
            ("2.72 mcg/min", "2.90666 mcg/min", "10 mL/h"),
        ],
    )
    def test_it_is_set_from_the_first_mark_inside_to_the_last(
        self, low: str, high: str, answer: str
    ) -> None:
        """Neither end is rounded out of the range."""
        ranged = self.FROM_2_TO_10 | {"dose_rate": low, "high": high}

        assert read_problem(ranged).solve().results["mL_per_h"].answer == answer

    def test_a_mark_inside_is_set_though_the_low_end_lies_between_two(self) -> None:
        """1.9 to 3.33 drops a minute: 2 and 3 lie inside, and 2 is 5.3 % over the low end."""
        ranged = self.FROM_2_TO_10 | {
            "dose_rate": "3.04 mcg/min",
            "high": "5.3333 mcg/min",
            "set": "10 gtt/mL",
        }
        solution = read_problem(ranged).solve()

        assert solution.refusal is None
        assert solution.results["gtt_per_min"].answer == "2 gtt/min, up to 3 gtt/min"

    def test_the_working_has_the_start_the_steps_and_the_ceiling(self) -> None:
        """Each end by itself, the limit that the high one met, and what the pump is set in."""
        capped = self.FROM_2_TO_10 | {"max": "8 mcg/min", "bag": "250 mL"}

        assert read_problem(capped).solve().steps == (
            "Start with 2 mcg/min",
            "2 mcg/min / 16 mcg/mL = 0.125 mL/min",
            "0.125 mL/min x 60 min/h = 7.5 mL/h",
            "The range goes to 10 mcg/min",
            "The maximum is 8 mcg/min: give no more than 8 mcg/min",
            "8 mcg/min / 16 mcg/mL = 0.5 mL/min",
            "0.5 mL/min x 60 min/h = 30 mL/h",
            "By steps of the pump of 0.1 mL/h and 1 mL/h: 7.5 mL/h, up to 30 mL/h",
            "250 mL / 0.5 mL/min = 500 min",
        )

    def test_a_ceiling_above_the_range_is_told_too(self) -> None:
        """It is never passed, whether the range meets it or not."""
        steps = read_problem(self.FROM_2_TO_10 | {"max": "20 mcg/min"}).solve().steps

        assert "The maximum is 20 mcg/min: 75 mL/h at most" in steps


def test_the_fluid_of_a_burn_is_run_by_a_dial_too() -> None:
    """1,650 mL, half of it in 7 h: 117.857 mL/h."""
    assert verdict(BURN, "first_half_rate", "118 mL/h") == "right"
    assert verdict({**BURN, "area": "5 %"}, "first_half_rate", "54 mL/h") == "right"  # 53.571
    assert verdict({**BURN, "area": "5 %"}, "first_half_rate", "53 mL/h") == "out of tolerance"


@pytest.mark.parametrize(
    ("area", "right", "wrong"),
    [
        # 7 kg x 2 mL x area: 990 and 1,010 mL are asked of 70.7 % and 72.1 %.
        ("70.7 %", ("989.8", "990", "990.3"), ("985", "995")),
        ("72.1 %", ("1,009.4", "1,010", "1,009", "1,005", "1,014"), ("1,004", "1,015")),
    ],
)
def test_the_fluid_of_a_day_is_right_by_the_marks_of_a_bag(
    area: str, right: tuple[str, ...], wrong: tuple[str, ...]
) -> None:
    """Ten mL from a litre on, one below; by a graduation where that is told."""
    burn = {"kind": "burn", "weight": "7 kg", "area": area, "per": "2 mL/kg/%"}

    assert {verdict(burn, "total", f"{each} mL") for each in right} == {"right"}
    assert {verdict(burn, "total", f"{each} mL") for each in wrong} == {"out of tolerance"}
    by_one = {**burn, "graduation": "1 mL"}
    assert verdict(by_one, "total", f"{right[0]} mL") == "right"
    assert verdict(by_one, "total", "1,005 mL") == "out of tolerance"


def test_a_tighter_limit_stands_before_the_dial() -> None:
    """Of 10 mL/h by whole ones 10.5 mL/h is right, and 5 % off."""
    tight = {"kind": "drip", "rate": "10 mL/h", "error_limit": "5 %"}

    assert verdict(tight, "mL_per_h", "10.5 mL/h") == "unsafe"
    assert verdict(tight, "mL_per_h", "10.4 mL/h") == "right"


@pytest.mark.parametrize(
    ("pounds", "right", "wrong"),
    [
        # 2.2727 kg; 2.3 is 1.2 % off, 2 a tenth and more.
        ("5 lb", ("2.27", "2.3", "2.273"), ("2", "2.2", "2.25")),
        ("3 lb", ("1.36", "1.364"), ("1.4", "1.3", "1")),
        # 8.1818 kg: 8 is 2.2 % off.
        ("18 lb", ("8.18", "8.2"), ("8", "8.1", "8.3")),
        # 20.4545 kg.
        ("45 lb", ("20.5", "20.45", "20.4545"), ("20", "21", "20.4")),
        ("44 lb", ("20", "20.04"), ("19.9", "20.2")),
        # 14.0909 kg: the whole one is 0.6 % off.
        ("31 lb", ("14", "14.1", "14.09"), ("15", "14.2")),
        # 40.9091 kg: from 40 kg on a whole one is always near enough.
        ("90 lb", ("41", "40.9", "40.91"), ("40", "41.1")),
        ("180 lb", ("82", "81.8", "81.82"), ("81", "83")),
    ],
)
def test_a_weight_is_right_to_a_tenth_and_to_the_whole_kg_that_is_near(
    pounds: str, right: tuple[str, ...], wrong: tuple[str, ...]
) -> None:
    """To the whole kg, and below 4 kg to the tenth, where that misses by 1.25 % at most."""
    problem = {"kind": "weight", "from": pounds}

    assert {verdict(problem, "kg", f"{each} kg") for each in right} == {"right"}
    assert "right" not in {verdict(problem, "kg", f"{each} kg") for each in wrong}


def test_a_whole_kg_is_told_where_it_is_asked_for() -> None:
    """The published table is in whole kg: 45 lb are 20 kg there."""
    by_table = {"kind": "weight", "from": "45 lb", "graduation": "1 kg"}

    assert verdict(by_table, "kg", "20 kg") == "right"
    assert verdict(by_table, "kg", "21 kg") == "out of tolerance"
