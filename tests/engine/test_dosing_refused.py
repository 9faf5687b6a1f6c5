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
        ("0.5 lb", "1 kg", None),
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


@pytest.mark.parametrize(
    ("sizes", "dose", "way"),
    [
        # 0.03 mL: of 1 mL and 9 mL 0.3 mL.
        ([3], "0.03 mg", "1 mL and 9 mL of diluent are 0.1 mg/mL, of which 0.3 mL hold the dose."),
        # 1.5 mL between whole marks: 15 mL are not in ten.
        ([20], "1.5 mg", "2 mL and 18 mL of diluent are 0.1 mg/mL, of which 15 mL hold the dose."),
        ([20], "1 mg", None),  # is drawn as it is
    ],
)
def test_what_is_diluted_holds_what_is_drawn_of_it(
    sizes: list[int], dose: str, way: str | None
) -> None:
    """As much is mixed as the dose takes."""
    found = told(
        {"kind": "dose", "fixed": dose, "concentration": "1 mg/mL", "syringes": sizes}
    ).get("refused", {"instead": []})

    ways = [each for each in found["instead"] if each.startswith("Dilute")]
    assert ways == ([f"Dilute it as your protocols say: {way}"] if way else [])


def test_what_no_syringe_mixes_is_not_diluted() -> None:
    """6.5 mL by marks of 5 mL: seventy are more than anything aboard holds."""
    coarse = {"kind": "dose", "fixed": "6.5 mg", "concentration": "1 mg/mL"}

    assert told(coarse | {"graduation": "5 mL"})["refused"]["instead"] == [
        "Use a syringe with finer marks, or ask medical direction for another presentation."
    ]


class TestShock:
    """What a device cannot be set to, told with what it can."""

    @pytest.mark.parametrize(
        ("kg", "limits", "rounded", "step"),
        [
            (30, {}, "50", "The device has 50 J and 100 J: set 50 J"),
            (45, {}, "100", "The device has 50 J and 100 J: set 100 J"),
            (
                45,
                {"max": "95 J", "error_limit": None},
                None,
                "The device has 50 J and 100 J, which is past the maximum",
            ),
            (28, {"max": "56 J"}, "50", "The device has 50 J and 100 J, which is past the maximum"),
        ],
    )
    def test_the_nearest_that_is_not_past_the_maximum_is_set(
        self, kg: int, limits: dict[str, str | None], rounded: str | None, step: str
    ) -> None:
        """With both neighbours in the working; 60 J are 50 J, and 90 J are 100 J."""
        shock = {"kind": "energy", "weight": f"{kg} kg", "per_weight": "2 J/kg"}

        found = told(shock | {"graduation": "50 J"} | limits)

        assert found["results"]["energy"]["rounded"] == rounded
        assert found["steps"][-1].startswith(step)

    def test_a_refusal_names_what_can_be_selected(self) -> None:
        """70 J: 50 J is 29 % off, and past what is safe."""
        found = told(
            {"kind": "energy", "weight": "35 kg", "per_weight": "2 J/kg", "graduation": "50 J"}
        )["refused"]

        assert found == {
            "of": "energy",
            "because": "70 J cannot be selected: the device has 50 J and 100 J. The nearest, 50 J, "
            "is 29% off, and less than 20% is accepted.",
            "instead": ["Ask medical direction, or use a device with finer settings."],
        }

    def test_below_the_least_setting_the_least_is_named(self) -> None:
        """1 J where the device begins with 5 J; and not where the maximum forbids it."""
        least = {"kind": "energy", "weight": "2 kg", "per_weight": "0.5 J/kg", "graduation": "5 J"}

        assert (
            "no less than 5 J. The nearest, 5 J, is 400% off" in told(least)["refused"]["because"]
        )
        assert told(least | {"max": "4 J"})["refused"]["instead"] == [
            "Ask medical direction, or use a device with finer settings."
        ]

    def test_a_range_is_set_inside(self) -> None:
        """20.8 to 41.6 J by fives: 25 to 40 J, and nothing is refused."""
        ranged = {"kind": "energy", "weight": "10.4 kg", "per_weight": "2 J/kg", "high": "4 J/kg"}
        found = told(ranged | {"graduation": "5 J"})

        energy = found["results"]["energy"]
        assert (energy["rounded"], energy["rounded_high"]) == ("25", "40")
        assert "refused" not in found

    def test_joules_are_whole(self) -> None:
        """45 lb at 2 J/kg are 40.909 J."""
        found = told({"kind": "energy", "weight": "45 lb", "per_weight": "2 J/kg"})

        assert found["results"]["energy"]["rounded"] == "41"
        assert found["steps"][-1] == "Whole joules: set 41 J"


def test_a_fluid_is_not_diluted_to_be_measured() -> None:
    """0.004 mL of a fluid are 0.004 mL, however weak it is."""
    found = told({"kind": "dose", "fixed": "0.004 mL", "concentration": "10 %"})

    assert found["results"]["volume"]["rounded"] is None
    assert found["refused"]["instead"] == [
        "Use a syringe with finer marks, or ask medical direction for another presentation."
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


def test_containers_are_counted_by_what_is_drawn_at_the_high_end() -> None:
    """1 to 2.5 mL: three of a mL; and 1.004 mL are drawn as 1 mL, which one holds."""
    vial = {"kind": "containers", "concentration": {"amount": "1 mg", "in": "1 mL"}}

    ranged = told(vial | {"fixed": "1 mg", "high": "2.5 mg", "syringes": [3]})
    assert ranged["results"]["open"] == {"exact": "3", "rounded": "3", "unit": "containers"}
    drawn = told(vial | {"fixed": "1.004 mg", "syringes": [1, 3]})
    assert (drawn["results"]["volume"]["rounded"], drawn["results"]["open"]["exact"]) == ("1", "1")


def test_an_index_that_no_two_places_tell_is_refused() -> None:
    """A pulse of one in two minutes is measured again."""
    faint = {"kind": "shock_index", "pulse": "0.5 beats/min", "systolic": "100 mmHg"}
    found = told(faint)

    assert found["results"]["index"] == {"exact": "0.005", "rounded": None, "unit": "index"}
    assert found["refused"]["instead"]
    assert judge(read_problem(faint), "index", "0.005 index").verdict == "right"
