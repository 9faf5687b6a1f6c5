"""A drip worked out with another strength that is aboard is named, as a dose is."""

import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.chance import seeded
from drills.engine.concentrations import read_packed
from drills.engine.dosing import ProblemError, judge
from drills.engine.dosing.reading import read_problem
from drills.engine.exercises.drip import write
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import DRIP
from drills.engine.mixtures import read_mixture
from tests.engine.treating import aboard, rule

# 400 mcg/min of 1,600 mcg/mL: 15 mL/h; of 800 mcg/mL 30 mL/h.
DRIP_OF_TWO = {
    "kind": "drip",
    "dose_rate": "5 mcg/kg/min",
    "weight": "80 kg",
    "concentration": {"amount": "400 mg", "in": "250 mL"},
    "others": [{"amount": "200 mg", "in": "250 mL"}],
    "set": "60 gtt/mL",
    "bag": "250 mL",
}
BAG = rule(
    "2 mcg/kg/min",
    high="20 mcg/kg/min",
    packed="400 mg / 250 mL",
    topic=DRIP,
    need="bag",
    medicine_key="testamine",
)
RUNNING = {
    "kind": "drip",
    "rate": "15 mL/h",
    "concentration": "1600 mcg/mL",
    "others": ["0.8 mg/mL"],
}


@pytest.mark.parametrize(
    ("problem", "asked", "right", "entered"),
    [
        (DRIP_OF_TWO, "mL_per_h", "15 mL/h", "30 mL/h"),
        (DRIP_OF_TWO, "mL_per_min", "0.25 mL/min", "0.5 mL/min"),
        (DRIP_OF_TWO, "gtt_per_min", "15 gtt/min", "30 gtt/min"),
        (DRIP_OF_TWO, "minutes", "1,000 min", "500 min"),
        (RUNNING, "dose_rate", "400 mcg/min", "200 mcg/min"),
    ],
)
def test_the_other_strength_is_named_whatever_is_asked(
    problem: dict[str, Any], asked: str, right: str, entered: str
) -> None:
    """And what is right is as ever."""
    given = read_problem(problem)

    assert judge(given, asked, right).verdict == "right"
    assert [each.key for each in judge(given, asked, entered).slips] == ["other-presentation"]


def test_without_another_strength_aboard_none_is_named() -> None:
    """Twice the rate is then no more than twice the rate."""
    alone = {name: each for name, each in DRIP_OF_TWO.items() if name != "others"}

    assert judge(read_problem(alone), "mL_per_h", "30 mL/h").slips == ()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"others": ["1 units/mL"]}, "others: 1 unit/mL goes with no dose in mg/mL."),
        ({"others": "1 mg/mL"}, "others: '1 mg/mL' came in; a list of strengths is accepted."),
        ({"others": ["strong"]}, "others[0]: 'strong' came in;"),
        (
            {"dose_rate": None, "rate": "15 mL/h", "concentration": None},
            "others: they go with a concentration, and there is none.",
        ),
    ],
)
def test_another_strength_that_is_none_is_refused(changed: dict[str, Any], says: str) -> None:
    """By its field."""
    given = {name: each for name, each in (DRIP_OF_TWO | changed).items() if each is not None}

    with pytest.raises(ProblemError) as refused:
        read_problem(given)

    assert str(refused.value).startswith(says)


@pytest.fixture
def two_aboard(monkeypatch: pytest.MonkeyPatch) -> None:
    """A micro drip set, and 200 mg in 250 mL of whatever is asked for."""
    other = read_packed({"amount": "200 mg", "in": "250 mL"})
    monkeypatch.setattr(Stores, "drip_sets", property(lambda _: (Fraction(60),)))
    monkeypatch.setattr(Stores, "in_other_strengths", lambda *_: (other,))


@pytest.mark.usefixtures("two_aboard")
def test_a_drill_tells_what_else_is_aboard_of_what_runs_in_as_it_comes() -> None:
    """At grade 3; the number that it gives is named then."""
    made = write(3, aboard(BAG), seeded("two strengths"))
    problem, right = made.problem, made.solution.results["gtt_per_min"].exact

    assert {each.label: each.words for each in made.facts}["Also aboard"] == "200 mg / 250 mL"
    assert json.loads(made.given)["others"] == [{"amount": "200 mg", "in": "250 mL"}]
    wrong = judge(problem, "gtt_per_min", str(right.times(2)))
    assert [each.key for each in wrong.slips] == ["other-presentation"]
    assert "others" not in write(2, aboard(BAG), seeded("two strengths")).given


@pytest.mark.usefixtures("two_aboard")
def test_none_stands_for_what_is_mixed_first() -> None:
    """What is aboard is not what runs in."""
    mixture = read_mixture(BAG.comes_as[0], take="400 mg", added="250 mL")
    mixed = replace(BAG, mixture=mixture, presentation=mixture.presentation)

    made = write(3, aboard(mixed), seeded("two strengths"))

    assert "Also aboard" not in {each.label for each in made.facts}
    assert "others" not in json.loads(made.given)
