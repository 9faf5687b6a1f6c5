"""A limit of a dose holds in every figure that is made of it, of every kind of problem."""

from fractions import Fraction

import pytest

from drills.engine.dosing.judging import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNSAFE

EACH_AND_ALL = {
    "kind": "dose",
    "weight": "30 kg",
    "per_weight": "0.1 mg/kg",
    "max": "2 mg",
    "doses": 3,
    "concentration": "1 mg/mL",
}
BOLUS = {
    "kind": "dose",
    "weight": "10 kg",
    "per_weight": "20 mL/kg",
    "max": "100 mL",
    "concentration": "0.9 %",
}


@pytest.mark.parametrize(
    ("problem", "asked", "right", "past"),
    [
        (EACH_AND_ALL, "total", "6 mg", "6.01 mg"),
        (EACH_AND_ALL, "total", "6 mg", "7 mg"),
        (EACH_AND_ALL, "dose", "2 mg", "2.01 mg"),
        (EACH_AND_ALL, "volume", "2 mL", "2.01 mL"),
        (BOLUS, "amount", "900 mg", "901 mg"),
        (BOLUS, "amount", "0.9 g", "1000 mg"),
        (BOLUS, "dose", "100 mL", "101 mL"),
        (BOLUS, "volume", "100 mL", "101 mL"),
        (BOLUS | {"doses": 2}, "total", "200 mL", "201 mL"),
    ],
)
def test_a_maximum_crossed_is_unsafe_in_every_figure_of_a_dose(problem, asked, right, past):
    """At any size, in what all doses come to and in what is in a fluid too."""
    worked = read_problem(problem)
    assert judge(worked, asked, right).verdict == RIGHT
    judged = judge(worked, asked, past)
    assert (judged.verdict, judged.is_past_maximum) == (UNSAFE, True)


def test_the_top_of_a_range_is_the_maximum_in_what_all_doses_come_to():
    """2 to 4 mg, at most 3 mg: two are 4 to 6 mg."""
    worked = read_problem(
        {"kind": "dose", "fixed": "2 mg", "high": "4 mg", "max": "3 mg", "doses": 2}
    )
    assert [judge(worked, "total", each).verdict for each in ("6 mg", "6.05 mg")] == [RIGHT, UNSAFE]


@pytest.mark.parametrize(
    ("asked", "right", "under"),
    [("dose", "8.004 mg", "8 mg"), ("total", "16.008 mg", "16 mg")],
)
def test_nothing_under_a_minimum_is_right_in_every_figure_of_a_dose(asked, right, under):
    """As it is told it may be four figures too few."""
    worked = read_problem({"kind": "dose", "fixed": "7 mg", "min": "8.004 mg", "doses": 2})
    assert judge(worked, asked, right).verdict == RIGHT
    assert judge(worked, asked, under).verdict == OUT_OF_TOLERANCE


@pytest.mark.parametrize("asked", ["mL_per_h", "mL_per_min", "gtt_per_min"])
def test_a_maximum_crossed_is_unsafe_in_every_rate_of_a_drip(asked):
    """1 % past it, by the pump and by drops."""
    worked = read_problem(
        {
            "kind": "drip",
            "dose_rate": "30 mcg/min",
            "max": "10 mcg/min",
            "concentration": "1 mcg/mL",
            "set": "60 gtt/mL",
        }
    )
    most = worked.solve().results[asked].exact
    assert judge(worked, asked, most.exactly()).verdict == RIGHT
    assert judge(worked, asked, most.times(Fraction(101, 100)).exactly()).verdict == UNSAFE


def test_a_maximum_crossed_is_unsafe_in_joules():
    """201 J where 200 J are the most."""
    worked = read_problem(
        {"kind": "energy", "weight": "60 kg", "per_weight": "4 J/kg", "max": "200 J"}
    )
    assert [judge(worked, "energy", each).verdict for each in ("200 J", "201 J")] == [RIGHT, UNSAFE]
