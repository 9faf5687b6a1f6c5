"""Published cases through the plain-data door: reproduced where right, not where misprinted."""

import csv
import json
from fractions import Fraction

import pytest

from drills.engine.dosing import RIGHT, judge
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.quantities import Quantity, read_quantity
from tests.engine.published import CASES, DATA, agrees

Row = dict[str, str]


def rows(name: str) -> list[Row]:
    """The rows of a data file."""
    return list(csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines()))


BY_ID = {row["id"]: row for row in CASES}
PROBLEMS = rows("dosing_problems.csv")
WORKED = {f"{row['rule']} at {row['kg']} kg": row for row in rows("dosing_worked.csv")}
MISPRINTS, HAZARDS = rows("dosing_misprints.csv"), rows("dosing_hazards.csv")
# How the units of the published answers are spelt here.
SPELT = {"percent": "%", "tablets": "tablet"}
AS_PRINTED = "min (at least)"


def answered(row: Row) -> dict[str, str]:
    """One figure as the door prints it."""
    told = told_solution(read_problem(json.loads(row["problem"])).solve())
    figure: dict[str, str] = told["results"][row["asked"]]
    return figure


def exact_in(row: Row, unit: str) -> Fraction:
    """The exact figure in the unit that a source prints; per kg where the weight is one."""
    figure = answered(row)
    if unit.endswith("/kg") and not figure["unit"].endswith("/kg"):
        assert json.loads(row["problem"])["weight"] == "1 kg"
        unit = unit.removesuffix("/kg")
    return Quantity(Fraction(figure["exact"]), figure["unit"]).to(unit).amount


@pytest.mark.parametrize("row", [row for row in PROBLEMS if row["id"] in BY_ID], ids=str)
def test_a_published_case_is_reproduced(row: Row) -> None:
    """The exact figure, and the printed one after the rounding of its source."""
    case = BY_ID[row["id"]]
    assert not case["kind"].startswith("flagged_")

    if case["unit"] == AS_PRINTED:  # a lower bound, with its exact figure noted to two places
        assert exact_in(row, "min") == Fraction(case["exact"]) >= Fraction(case["answer"])
    else:
        agrees(exact_in(row, SPELT.get(case["unit"], case["unit"])), case)


@pytest.mark.parametrize("row", [row for row in PROBLEMS if row["id"] in WORKED], ids=str)
def test_a_row_of_a_published_dose_table_is_reproduced(row: Row) -> None:
    """The printed dose, the printed volume by marks of a tenth, and the limit that it met."""
    worked = WORKED[row["id"]]
    told = told_solution(read_problem(json.loads(row["problem"])).solve())
    figure = told["results"][row["asked"]]
    printed = read_quantity(worked[f"answer_{row['asked']}"])

    assert Quantity(Fraction(figure["rounded"]), figure["unit"]) == printed.to(figure["unit"])
    assert (told["limit"] or "") == worked["limit"][:3]


# Kinds that are no problem of the door, and the test that reproduces them.
ELSEWHERE = {
    "weight_est": "test_estimates.py",
    "weight_band_est": "test_estimates.py",
    "flagged_weight_est": "test_estimates.py",
    "tube_size": "test_estimates.py",
    "tube_size_kg": "test_estimates.py",
    "burn_start_rate": "test_burns.py",
    "burn_chart_sum": "test_burns.py",
    "flagged_burn_chart_sum": "test_burns.py",
    "min_sbp": "test_scores.py",
    "shock_index": "test_scores.py",
    "modified_shock_index": "test_scores.py",
    "age_shock_index": "test_scores.py",
    "map": "test_scores.py",
    "gcs": "test_scores.py",
    "cylinder_factor": "test_tables.py",
    "cylinder_litres": "test_tables.py",
    "flagged_gas_volume": "test_tables.py",
}
# X011 and O011 are tests of their own below.
HERE = {"X011", "O011"}


def test_every_published_case_is_reproduced_or_refused_somewhere() -> None:
    """None of the cases is left out: by the door, as a misprint, or by a test of its kind."""
    by_door = {row["id"] for row in (*PROBLEMS, *MISPRINTS)}
    tests = {
        name: (DATA.parent / "engine" / name).read_text("utf-8") for name in {*ELSEWHERE.values()}
    }
    by_kind = {
        row["id"]
        for row in CASES
        if row["kind"] in ELSEWHERE and f'"{row["kind"]}"' in tests[ELSEWHERE[row["kind"]]]
    }

    assert {row["id"] for row in CASES} - by_door - by_kind - HERE == set()
    assert len(rows("dosing_cases.csv")) == 153
    assert set(WORKED) <= by_door


def test_minutes_are_hours_by_the_published_figure() -> None:
    """O011: 244.8 minutes are 4.08 hours."""
    assert read_quantity("244.8 min").to("h") == read_quantity("4.08 h")


@pytest.mark.parametrize("row", MISPRINTS, ids=lambda row: row["id"])
def test_a_misprint_is_never_right_and_its_slips_are_named(row: Row) -> None:
    """Slips found in print; both where two give the same, none where none of ours explains it."""
    found = judge(read_problem(json.loads(row["problem"])), row["asked"], row["entered"])

    assert found.verdict.replace(" ", "_") == row["verdict"] != RIGHT
    assert [each.key for each in found.slips] == row["slips"].split()


def test_a_duration_that_just_falls_short_says_that_it_is_rounded_down() -> None:
    """X013: 29.95 minutes are no 30."""
    (row,) = [each for each in MISPRINTS if each["id"] == "X013"]

    found = judge(read_problem(json.loads(row["problem"])), row["asked"], row["entered"])
    assert "rounded down" in found.sentence


def test_a_rate_that_lost_its_micro_sign_is_refused_by_its_field() -> None:
    """X011: lidocaine 20-50 g/kg, with mcg/kg/min meant, is no rate at all."""
    problem = {
        "kind": "drip",
        "dose_rate": "20 g/kg",
        "weight": "70 kg",
        "concentration": "4 mg/mL",
    }
    with pytest.raises(ValueError, match=r"^dose_rate: 20 g/kg came in"):
        read_problem(problem)


@pytest.mark.parametrize("row", HAZARDS, ids=lambda row: row["id"])
def test_a_printed_volume_far_off_its_dose_is_refused_with_the_arithmetic_kept(row: Row) -> None:
    """One decimal with a floor of 0.1 mL prints up to ten times the dose."""
    problem = read_problem(json.loads(row["problem"]))
    told = told_solution(problem.solve())

    assert Fraction(told["results"]["volume"]["exact"]) == Fraction(row["exact"])
    assert told["results"]["volume"]["rounded"] is None
    assert "marks 0.1 mL apart" in told["refused"]["because"]
    assert len(told["refused"]["instead"]) >= 1
    found = judge(problem, "volume", row["printed"])
    assert found.verdict == "unsafe"
    assert found.ratio == pytest.approx(float(row["times"]), rel=0.005)
