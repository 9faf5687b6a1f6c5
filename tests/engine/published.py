"""Published cases by their kind, for the tests that reproduce them."""

import csv
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

from drills.engine.ages import Age
from drills.engine.quantities import half_up, round_down

DATA = Path(__file__).parents[1] / "data"
CASES = [
    row
    for name in ("dosing_cases.csv", "supply_cases.csv")
    for row in csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines())
]
_ROUNDING = {"half-up to": half_up, "down to": round_down}


def cases(*kinds: str) -> list[dict[str, str]]:
    """The cases of some kinds; it is an error if a kind has none."""
    found = [row for row in CASES if row["kind"] in kinds]
    assert {row["kind"] for row in found} == set(kinds)
    return found


def ids(row: dict[str, str]) -> str:
    """What pytest calls a case."""
    return row["id"]


def given_in(row: dict[str, str]) -> dict[str, Any]:
    """What a case gives: numbers exact, texts as they are, years or months as an age."""
    has: dict[str, Any] = {
        name: value if isinstance(value, str) else Fraction(str(value))
        for name, value in json.loads(row["inputs"]).items()
    }
    if "age" in has:
        has["age"] = Age.of_years(int(has["age"]))
    if "months" in has:
        has["age"] = Age(int(has.pop("months")))
    return has


def agrees(found: Fraction, row: dict[str, str]) -> None:
    """The exact figure to the six places it is noted with, and the printed one as printed."""
    exact = Fraction(row["exact"] or row["answer"])
    assert abs(found - exact) <= Fraction(1, 2_000_000)
    how, _, step = row["rounding"].rpartition(" ")
    printed = _ROUNDING[how](found, Fraction(step)) if step else found
    assert printed == Fraction(row["answer"])
