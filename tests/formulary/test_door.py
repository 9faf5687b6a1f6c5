"""The door of the commands: one JSON problem in, one JSON answer out, and no database."""

import json
import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.formulary.door import TEN_KG, burn, dose, drip, energy, oxygen, weight

ROOT = Path(__file__).parents[2]
# Worked on paper from the formulas: the figures, exact and as a device gives them, and the limit.
SOLVED: list[tuple[dict[str, Any], dict[str, tuple[str, str | None]], str | None]] = [
    (weight("44 lb"), {"kg": ("20", "20")}, None),
    (weight("44 lbs"), {"kg": ("20", "20")}, None),
    (weight("154 pounds", graduation="1 kg"), {"kg": ("70", "70")}, None),
    (weight("5 lb", graduation="1 kg"), {"kg": ("2.272727272727", "2")}, None),
    (weight("100 lb", pounds="exact"), {"kg": ("45.359237", "45.4")}, None),
    (weight("12,5 kg"), {"kg": ("12.5", "12.5")}, None),
    (dose(**TEN_KG), {"dose": ("1", "1")}, None),
    (dose(**TEN_KG, concentration="3 mg/mL"), {"volume": ("0.333333333333", "0.33")}, None),
    (dose(**TEN_KG, concentration="10 %"), {"volume": ("0.01", "0.01")}, None),
    (dose(**TEN_KG, concentration="1:10,000"), {"volume": ("10", "10")}, None),
    (dose(**TEN_KG, concentration="1:10000"), {"volume": ("10", "10")}, None),
    (
        dose(**TEN_KG, concentration={"amount": "1 mg", "in": "250 mL"}),
        {"volume": ("250", "250")},
        None,
    ),
    (
        dose(**TEN_KG, concentration={"amount": "0,5 g", "in": "1 L"}),
        {"volume": ("2", "2")},
        None,
    ),
    (
        dose(weight="44 lb", per_weight="0,1 mg/kg", concentration="2 mg/mL", max="1.5 mg"),
        {"dose": ("1.5", "1.5"), "volume": ("0.75", "0.75")},
        "max",
    ),
    (
        dose(weight="3 kg", per_weight="0.02 mg/kg", min="0.1 mg", concentration="0.1 mg/mL"),
        {"dose": ("0.1", "0.1"), "volume": ("1", "1")},
        "min",
    ),
    (
        dose(weight="15 kg", per_weight="0.3 mg/kg", concentration="2 mg/mL", graduation="0.1 mL"),
        {"volume": ("2.25", "2.3")},
        None,
    ),
    (
        dose(
            weight="15 kg",
            per_weight="0.3 mg/kg",
            concentration="2 mg/mL",
            graduation="0.1 mL",
            rounding="never up",
        ),
        {"volume": ("2.25", "2.2")},
        None,
    ),
    # 0.6667 mL hold the maximum: the mark above it would pass it.
    (
        dose(fixed="2 mg", max="2 mg", concentration="3 mg/mL"),
        {"volume": ("0.666666666667", "0.66")},
        None,
    ),
    (dose(fixed="12.36 mg", max="12.36 mg"), {"dose": ("12.36", "12.36")}, None),
    (dose(fixed="5000 units", concentration="1,000 units/mL"), {"volume": ("5", "5")}, None),
    (
        dose(weight="18 kg", per_weight="1 mEq/kg", concentration="1 mEq/mL"),
        {"volume": ("18", "18")},
        None,
    ),
    (
        dose(fixed="0.5 mg", concentration={"amount": "250 mcg", "in": "1 tablet"}),
        {"volume": ("2", "2")},
        None,
    ),
    (
        dose(fixed="324 mg", concentration={"amount": "81 mg", "in": "1 tablet"}),
        {"volume": ("4", "4")},
        None,
    ),
    (dose(weight="20 kg", per_weight="20 mL/kg"), {"dose": ("400", "400")}, None),
    (
        dose(weight="20 kg", per_weight="3 mL/kg", max="125 mL", concentration="10 %"),
        {"dose": ("60", "60"), "volume": ("60", "60"), "amount": ("6000", "6000")},
        None,
    ),
    (
        dose(weight="70 kg", per_weight="0.05 mg/kg", high="0.1 mg/kg", max="5 mg"),
        {"dose": ("3.5", "3.5")},
        "max",
    ),
    (dose(fixed="2.5 mg", doses=3), {"dose": ("2.5", "2.5"), "total": ("7.5", "7.5")}, None),
    (
        drip(volume="1 L", over="8 h", set="20 gtt/mL"),
        {"mL_per_h": ("125", "125"), "gtt_per_min": ("41.666666666667", "42")},
        None,
    ),
    (drip(volume="1.000 L", over="480 min"), {"mL_per_h": ("125", "125")}, None),
    (drip(volume="100 mL", over="1800 s"), {"mL_per_h": ("200", "200")}, None),
    (drip(rate="125 mL/h", bag="1,000 mL"), {"minutes": ("480", "480")}, None),
    (
        drip(rate="2 mL/min", set="10 gtt/mL"),
        {"gtt_per_min": ("20", "20"), "mL_per_h": ("120", "120")},
        None,
    ),
    (drip(rate="28 gtt/min", set="10 gtt/mL", over="180 min"), {"volume": ("504", "504")}, None),
    (
        drip(dose_rate="20 mcg/kg/min", weight="70 kg", concentration="1 mg/mL", set="60 gtt/mL"),
        {"gtt_per_min": ("84", "84"), "mL_per_h": ("84", "84")},
        None,
    ),
    (
        drip(dose_rate="5 mcg/kg/min", weight="154 lb", concentration="1,600 mcg/mL"),
        {"mL_per_h": ("13.125", "13")},
        None,
    ),
    (
        drip(
            dose_rate="5 mcg/kg/min",
            weight="154 lb",
            concentration="1600 mcg/mL",
            graduation="0.1 mL/h",
        ),
        {"mL_per_h": ("13.125", "13.1")},
        None,
    ),
    (
        drip(
            dose_rate="2 mcg/min", concentration={"amount": "1 mg", "in": "250 mL"}, set="60 gtt/mL"
        ),
        {"mL_per_h": ("30", "30"), "gtt_per_min": ("30", "30")},
        None,
    ),
    (
        drip(
            dose_rate="1 mcg/kg/min",
            weight="20 kg",
            max="10 mcg/min",
            concentration="4 mcg/mL",
            set="60 gtt/mL",
        ),
        {"gtt_per_min": ("150", "150")},
        "max",
    ),
    (
        drip(dose_rate="600 units/h", concentration={"amount": "12,000 units", "in": "250 mL"}),
        {"mL_per_h": ("12.5", "13")},
        None,
    ),
    (
        drip(dose_rate="1 mg/min", concentration="2 %", bag="500 mL"),
        {"mL_per_h": ("3", "3"), "minutes": ("10000", "10000")},
        None,
    ),
    (
        {"kind": "dilution", "concentration": "0.1 mg/mL", "volume": "1 mL", "to": "10 mL"},
        {"concentration": ("0.01", "0.01")},
        None,
    ),
    (
        {"kind": "dilution", "concentration": "50 %", "volume": "10 mL", "to": "50 mL"},
        {"concentration": ("100", "100"), "percent": ("10", "10")},
        None,
    ),
    (
        {"kind": "dilution", "concentration": "1:1,000", "volume": "1 mL", "to": "1 L"},
        {"concentration": ("0.001", "0.001")},
        None,
    ),
    (oxygen(), {"litres": ("224", "224"), "minutes": ("22.4", "22")}, None),
    (oxygen(factor="1.56 L/psi", pressure="392 psi"), {"minutes": ("29.952", "29")}, None),
    (oxygen(residual="0 psi", flow="2 L/min"), {"minutes": ("140", "140")}, None),
    (oxygen(flow=["10 L/min", "4 L/min"]), {"minutes": ("16", "16")}, None),
    (oxygen(flow="0,5 L/min"), {"minutes": ("448", "448")}, None),
    (oxygen(pressure="200 psi"), {"minutes": ("0", "0")}, None),
    (
        burn(since_injury="0 h"),
        {"total": ("4800", "4800"), "first_half_rate": ("300", "300")},
        None,
    ),
    (burn(since_injury="2 h"), {"first_half_rate": ("400", "400")}, None),
    (burn(since_injury="90 min"), {"first_half_rate": ("369.230769230769", "369")}, None),
    (burn(), {"first_half_rate": ("300", "300")}, None),
    (burn(weight="176 lb"), {"total": ("4800", "4800")}, None),
    (energy(weight="60 kg"), {"energy": ("120", "120")}, None),
    (energy(weight="60 kg", per_weight="4 J/kg"), {"energy": ("200", "200")}, "max"),
    (energy(weight="44 lb", per_weight="0,5 J/kg"), {"energy": ("10", "10")}, None),
    (energy(weight="7 kg", graduation="5 J"), {"energy": ("14", "15")}, None),
]


