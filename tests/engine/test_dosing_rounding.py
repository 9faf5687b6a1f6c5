"""One rounding at the end: half up, past no maximum, down where up is dangerous, or refused."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import Result

TEN = {"amount": "10 mg", "in": "1 mL"}
A_TABLET = {"amount": "100 mg", "in": "1 tablet"}


def dose(fixed: str, concentration: Any = TEN, **more: Any) -> dict[str, Any]:
    return {"kind": "dose", "fixed": fixed, "concentration": concentration, **more}


def drawn(problem: dict[str, Any], name: str = "volume") -> Result:
    return read_problem(problem).solve().results[name]


def because(problem: dict[str, Any]) -> str:
    refusal = read_problem(problem).solve().refusal
    return refusal.because if refusal else ""


@pytest.mark.parametrize(
    ("problem", "set_to"),
    [
        (dose("4.5 mg"), "0.45"),
        (dose("4.55 mg"), "0.46"),  # exactly half goes up
        (dose("4.549 mg"), "0.45"),
        (dose("9.949 mg"), "0.99"),  # below 1 mL by hundredths
        (dose("10 mg"), "1"),  # from 1 mL by tenths
        (dose("12.5 mg"), "1.3"),
        (dose("12.5 mg", rounding="never up"), "1.2"),
        (dose("12.5 mg", max="12.5 mg"), "1.2"),  # 1.3 mL would pass it
        (dose("12.5 mg", max="13 mg"), "1.3"),
        (dose("12.5 mg", graduation="0.25 mL"), "1.25"),
        (dose("12.5 mg", graduation="0.5 mL", max="12.5 mg"), None),  # 1 mL is a fifth off
        (dose("12.5 mg", syringes=[3]), "1.3"),
        (dose("12.5 mg", syringes=[5]), "1.2"),  # marks of 0.2 mL
        (dose("12.5 mg", syringes=[60]), None),  # marks of 1 mL
        (dose("120 mg", syringes=[20, 60]), "12"),
        (dose("145 mg", A_TABLET), "1.5"),  # a tablet can be halved
        (dose("120 mg", A_TABLET), None),
        (dose("300 mg", A_TABLET), "3"),
        (dose("145 mg", A_TABLET, graduation="1 tablet"), None),
    ],
)
def test_a_volume_is_rounded_once_to_the_marks_of_its_device(
    problem: dict[str, Any], set_to: str | None
) -> None:
    """None where no mark comes within a tenth; its arithmetic is kept."""
    found = drawn(problem)

    assert (found.rounded and found.rounded.amount) == (set_to and Fraction(set_to))
    assert bool(because(problem)) == (set_to is None)
    assert found.exact.amount > 0


@pytest.mark.parametrize(
    ("fixed", "is_refused"), [("0.11 mg", False), ("0.1112 mg", True), ("0.05 mg", True)]
)
def test_a_tenth_off_is_refused_and_just_less_is_not(fixed: str, is_refused: bool) -> None:
    """0.011 mL to 0.01 mL is nine hundredths off, 0.01112 mL a tenth."""
    assert (drawn(dose(fixed)).rounded is None) == is_refused
    assert drawn(dose("1 mg", graduation="0.09 mL")).rounded is None  # a tenth exactly


def test_a_child_whose_dose_is_never_rounded_up_may_be_refused_a_draw() -> None:
    """0.019 mL: 0.02 mL is a twentieth too much, 0.01 mL half too little."""
    child = dose("0.19 mg", rounding="never up")

    assert drawn(dose("0.19 mg")).rounded == drawn(dose("0.2 mg")).exact
    assert drawn(child).rounded is None
    assert "the nearest that is not more, 0.01 mL, is 47% off" in because(child)


def test_a_dose_that_is_never_rounded_up_is_right_from_the_mark_below_it() -> None:
    """1.25 mL by tenths: from 1.2 mL to 1.25 mL, and not a hair more."""
    child = read_problem(dose("12.5 mg", rounding="never up"))
    texts = ("1.2", "1.21", "1.25", "1.26", "1.19")
    said = [judge(child, "volume", f"{text} mL").verdict for text in texts]

    assert said == ["right", "right", "right", "out of tolerance", "out of tolerance"]


def test_a_dose_on_a_mark_is_right_at_that_mark_alone_where_none_is_rounded_up() -> None:
    """1 mL with marks 0.2 mL apart: 0.8 mL and more would be up to a fifth too little."""
    child = read_problem(dose("10 mg", rounding="never up", graduation="0.2 mL"))

    assert judge(child, "volume", "1 mL").verdict == "right"
    assert judge(child, "volume", "0.9 mL").verdict == "out of tolerance"


def test_no_mark_below_a_minimum_is_right() -> None:
    """1.05 mL at the least: the mark above it is drawn up, not the nearer one below."""
    least = read_problem(dose("10.5 mg", min="10.5 mg"))

    assert str(least.solve().results["volume"].rounded) == "1.1 mL"
    assert judge(least, "volume", "1 mL").verdict == "out of tolerance"
    assert judge(least, "volume", "1.1 mL").verdict == "right"


@pytest.mark.parametrize(
    ("entered", "slip"),
    [("20 mg", "thousandfold-over"), ("200 mcg", "tenfold-over"), ("20 mcg", "amount-given")],
)
def test_a_dose_told_for_its_volume_keeps_its_slip(entered: str, slip: str) -> None:
    found = judge(read_problem(dose("20 mcg")), "volume", entered)

    assert [each.key for each in found.slips] == [slip]
    assert found.slips[0].words in found.sentence


def test_a_strength_in_words_says_what_one_container_holds() -> None:
    """20 mg of 10 mg in 2 mL are two of them, however the strength is written."""
    asked: dict[str, Any] = {"kind": "containers", "fixed": "20 mg"}
    told = [
        asked | {"concentration": each}
        for each in ("10 mg / 2 mL", {"amount": "10 mg", "in": "2 mL"})
    ]

    assert [str(read_problem(each).solve().results["open"].exact) for each in told] == [
        "2 containers"
    ] * 2


def test_no_way_out_leads_to_another_draw_that_is_refused() -> None:
    """0.0005 mL: ten times as much is no mark either, and is not offered."""
    refused = read_problem(dose("0.005 mg")).solve().refusal

    assert refused is not None
    assert not any("Dilute" in way for way in refused.instead)


def test_a_tighter_limit_of_a_rule_judges_and_refuses_by_itself() -> None:
    """5 %: 1.05 times the dose is unsafe, and so coarse a mark is not drawn up to."""
    tight = read_problem(dose("10 mg", error_limit="5 %"))
    said = {text: judge(tight, "volume", f"{text} mL").verdict for text in ("1.05", "1.06", "0.95")}
    assert set(said.values()) == {"right", "unsafe"} - {"right"}
    assert judge(tight, "volume", "1.04 mL").verdict == "right"  # within half a mark of a tenth

    between = dose("0.54 mg", error_limit="5 %")
    assert drawn(dose("0.54 mg")).rounded is not None
    assert "is 7% off, and less than 5% is accepted" in because(between)


@pytest.mark.parametrize(
    ("given", "verdict"),
    [
        ("0.8", "unsafe"),
        ("0.801", "out of tolerance"),
        ("0.949", "out of tolerance"),
        ("0.95", "right"),
        ("1.05", "right"),
        ("1.199", "out of tolerance"),
        ("1.2", "unsafe"),
    ],
)
def test_a_fifth_off_is_unsafe_and_half_a_mark_is_right(given: str, verdict: str) -> None:
    """Both ways from 1 mL by marks of a tenth."""
    assert judge(read_problem(dose("10 mg")), "volume", f"{given} mL").verdict == verdict


def test_the_ways_out_of_a_refused_draw_are_named() -> None:
    """Another strength aboard where it can be drawn, the dilution as figures, finer marks."""
    tiny = read_problem(dose("0.05 mg", others=["0.1 mg/mL", "20 mg/mL"])).solve()

    assert tiny.refusal is not None
    assert tiny.refusal.instead == (
        "Use what is aboard of 0.1 mg/mL: 0.5 mL.",
        "Dilute it as your protocols say: 1 mL and 9 mL of diluent are 1 mg/mL, of which 0.05 mL "
        "hold the dose.",
        "Use a syringe with finer marks, or ask medical direction for another presentation.",
    )


@pytest.mark.parametrize(
    ("problem", "name", "rounded"),
    [
        ({"rate": "125 mL/h", "set": "20 gtt/mL"}, "gtt_per_min", "42"),
        ({"rate": "37.5 mL/h", "set": "20 gtt/mL"}, "gtt_per_min", "13"),  # 12.5 goes up
        ({"rate": "33.333 mL/h"}, "mL_per_h", "33"),
        ({"rate": "33.333 mL/h", "graduation": "0.1 mL/h"}, "mL_per_h", "33.3"),
        ({"rate": "333.5 mL/h"}, "mL_per_h", "334"),
        ({"rate": "7 mL/h", "set": "10 gtt/mL"}, "gtt_per_min", None),  # 1.17 is no 1
        ({"rate": "100 mL/h", "bag": "259 mL"}, "minutes", "155"),  # 155.4
    ],
)
def test_a_drip_is_set_to_whole_drops_and_minutes_are_cut(
    problem: dict[str, Any], name: str, rounded: str | None
) -> None:
    """Drops half up (a practice sheet), what lasts always down."""
    found = drawn({"kind": "drip", **problem}, name)

    assert (found.rounded and found.rounded.amount) == (rounded and Fraction(rounded))


def test_a_maximum_of_a_drip_is_passed_by_no_setting() -> None:
    """10.5 gtt/min would go up to 11, past the maximum of 10.5."""
    problem = {
        "kind": "drip",
        "dose_rate": "1 mcg/kg/min",
        "weight": "80 kg",
        "max": "42 mcg/min",
        "concentration": "60 mcg/mL",
        "set": "15 gtt/mL",
    }
    found = drawn(problem, "gtt_per_min")

    assert found.exact.amount == Fraction("10.5")
    assert found.rounded is not None
    assert found.rounded.amount == 10
    assert judge(read_problem(problem), "gtt_per_min", "11 gtt/min").is_past_maximum
