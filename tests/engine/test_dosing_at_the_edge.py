"""What decides at the very edge: the mark beside, twice as much, the last figure, the limit."""

from dataclasses import replace
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.dosing import Judgement, judge
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import DRIP
from drills.engine.mixtures import read_mixture
from drills.engine.quantities import read_quantity
from tests.engine.treating import CHILD, ONE_ML_VIAL, carrying, holding, rule

DOSE = {"kind": "dose", "concentration": "1 mg/mL"}
OPENED = {"kind": "containers", "fixed": "25 mg", "concentration": "10 mg / 2 mL"}
WHOLE_ML = {"graduation": "1 mL", "others": ["10 mg/mL"]}
# 160 L at 15 L/min: 10 minutes and two thirds.
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "pressure": "1,200 psi",
    "residual": "200 psi",
    "flow": ["15 L/min"],
}


def judged(given: dict[str, Any], asked: str, entered: str) -> Judgement:
    return judge(read_problem(given), asked, entered)


def keys(found: Judgement) -> list[str]:
    return [each.key for each in found.slips]


class TestSlips:
    @pytest.mark.parametrize(
        ("given", "entered", "slips"),
        [
            # 10.476 mL, set as 10: 11 is the next mark, though the other strength gives it.
            ({"fixed": "110 mg", "concentration": "10.5 mg/mL", **WHOLE_ML}, "11 mL", []),
            # 10.459 mL: 11.4 is no mark, and nobody set it.
            (
                {"fixed": "114 mg", "concentration": "10.9 mg/mL", **WHOLE_ML},
                "11.4 mL",
                ["other-presentation"],
            ),
            # A whole mark away is further than rounding goes.
            ({"fixed": "2 mg", "doses": 2, "graduation": "2 mL"}, "4 mL", ["total-for-each"]),
        ],
    )
    def test_the_mark_beside_what_is_right_is_no_slip(
        self, given: dict[str, Any], entered: str, slips: list[str]
    ) -> None:
        """Rounding alone explains it, and nothing but a mark."""
        assert keys(judged(DOSE | given, "volume", entered)) == slips

    @pytest.mark.parametrize(
        ("other", "entered", "slips"),
        [
            ("12.5 mg / 2 mL", "2 containers", []),  # one less
            ("50 mg / 2 mL", "1 container", ["other-presentation"]),
            ("2 mg / 2 mL", "13 containers", []),  # the number of the dose is thirteen as well
        ],
    )
    def test_a_count_names_what_alone_gives_it(
        self, other: str, entered: str, slips: list[str]
    ) -> None:
        """Three are right; never one less, nor what two slips give."""
        found = judged(OPENED | {"others": [other]}, "open", entered)

        assert (found.verdict, keys(found)) == ("unsafe", slips)

    @pytest.mark.parametrize(
        ("other", "entered", "is_offered"),
        [
            ("5 mg/mL", "4.2 mL", False),
            ("4 mg/mL", "5.25 mL", True),
            ("0.2 mg/mL", "1.05 mL", False),
            ("0.25 mg/mL", "0.84 mL", True),
        ],
    )
    def test_a_pair_that_comes_to_double_or_half_of_it_explains_nothing(
        self, other: str, entered: str, is_offered: bool
    ) -> None:
        """2.1 mL are right; the other strength, and a point moved the other way."""
        found = judged(DOSE | {"fixed": "2.1 mg", "others": [other]}, "volume", entered)

        assert bool(found.possibly) is is_offered
        assert not found.slips

    def test_what_a_slip_would_be_set_to_is_rounded_as_the_figure_is(self) -> None:
        """A tenth of 19 minutes is one whole one; never up, a tenth of 1.9 mL is 0.1 mL."""
        minutes = OXYGEN | {"pressure": "2,100 psi", "flow": ["16 L/min"]}
        drawn = DOSE | {"fixed": "1.9 mg", "graduation": "0.1 mL"}

        assert keys(judged(minutes, "minutes", "2 min")) == []
        assert keys(judged(drawn, "volume", "0.2 mL")) == ["tenfold-under"]
        assert keys(judged(drawn | {"rounding": "never up"}, "volume", "0.2 mL")) == []

    def test_grams_of_a_weight_tell_no_more_than_their_own_figures(self) -> None:
        """44 lb; times 2.2 they are 96.8, and 96,000 g are another figure."""
        pounds = {"kind": "weight", "from": "44 lb"}

        assert keys(judged(pounds, "kg", "96,800 g")) == ["pounds-multiplied"]
        assert keys(judged(pounds, "kg", "96,000 g")) == []


