"""What goes into one site of a muscle: more is divided, and refused as one draw."""

import csv
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from drills.engine.ages import read_age
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import Asked, problem_asked
from tests.engine.treating import GROWN, carrying, rule

PUBLISHED = Path(__file__).parents[1] / "data" / "injection_sites.csv"
CASES = list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['age']}, {case['volume']}")
def test_the_published_volumes_go_into_so_many_sites(case: dict[str, str]) -> None:
    """The exact figure stands where the draw does not."""
    dose = case["volume"].replace("mL", "mg")
    patient = replace(GROWN, age=read_age(case["age"]), weight=None)
    worked = work_out(patient, rule(dose, route="IM"), carrying("1 mg / 1 mL"))

    volume, many = worked.results["volume"], int(case["sites"])
    assert str(volume.exact) == case["volume"]
    assert (volume.rounded is None) == (many > 1)
    assert (worked.refusal is not None) == (many > 1)
    if worked.refusal:
        assert worked.refusal.instead[0].startswith(f"Give it in {many} sites, ")


@pytest.mark.parametrize(
    ("route", "is_refused"),
    [("IM", True), (" im", True), ("intramuscular", True), ("IV/IM", False), ("IV", False)],
)
def test_only_where_the_muscle_is_the_one_route(route: str, is_refused: bool) -> None:
    """In a drill as well, where a rule for nobody in particular goes by a grown-up."""
    given = rule("6.4 mg", route=route)
    problem = read_problem(problem_asked(given, Asked(syringes=[10])))

    assert (work_out(GROWN, given, carrying("1 mg / 1 mL")).refusal is not None) == is_refused
    assert (problem.solve().refusal is not None) == is_refused


@pytest.mark.parametrize(
    ("ages", "age", "most"),
    [
        ((None, None), None, "5 mL"),
        ((Fraction(1), Fraction(8)), None, "2 mL"),
        ((None, None), "8 months", "1 mL"),
    ],
)
def test_a_drill_goes_by_the_age_that_is_known(ages: Any, age: str | None, most: str) -> None:
    """That of the patient of a call, else the first of the rule."""
    given = replace(rule("1 mg", route="IM"), ages=ages)
    asked = problem_asked(given, Asked(age=read_age(age) if age else None))
    assert asked["per_site"] == most


def told(dose: str, **given: Any) -> dict[str, Any]:
    problem = {"kind": "dose", "fixed": dose, "concentration": "1 mg/mL", "per_site": "5 mL"}
    return told_solution(read_problem(problem | given).solve())


def test_why_and_the_ways_out_are_told() -> None:
    """What is aboard and fits stands beside the sites."""
    found = told("6.4 mg", others=["2 mg/mL", "0.5 mg/mL"])

    assert found["results"]["volume"]["exact"] == "6.4"
    assert found["results"]["volume"]["rounded"] is None
    assert found["refused"] == {
        "of": "volume",
        "because": "6.4 mL is more than the 5 mL that go into one site.",
        "instead": [
            "Give it in 2 sites, 3.2 mL in each, as your protocols say.",
            "Use what is aboard of 2 mg/mL: 3.2 mL.",
            "Use a stronger presentation, or ask medical direction for another route.",
        ],
    }


def test_what_is_set_decides_and_nobody_is_told_five_sites() -> None:
    """5.04 mL are set as 5 mL; 21 mL would take five sites."""
    assert "refused" not in told("5.04 mg")
    assert told("20 mg")["refused"]["instead"][0].startswith("Give it in 4 sites, 5 mL in each")
    assert told("21 mg")["refused"]["instead"] == [
        "Use a stronger presentation, or ask medical direction for another route."
    ]


def test_many_fillings_are_told_before_the_sites() -> None:
    """Who has no syringe for it cannot divide it."""
    assert "takes 6 fillings" in told("6 mg", syringes=[1])["refused"]["because"]
    assert "go into one site" in told("9 mg", syringes=[3])["refused"]["because"]


@pytest.mark.parametrize(
    ("dose", "given", "said"),
    [
        ("2.04 mg", {"syringes": [3], "per_site": "1 mL"}, "2 sites, 1 mL in each"),
        (
            "5 mg",
            {"syringes": [5], "per_site": "1.5 mL"},
            "4 sites, 1.4 mL in 1 of them and 1.2 mL in 3",
        ),
        ("5 mg", {"syringes": [5], "per_site": "2 mL"}, "3 sites, 1.8 mL in 1 of them and 1.6 mL"),
        ("2 mg", {"graduation": "0.4 mL", "per_site": "1 mL"}, "3 sites, 0.8 mL in 2 of them"),
    ],
)
def test_every_share_is_on_a_mark_and_within_the_most(
    dose: str, given: dict[str, Any], said: str
) -> None:
    """What is drawn is shared out, and not the volume that it was rounded from."""
    assert told(dose, **given)["refused"]["instead"][0].startswith(f"Give it in {said}")


@pytest.mark.parametrize("per_site", ["1.3 mL", "0.1 mL"])
def test_no_sites_are_told_where_the_shares_would_pass_the_most(per_site: str) -> None:
    """5 mL by 0.2: four shares within 1.3 mL hold 4.8 mL; and no mark is within 0.1 mL."""
    (way,) = told("5 mg", syringes=[5], per_site=per_site)["refused"]["instead"]

    assert way.startswith("Use a stronger presentation")
