"""What a weight gives that was rightly rounded on the way is right; and joules are set whole."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.quantities import exact_text

# 150 lb: 68.1818 kg, told as 68.2 or 68.
DOSE = {"kind": "dose", "weight": "150 lb", "per_weight": "1 mg/kg", "concentration": "1 mg/mL"}
SHOCK = {"kind": "energy", "weight": "150 lb", "per_weight": "1 J/kg"}
# 4 x 68.1818 x 69 = 18,818.2 mL; by 68.2 kg 18,823.2, by 68 kg 18,768.
BURN = {"kind": "burn", "weight": "150 lb", "area": "69 %", "per": "4 mL/kg/%"}
BURNED = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "front of the trunk; left arm",
    "weight": "150 lb",
    "per": "4 mL/kg/%",
}
DRIP = {
    "kind": "drip",
    "weight": "150 lb",
    "dose_rate": "5 mcg/kg/min",
    "concentration": "1 mg/mL",
}
CONTAINERS = {**DOSE, "kind": "containers", "concentration": "10 mg / 2 mL"}


@pytest.mark.parametrize(
    ("given", "asked", "entered", "verdict"),
    [
        (DOSE, "dose", "68 mg", "right"),
        (DOSE, "dose", "68.2 mg", "right"),
        (DOSE, "dose", "0.068 g", "right"),
        (DOSE, "dose", "68.1 mg", "right"),
        (DOSE, "dose", "67 mg", "out of tolerance"),
        ({**DOSE, "weight": "68.1818 kg"}, "dose", "68 mg", "out of tolerance"),
        (DOSE, "volume", "68 mL", "right"),
        ({**DOSE, "max": "67.9 mg"}, "dose", "68 mg", "unsafe"),
        # 20.4545 kg are told as 20.5 kg, never as 20.
        ({**DOSE, "weight": "45 lb"}, "dose", "20.5 mg", "right"),
        ({**DOSE, "weight": "45 lb"}, "dose", "20 mg", "out of tolerance"),
        # A fixed dose has no weight to round.
        (
            {"kind": "dose", "weight": "150 lb", "fixed": "68.2 mg"},
            "dose",
            "68 mg",
            "out of tolerance",
        ),
        (CONTAINERS, "dose", "68 mg", "right"),
        (CONTAINERS, "volume", "13.6 mL", "right"),
        (BURN, "total", "18,768 mL", "right"),
        (BURN, "total", "18,823 mL", "right"),
        (BURN, "total", "18,790 mL", "right"),
        (BURN, "total", "18,760 mL", "out of tolerance"),
        (BURNED, "total", "7,344 mL", "right"),
        ({**BURNED, "weight": None, "per": None}, "area", "28 %", "out of tolerance"),
        (DRIP, "mL_per_min", "0.34 mL/min", "right"),
        (DRIP, "mL_per_min", "0.343 mL/min", "out of tolerance"),
        ({**DRIP, "pounds": "exact"}, "mL_per_min", "0.34 mL/min", "right"),
    ],
)
def test_what_a_rightly_rounded_weight_gives_is_right(
    given: dict[str, Any], asked: str, entered: str, verdict: str
) -> None:
    """Whoever may take 68 kg of 150 lb may give 68 mg, and what is nearer."""
    assert judge(read_problem(given), asked, entered).verdict == verdict


@pytest.mark.parametrize(
    ("weight", "entered", "verdict"),
    [
        ("150 lb", "68 J", "right"),
        ("20.45 kg", "20 J", "right"),
        ("20.45 kg", "20.5 J", "right"),
        ("20.45 kg", "21 J", "out of tolerance"),
        ("12.6 kg", "13 J", "right"),
        ("9.45 kg", "9.5 J", "right"),
        ("9.45 kg", "9 J", "right"),
        ("9.45 kg", "10 J", "out of tolerance"),
    ],
)
def test_joules_are_right_to_the_whole_one(weight: str, entered: str, verdict: str) -> None:
    """Nobody sets 20.45 J."""
    shock = read_problem({**SHOCK, "weight": weight})

    assert judge(shock, "energy", entered).verdict == verdict
    assert judge(shock, "energy", str(shock.solve().results["energy"].rounded)).verdict == "right"


BAG = {
    "kind": "drip",
    "weight": "150 lb",
    "dose_rate": "5 mcg/kg/min",
    "concentration": "1600 mcg/mL",
    "bag": "250 mL",
}
# From right outwards; what an answer is never becomes better again.
WORSE = ("right", "out_of_tolerance", "unsafe")


@pytest.mark.parametrize("pounds", ["2.2", "exact"])
@pytest.mark.parametrize("weight", ["150 lb", "88.9 lb", "45 lb", "231 lb"])
def test_no_bag_is_right_to_last_longer_than_it_does(weight: str, pounds: str) -> None:
    """150 lb: 1,173.3 minutes; by 68 kg it would be 1,176."""
    problem = read_problem({**BAG, "weight": weight, "pounds": pounds})
    last = int(problem.solve().results["minutes"].exact.amount)

    told = [judge(problem, "minutes", f"{last + more} min").verdict for more in range(30)]

    assert told == ["right", *["unsafe"] * 29]


def _outwards(start: Fraction, limit: Fraction) -> list[int]:
    """Numbers of steps out to a quarter of so many: each one near either end of the limit."""
    last = int(start / 4)
    edges = (0, int(start * limit))
    return [
        each
        for each in range(last)
        if each % 10 == 0 or each == last - 1 or any(abs(each - edge) <= 20 for edge in edges)
    ]


@pytest.mark.parametrize("limit", ["0.2 %", "1 %", "5 %", "20 %"])
@pytest.mark.parametrize(("given", "asked"), [(DOSE, "dose"), (DOSE, "volume"), (SHOCK, "energy")])
def test_farther_from_what_is_right_nothing_is_judged_better(
    given: dict[str, Any], asked: str, limit: str
) -> None:
    """By steps of a twentieth near what is right and near the limit, of a half between, and of a
    whole joule, out to a quarter off on either side."""
    problem = read_problem({**given, "error_limit": limit})
    right = problem.solve().results[asked]
    step = Fraction(1) if asked == "energy" else Fraction(1, 20)
    for way in (1, -1):
        start = right.rounded.amount if right.rounded else right.exact.amount
        told = [
            judge(problem, asked, exact_text(start + way * step * each) + f" {right.exact.unit}")
            for each in _outwards(start / step, Fraction(limit.rstrip(" %")) / 100)
        ]
        ranks = [WORSE.index(each.verdict.replace(" ", "_")) for each in told]
        assert ranks == sorted(ranks)
        assert ranks[0] == 0
        assert ranks[-1] == len(WORSE) - 1


@pytest.mark.parametrize(
    ("weight", "entered", "verdict"),
    [
        ("154 lb", "69.85 kg", "right"),
        ("154 lb", "69.9 kg", "right"),
        ("154 lb", "69.8 kg", "out of tolerance"),
        ("22 lb", "9.98 kg", "right"),
        ("22 lb", "9.9 kg", "out of tolerance"),
    ],
)
def test_a_pound_is_turned_by_either_factor(weight: str, entered: str, verdict: str) -> None:
    """154 x 0.45359 = 69.85, where 154 / 2.2 = 70."""
    told = read_problem({"kind": "weight", "from": weight})

    assert judge(told, "kg", entered).verdict == verdict
