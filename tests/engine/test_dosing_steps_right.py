"""What is set in steps, joules, drops and tablets: what is printed as right is judged right."""

import re
from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from drills.engine.chance import seeded
from drills.engine.dosing import Problem, judge
from drills.engine.dosing.measured import STEPPED
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import Result
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNSAFE
from drills.engine.quantities import exact_text
from tests.engine.dosing_problems import weighed

# 868 / 160 is 5.425, and 350 / 160 is 2.1875: both are told in hundredths, rounded up.
TABLETS = {
    "kind": "dose",
    "weight": "86.8 kg",
    "per_weight": "10 mg/kg",
    "concentration": "160 mg / tablet",
}
MOST = TABLETS | {"max": "350 mg"}
LEAST = {
    "kind": "dose",
    "fixed": "100 mg",
    "min": "333 mg",
    "concentration": "160 mg / tablet",
}
PART = {"kind": "dose", "fixed": "6 mg", "concentration": "325 mg / tablet"}
SHOCK = {"kind": "energy", "weight": "40.6 kg", "per_weight": "0.5 J/kg"}
DROPS = {"kind": "drip", "rate": "33 mL/h", "set": "20 gtt/mL"}
NEVER_UP = {"rounding": "never up"}


def _energy(random: Random) -> dict[str, Any]:
    per = random.choice((0.5, 1, 2, 4))
    problem = {"kind": "energy", "weight": weighed(random), "per_weight": f"{per} J/kg"}
    if random.random() < 0.5:
        problem["max"] = f"{random.choice((37, 75, 120, 360))} J"
    if random.random() < 0.4:
        problem["high"] = f"{per * 2:g} J/kg"
    if random.random() < 0.5:
        problem["graduation"] = f"{random.choice((2, 5, 10, 30, 50))} J"
    return problem


def _drops(random: Random) -> dict[str, Any]:
    rate = random.randint(1, 20)
    problem = {
        "kind": "drip",
        "dose_rate": f"{rate} mcg/kg/min",
        "weight": weighed(random),
        "concentration": random.choice(("4 mcg/mL", "1600 mcg/mL", "800 mcg/mL")),
        "set": f"{random.choice((10, 15, 20, 60))} gtt/mL",
    }
    if random.random() < 0.4:
        problem["high"] = f"{rate * 2} mcg/kg/min"
    if random.random() < 0.4:
        problem["max"] = random.choice(("333 mcg/min", "7 mcg/kg/min"))
    return problem


def _tablets(random: Random) -> dict[str, Any]:
    per = random.choice((0.1, 2, 10, 15))
    problem = {
        "kind": "dose",
        "weight": weighed(random),
        "per_weight": f"{per} mg/kg",
        "concentration": f"{random.choice((2, 81, 160, 325))} mg / tablet",
    }
    if random.random() < 0.4:
        problem["high"] = f"{per * 2:g} mg/kg"
    if random.random() < 0.4:
        problem["max"] = f"{random.choice((333, 350, 1000))} mg"
    if random.random() < 0.3:
        problem["min"] = f"{random.choice((3, 100, 333))} mg"
    return problem


def _all(many: int) -> Iterator[dict[str, Any]]:
    random = seeded("steps right")
    for number in range(many):
        problem = (_energy, _drops, _tablets)[number % 3](random)
        yield problem | (NEVER_UP if random.random() < 0.5 else {})


def _printed(result: Result) -> Iterator[str]:
    """Every figure that a working, an answer or a sentence prints as right."""
    yield from map(str, result.ends)
    yield from (f"{exact_text(end.amount)} {end.unit}" for end in result.ends)
    yield from result.answer.split(", up to ")


def _figures(problem: Problem) -> list[tuple[str, Result]]:
    found = [each for each in problem.solve().results.items() if each[1].exact.unit in STEPPED]
    return [each for each in found if each[1].high_amount]


@pytest.mark.parametrize(
    "given",
    [
        *(
            each | rounding
            for each in (TABLETS, MOST, PART, SHOCK, DROPS)
            for rounding in ({}, NEVER_UP)
        ),
        LEAST,
        *_all(60),
    ],
)
def test_what_is_printed_as_right_in_steps_is_right(given: dict[str, Any]) -> None:
    """In the working, in the answer and in the sentence of one that is a little off; at a limit
    and where a child's is never rounded up."""
    problem = read_problem(given)
    assert _figures(problem)
    for name, result in _figures(problem):
        for each in _printed(result):
            assert judge(problem, name, each).verdict == RIGHT, (name, each)
        near = (end.amount * Fraction(part, 100) for end in result.ends for part in (97, 103))
        for amount in near:
            judged = judge(problem, name, f"{exact_text(amount)} {result.exact.unit}")
            for told in re.findall(r"right is (.*?), or the exact", judged.sentence):
                for figure in told.split(", up to "):
                    assert judge(problem, name, figure).verdict == RIGHT, (name, figure)


@pytest.mark.parametrize(
    ("given", "asked", "right", "wrong", "verdict"),
    [
        (TABLETS | NEVER_UP, "volume", "5.43 tablets", "5.44 tablets", OUT_OF_TOLERANCE),
        (MOST | NEVER_UP, "volume", "2.19 tablets", "2.2 tablets", UNSAFE),
        (MOST, "volume", "2.19 tablets", "2.2 tablets", UNSAFE),
        (PART, "volume", "0.0184615 tablet", "0.02 tablet", OUT_OF_TOLERANCE),
        (SHOCK | NEVER_UP, "energy", "20.3 J", "20.4 J", OUT_OF_TOLERANCE),
        (DROPS | NEVER_UP, "gtt_per_min", "11 gtt/min", "11.1 gtt/min", OUT_OF_TOLERANCE),
    ],
)
def test_one_more_of_the_last_printed_figure_in_steps_is_not_right(
    given: dict[str, Any], asked: str, right: str, wrong: str, verdict: str
) -> None:
    """What is printed is no wider than it is printed; of a small part of a tablet six figures are
    told."""
    problem = read_problem(given)
    assert any(right in each for each in problem.solve().steps), problem.solve().steps
    assert judge(problem, asked, right).verdict == RIGHT
    assert judge(problem, asked, wrong).verdict == verdict


@pytest.mark.parametrize(
    ("given", "asked", "entered", "said"),
    [
        (
            SHOCK | NEVER_UP,
            "energy",
            "20.2 J",
            "It is set in steps of 1 J: right is 20 J, or the exact figure as told, never above.",
        ),
        (
            MOST | NEVER_UP,
            "volume",
            "2.05 tablets",
            "It is given in halves of a tablet: right is 2 tablets, or the exact figure as told, "
            "never above.",
        ),
        (
            DROPS,
            "gtt_per_min",
            "10.8 gtt/min",
            "It is set in steps of 1 gtt/min: right is 11 gtt/min, or the exact figure as told.",
        ),
    ],
)
def test_no_stretch_is_told_of_what_is_set_in_steps(
    given: dict[str, Any], asked: str, entered: str, said: str
) -> None:
    """Between two settings there is none, so none is told to be right."""
    judged = judge(read_problem(given), asked, entered)
    assert judged.verdict == OUT_OF_TOLERANCE
    assert judged.sentence.endswith(said)
