"""A figure that no mark comes near enough to is refused, and the reason and the ways out told."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem, told_solution

DROPS = {"kind": "drip", "rate": "49.6 mL/h", "set": "15 gtt/mL"}  # 12.4 gtt/min
SHOCK = {"kind": "energy", "weight": "10.4 kg", "per_weight": "2 J/kg", "graduation": "2 J"}
BURN = {
    "kind": "burn",
    "weight": "80 kg",
    "area": "30 %",
    "per": "2 mL/kg/%",
    "since_injury": "2.2 h",
    "graduation": "50 mL/h",  # 413.793 mL/h
}
DOSE = {"kind": "dose", "fixed": "10.4 mg", "graduation": "1 mg"}


def told(problem: dict[str, Any]) -> dict[str, Any]:
    return told_solution(read_problem(problem).solve())


@pytest.mark.parametrize(
    ("problem", "asked", "mark", "off"),
    [
        (DROPS, "gtt_per_min", "12", "3%"),
        (SHOCK, "energy", "20", "4%"),
        (BURN, "first_half_rate", "400", "3%"),
        (DOSE, "dose", "10", "4%"),
    ],
)
def test_a_tighter_limit_refuses_the_mark_that_it_would_call_unsafe(
    problem: dict[str, Any], asked: str, mark: str, off: str
) -> None:
    """Between the limit and a tenth: what is told to be set is never judged unsafe."""
    free, tight = told(problem), told({**problem, "error_limit": "2 %"})

    assert free["results"][asked]["rounded"] == mark
    assert "refused" not in free
    assert tight["results"][asked]["rounded"] is None
    assert f"is {off} off, and less than 2% is accepted" in tight["refused"]["because"]
    assert tight["results"][asked]["exact"] == free["results"][asked]["exact"]


@pytest.mark.parametrize(
    ("pounds", "marks", "rounded"),
    [
        ("5 lb", "1 kg", "2"),  # an eighth off, as the published table has it
        ("1.5 lb", "1 kg", None),  # 0.68 kg
        ("0.15 lb", "1 kg", None),
        ("150 lb", "100 kg", None),
    ],
)
def test_a_weight_is_told_by_marks_as_long_as_that_is_safe(
    pounds: str, marks: str, rounded: str | None
) -> None:
    """It is written down and not drawn up; a fifth off is a dosing error all the same."""
    found = told({"kind": "weight", "from": pounds, "graduation": marks})

    assert found["results"]["kg"]["rounded"] == rounded
    assert ("refused" in found) == (rounded is None)
    if rounded is None:
        assert found["refused"]["instead"] == ["Tell it to a smaller part of a kg."]


def test_a_fluid_is_not_diluted_to_be_measured() -> None:
    """0.004 mL of a fluid are 0.004 mL, however weak it is."""
    found = told({"kind": "dose", "fixed": "0.004 mL", "concentration": "10 %"})

    assert found["results"]["volume"]["rounded"] is None
    assert found["refused"]["instead"] == [
        "Use a syringe with finer marks, or another presentation."
    ]


def test_a_container_is_opened_for_a_draw_that_is_refused_too() -> None:
    """One vial holds it; 0.012 mL of it cannot be drawn up."""
    vial = {
        "kind": "containers",
        "fixed": "0.6 mg",
        "concentration": {"amount": "50 mg", "in": "1 mL"},
    }
    found = told(vial)

    assert found["results"]["open"]["rounded"] == "1"
    assert found["results"]["volume"]["rounded"] is None
    assert "0.012 mL lies between marks" in found["refused"]["because"]


def test_an_index_that_no_two_places_tell_is_refused() -> None:
    """A pulse of one in two minutes is measured again."""
    faint = {"kind": "shock_index", "pulse": "0.5 beats/min", "systolic": "100 mmHg"}
    found = told(faint)

    assert found["results"]["index"] == {"exact": "0.005", "rounded": None, "unit": "index"}
    assert found["refused"]["instead"]
    assert judge(read_problem(faint), "index", "0.005 index").verdict == "right"
