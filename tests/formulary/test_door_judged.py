"""Judgements through the door of the commands."""

from typing import Any

import pytest

from tests.formulary.door import TEN_KG, burn, dose, drip, oxygen, weight


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "verdict", "slips"),
    [
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.5 mL", "right", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0,5 mL", "right", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.55 mL", "out_of_tolerance", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.7 mL", "unsafe", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.0005 L", "right", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "half a mL", "unreadable", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.5", "unreadable", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "0.5 mL/h", "unreadable", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "1.000,5 mL", "unreadable", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "", "unreadable", []),
        (dose(**TEN_KG, concentration="2 mg/mL"), "volume", "1 mL", "unsafe", ["dose-as-volume"]),
        (
            dose(**TEN_KG, concentration="2 mg/mL"),
            "volume",
            "500 mL",
            "unsafe",
            ["thousandfold-over"],
        ),
        (dose(fixed="2 mg", doses=3), "total", "2 mg", "unsafe", ["each-for-total"]),
        (dose(fixed="2 mg", doses=3), "dose", "6 mg", "unsafe", ["total-for-each"]),
        (weight("44 lb"), "kg", "44 kg", "unsafe", ["pounds-as-kg"]),
        (weight("44 lb"), "kg", "96.8 kg", "unsafe", ["pounds-multiplied"]),
        (weight("44 kg"), "kg", "20 kg", "unsafe", ["kg-as-pounds"]),
        (oxygen(), "minutes", "28 min", "unsafe", ["no-residual"]),
        (oxygen(), "minutes", "22 min", "right", []),
        (oxygen(), "minutes", "23 min", "unsafe", []),
        (oxygen(residual="0 psi"), "minutes", "0.46 h", "out_of_tolerance", []),
        (burn(), "total", "2,400 mL", "unsafe", ["burn-halved"]),
        (burn(), "first_half_rate", "600 mL/h", "unsafe", ["burn-doubled"]),
        (
            drip(rate="3 mL/h", set="60 gtt/mL", other_sets=["15 gtt/mL"]),
            "gtt_per_min",
            "0.75 gtt/min",
            "unsafe",
            ["other-set"],
        ),
        (drip(rate="120 mL/h"), "mL_per_h", "2 mL/h", "unsafe", ["minute-for-hour"]),
        (
            {"kind": "dilution", "concentration": "50 %", "volume": "10 mL", "to": "50 mL"},
            "concentration",
            "10 %",
            "right",
            [],
        ),
        (
            {"kind": "dilution", "concentration": "50 %", "volume": "10 mL", "to": "50 mL"},
            "percent",
            "12.5 %",
            "unsafe",
            ["diluent-for-total"],
        ),
    ],
)
def test_the_door_judges_and_names_the_slip(
    door: Any, problem: dict[str, Any], asked: str, entered: str, verdict: str, slips: list[str]
) -> None:
    code, answer = door("judge", {"problem": problem, "asked": asked, "entered": entered})

    assert code == 0, answer
    assert (answer["verdict"], answer["slips"]) == (verdict, slips)
    assert (answer["ratio"] is None) == (verdict == "unreadable")
    assert answer["sentence"].endswith(".")
    assert len(answer["sentence"]) <= 240


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"asked": "kg", "entered": "1 kg"}, "problem"),
        ({"problem": weight("44 lb"), "entered": "1 kg"}, "asked"),
        ({"problem": weight("44 lb"), "asked": "kg"}, "entered"),
        ({"problem": weight("44 lb"), "asked": "kg", "entered": 20}, "entered"),
        ({"problem": weight("44 lb"), "asked": ["kg"], "entered": "20 kg"}, "asked"),
        ({"problem": weight("44 lb"), "asked": "volume", "entered": "20 kg"}, "asked"),
        ({"problem": weight("0 lb"), "asked": "kg", "entered": "20 kg"}, "from"),
        ([], "standard input"),
    ],
)
def test_what_cannot_be_judged_names_the_field(door: Any, given: Any, field: str) -> None:
    code, answer = door("judge", given)

    assert code == 2
    assert answer["error"].startswith(f"{field}: ")


@pytest.mark.parametrize(
    ("entered", "verdict", "said"),
    [
        ("300 mL/h", "unsafe", "Unsafe, there is no such figure: 9 h after the injury the first"),
        ("0 mL/h", "unsafe", "Unsafe, there is no such figure"),
        ("300", "unreadable", "'300' came in without a unit. Write 300 mL/h if that is meant."),
        ("300 mL", "unreadable", "300 mL is in mL, and mL/h was asked for"),
    ],
)
def test_a_rate_for_hours_that_are_over_is_never_right(
    door: Any, entered: str, verdict: str, said: str
) -> None:
    """It can be asked, and the answer says that there is none."""
    late = {"problem": burn(since_injury="9 h"), "asked": "first_half_rate", "entered": entered}
    code, answer = door("judge", late)

    assert (code, answer["verdict"], answer["ratio"], answer["slips"]) == (0, verdict, None, [])
    assert answer["sentence"].startswith(said)
    assert verdict != "unsafe" or "2,400 mL were due" in answer["sentence"]
    assert door("judge", late | {"asked": "rate"})[0] == 2


def test_a_rate_that_is_too_fast_is_right_as_a_figure_alone(door: Any) -> None:
    """The arithmetic is right, and nobody is told to run it."""
    late = {"problem": burn(since_injury="7.9 h"), "asked": "first_half_rate"}
    right = door("judge", {**late, "entered": "24,000 mL/h"})[1]
    wrong = door("judge", {**late, "entered": "4,000 mL/h"})[1]

    assert right["verdict"] == "right"
    assert right["sentence"].startswith("Right as a figure, and refused: 7.9 h after")
    assert wrong["sentence"].endswith("= 24,000 mL/h, which is too fast to be run.")
