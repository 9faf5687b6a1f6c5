"""The first setting of a range: what it gives, and when no set or pump comes near the start."""

from dataclasses import replace

import pytest

from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import DRIP
from drills.engine.quantities import read_quantity
from tests.engine.treating import GROWN, carrying, rule

STRONG = {
    "kind": "drip",
    "dose_rate": "2 mcg/kg/min",
    "high": "20 mcg/kg/min",
    "weight": "220 lb",
    "concentration": "1600 mcg/mL",
}
WEAK = {
    "kind": "drip",
    "dose_rate": "0.05 mcg/kg/min",
    "high": "0.5 mcg/kg/min",
    "weight": "15 kg",
    "concentration": "16 mcg/mL",
}


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (STRONG, "2 gtt/min gives 3.2 mcg/kg/min"),
        (WEAK, "1 gtt/min gives 0.107 mcg/kg/min"),
    ],
)
def test_a_set_whose_first_setting_is_far_above_the_start_is_refused_and_says_what_it_gives(
    problem: dict[str, str], says: str
) -> None:
    """As it is of a single rate: 10 gtt/mL is refused, 60 gtt/mL is the way out."""
    refused = read_problem(problem | {"set": "10 gtt/mL"}).solve()
    drops = refused.results["gtt_per_min"]

    assert refused.refusal is not None
    assert says in refused.refusal.because
    assert refused.refusal.instead == ("Use a drip set with smaller drops, or a pump.",)
    assert (drops.rounded, drops.rounded_high) == (None, None)
    assert not [step for step in refused.steps if "Whole drops" in step]


def test_a_set_that_comes_near_the_start_is_set_from_there() -> None:
    """7.5 gtt/min is 8, 6.7 % over; the way up is the same."""
    fine = read_problem(STRONG | {"set": "60 gtt/mL"}).solve()

    assert fine.refusal is None
    assert fine.results["gtt_per_min"].answer == "8 gtt/min, up to 75 gtt/min"


def test_a_setting_just_under_the_start_is_nearer_than_the_first_inside() -> None:
    """1.05 gtt/min is 1, 4.8 % under it; 2 would be nearly twice the dose."""
    problem = {
        "kind": "drip",
        "dose_rate": "105 mcg/min",
        "high": "400 mcg/min",
        "concentration": "1000 mcg/mL",
        "set": "10 gtt/mL",
    }
    solution = read_problem(problem).solve()

    assert solution.refusal is None
    assert solution.results["gtt_per_min"].answer == "1 gtt/min, up to 4 gtt/min"


def test_the_service_says_from_which_share_off_a_start_is_refused() -> None:
    """8 for 7.5 drops is 6.7 % off: from 5 % on it is refused."""
    solution = read_problem(STRONG | {"set": "60 gtt/mL", "refused_from": "5 %"}).solve()

    assert solution.refusal is not None
    assert solution.results["gtt_per_min"].rounded is None


def test_of_a_patient_the_set_says_what_its_first_setting_gives() -> None:
    """By each set that is carried; of one that is set there is nothing to say."""
    given = rule(
        "2 mcg/kg/min", high="20 mcg/kg/min", packed="400 mg / 250 mL", topic=DRIP, error_limit=10
    )
    stock = carrying("400 mg / 250 mL", sets=("10 gtt/mL", "60 gtt/mL"))
    patient = replace(GROWN, weight=read_quantity("220 lb"))

    running = work_out(patient, given, stock).running

    assert running is not None
    coarse, fine = running.drops
    assert (coarse.rate.rounded, str(coarse.gives)) == (None, "3.2 mcg/kg/min")
    assert (str(fine.rate.rounded), str(fine.gives)) == ("8 gtt/min", "2.13 mcg/kg/min")