class TestSentences:
    def test_what_has_no_unit_is_asked_for_a_number_alone(self) -> None:
        """A shock index is counted in nothing."""
        index = {"kind": "shock_index", "pulse": "120 beats/min", "systolic": "80 mmHg"}

        assert judged(index, "index", "fast").sentence.endswith(" are. It takes a number.")

    def test_a_right_number_in_a_wrong_unit_is_told_as_that(self) -> None:
        """0.5 mL are right; 0.5 mg are a quarter of the dose, and 2 mg the whole."""
        drawn = {"kind": "dose", "fixed": "2 mg", "concentration": "4 mg/mL"}
        wrong, whole = (judged(drawn, "volume", each) for each in ("0.5 mg", "2 mg"))

        assert "the number is right and the unit is wrong: 0.5 mg is 75% too" in wrong.sentence
        assert keys(whole) == ["amount-given"]

    @pytest.mark.parametrize(
        ("entered", "has_ways_out"),
        [("2.4 mL", True), ("0.4 mL", True), ("2.41 mL", False), ("0.39 mL", False)],
    )
    def test_who_took_a_mark_beside_a_refused_draw_is_told_the_ways_out(
        self, entered: str, has_ways_out: bool
    ) -> None:
        """1.4 mL by whole ones; as far as a whole mark away."""
        found = judged(DOSE | {"fixed": "1.4 mg", "graduation": "1 mL"}, "volume", entered)

        assert ("Dilute it" in found.sentence) is has_ways_out

    def test_minutes_rounded_up_in_decimals_are_told_why(self) -> None:
        """10.6667 are 10.66, and no 10.7."""
        found = judged(OXYGEN, "minutes", "10.7 min")

        assert found.verdict == "unsafe"
        assert "past 10.6667 min, which is rounded down" in found.sentence
        assert judged(OXYGEN, "minutes", "10.66 min").verdict == "right"

    def test_under_the_minimum_is_said_first(self) -> None:
        """1 mL is the least; nothing that is off by so much is a slip."""
        given = DOSE | {"fixed": "1.02 mg", "min": "1 mg", "graduation": "0.1 mL"}
        under, over = (judged(given, "volume", each) for each in ("0.98 mL", "1.08 mL"))

        assert under.sentence.startswith("Out of tolerance, under the minimum of 1 mL.")
        assert over.sentence.endswith("Half a mark decides: right is within 0.05 mL of 1.02 mL.")

    def test_a_mark_that_is_the_minimum_and_comes_not_near_lies_between_marks(self) -> None:
        """1.4 mL by whole ones: 1 mL is allowed, and too far off."""
        limits = {"min": "1 mg", "max": "3 mg", "graduation": "1 mL"}
        refusal = read_problem(DOSE | {"fixed": "1.4 mg"} | limits).solve().refusal

        assert refusal
        assert refusal.because.startswith("1.4 mL lies between marks 1 mL apart: the nearest, 1 mL")


@pytest.mark.parametrize(
    ("kind", "age", "step", "answer"),
    [
        ("tube", "4 years", "4 years, uncuffed: 5 mm", "5 mm"),
        ("tube", "6 years", "6 years, uncuffed: 5.5 mm", "5.5 mm"),
        ("tube", "5 years", "5 years, uncuffed: 5.25 mm: 5 or 5.5 mm", "5 mm, up to 5.5 mm"),
        ("least_systolic", "5 years", "70 + 2 x 5 = 80 mmHg", "80 mmHg"),
        ("least_systolic", "30 years", "30 years: 90 mmHg", "90 mmHg"),
    ],
)
def test_a_figure_of_an_age_is_told_with_what_it_came_from(
    kind: str, age: str, step: str, answer: str
) -> None:
    """Two sizes only where it lies between them, and a sum only where there is one."""
    cuff = {"cuff": "uncuffed"} if kind == "tube" else {}
    solution = read_problem({"kind": kind, "age": age} | cuff).solve()

    assert solution.steps == (step,)
    assert [each.answer for each in solution.results.values()] == [answer]


class TestTreatment:
    @pytest.mark.parametrize(
        ("months", "ends"),
        [
            (0, "1.2 or more than 15"),
            (12, "6.9 or more than 18"),
            (36, "10 or more than 27"),
            (40, "11 or more than 29"),
        ],
    )
    def test_a_doubtful_weight_is_told_in_tenths_below_ten_kilograms(
        self, months: int, ends: str
    ) -> None:
        """From ten on in whole ones; what was told in pounds in tenths as well."""
        patient = Patient(age=Age(months), weight=read_quantity("150 lb"))

        notice = work_out(patient, rule("0.1 mg/kg"), carrying(ONE_ML_VIAL)).notice
        assert "150 lb, which is 68.2 kg, came in" in notice
        assert notice.endswith(f"hardly anybody weighs less than {ends} kg.")

    def test_a_rate_of_fluid_takes_no_strength_whatever_is_in_it(self) -> None:
        """Of 10% as of plain fluid."""
        given = rule("5 mL/kg/h", packed="25 g / 250 mL", topic=DRIP)
        worked = work_out(CHILD, given, carrying("25 g / 250 mL"))

        assert worked.results["mL_per_h"].answer == "100 mL/h"

    def test_nothing_is_opened_where_nobody_says_what_it_comes_in(self) -> None:
        """The volume is there all the same."""
        worked = work_out(CHILD, replace(rule("2 mg"), comes_as=()), carrying())

        assert worked.opened is None
        assert worked.results["volume"].answer == "2 mL"

    def test_another_strength_is_no_way_out_for_a_mixture(self) -> None:
        """0.012 mL of what is mixed is refused; nothing aboard stands for that."""
        mixture = read_mixture(holding(ONE_ML_VIAL).container, take="1 mL", added="9 mL")
        given = rule("0.0012 mg", mixture=mixture, presentation=mixture.presentation)
        aboard = replace(carrying(ONE_ML_VIAL), others=(holding("0.01 mg / 1 mL"),))

        refusal = work_out(CHILD, given, aboard).refusal
        assert refusal
        assert not any("what is aboard" in each for each in refusal.instead)