@pytest.mark.parametrize(("problem", "figures", "limit"), SOLVED)
def test_the_door_gives_the_figures_of_the_formulas(
    door: Any,
    problem: dict[str, Any],
    figures: dict[str, tuple[str, str | None]],
    limit: str | None,
) -> None:
    code, answer = door("solve", problem)

    assert code == 0, answer
    assert answer["limit"] == limit
    assert "refused" not in answer
    assert all(isinstance(step, str) and step for step in answer["steps"])
    assert answer["steps"]
    for name, (exact, rounded) in figures.items():
        found = answer["results"][name]
        assert abs(Fraction(found["exact"]) - Fraction(exact)) <= Fraction(1, 10**9)
        assert Fraction(found["rounded"]) == Fraction(rounded or 0)
        assert found["unit"]


@pytest.mark.parametrize(
    ("problem", "name", "exact"),
    [
        (
            dose(
                weight="1 kg", per_weight="0.01 mg/kg", concentration="1 mg/mL", graduation="0.1 mL"
            ),
            "volume",
            "0.01",
        ),
        (dose(fixed="0.1 mg", concentration={"amount": "1 mg", "in": "1 tablet"}), "volume", "0.1"),
        (drip(rate="4 mL/h", set="10 gtt/mL"), "gtt_per_min", "0.666666666667"),
        (drip(rate="0.4 mL/h", graduation="1 mL/h"), "mL_per_h", "0.4"),
        (energy(weight="2 kg", graduation="5 J", per_weight="0.5 J/kg"), "energy", "1"),
        (
            energy(weight="75 kg", graduation="50 J", per_weight="1 J/kg", max="75 J"),
            "energy",
            "75",
        ),
        (dose(weight="1 kg", per_weight="0.3 mg/kg", graduation="1 mg"), "dose", "0.3"),
    ],
)
def test_a_refusal_never_hides_the_arithmetic(
    door: Any, problem: dict[str, Any], name: str, exact: str
) -> None:
    code, answer = door("solve", problem)

    assert code == 0
    assert Fraction(answer["results"][name]["exact"]) == Fraction(exact)
    assert answer["results"][name]["rounded"] is None
    assert answer["refused"]["because"]
    assert answer["refused"]["instead"]


def test_after_eight_hours_there_is_no_rate_and_the_total_is_kept(door: Any) -> None:
    """Nothing is left to divide by: no figure is made up, and what was due is told."""
    for since in ("8 h", "9 h", "600 min"):
        code, answer = door("solve", burn(since_injury=since))

        assert (code, answer["results"]["total"]["exact"]) == (0, "4800")
        assert "first_half_rate" not in answer["results"]
        assert "first eight hours are over" in answer["refused"]["because"]
        assert "2,400 mL were due" in answer["refused"]["instead"][0]
        assert "at 150 mL/h" in answer["refused"]["instead"][0]


@pytest.mark.parametrize(
    ("since", "exact", "is_refused"),
    [("7 h", "800", False), ("7.01 h", "808.08", True), ("7.9 h", "8000", True)],
)
def test_what_is_left_of_eight_hours_may_be_too_little(
    door: Any, since: str, exact: str, is_refused: bool
) -> None:
    """Half of a day's fluid in less than an hour: worked out, and refused."""
    code, answer = door("solve", burn(area="10 %", since_injury=since))
    rate = answer["results"]["first_half_rate"]

    assert code == 0
    assert abs(Fraction(rate["exact"]) - Fraction(exact)) < Fraction(1, 100)
    assert (rate["rounded"] is None, "refused" in answer) == (is_refused, is_refused)
    assert answer["results"]["total"]["rounded"] == "1600"
    if is_refused:
        assert answer["refused"]["because"].startswith(f"{since} after the injury only 0.")
        assert "800 mL were due by eight hours" in answer["refused"]["instead"][0]


@pytest.mark.parametrize("command", ["solve", "judge"])
def test_the_door_answers_without_a_database(command: str) -> None:
    """With an address of a database that is nowhere, and a text that is no UTF-8 too."""
    outside = {
        **os.environ,
        "DJANGO_DEBUG": "1",
        "DATABASE_URL": "postgres://nobody@127.0.0.1:1/no",
    }
    good = json.dumps(
        weight("44 lb")
        if command == "solve"
        else {"problem": weight("44 lb"), "asked": "kg", "entered": "44 kg"}
    ).encode()

    def ask(given: bytes) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(
            [sys.executable, "manage.py", command],
            input=given,
            capture_output=True,
            cwd=ROOT,
            env=outside,
            check=False,
        )

    answer = ask(good)
    assert (answer.returncode, answer.stderr) == (0, b"")
    assert json.loads(answer.stdout)
    refused = ask(b"\xff\xfe")
    assert refused.returncode == 2
    assert "error" in json.loads(refused.stdout)
