"""How a service takes pounds and rounds the doses of children, in what drills ask."""

import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest

from drills.engine.calls import Patient
from drills.engine.chance import seeded
from drills.engine.dosing import RIGHT, judge
from drills.engine.dosing.treatment import Settings
from drills.engine.exercises import Exercise
from drills.engine.exercises.dose import of_rule, rules_aboard
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, WRITERS, write
from drills.engine.medicines import MedicineRule
from drills.engine.quantities import KG_PER_POUND
from drills.engine.recipes import CannotApplyError
from drills.scenarios.tasks import answer_of, problem_in
from tests.scenarios.test_call_recipes import Made, drilled
from tests.scenarios.test_call_recipes import made as made

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.parametrize("made", ["mesa-box"], indirect=True, scope="module"),
]

EXACT = Settings(is_exact_pounds=True)
NEVER_UP = Settings(is_never_up_for_children=True)
IN_POUNDS = {"dose", "drip", "weight", "fluid", "burn", "energy"}


def stores_of(made: Made, settings: Settings) -> Stores:
    material = made[1]
    return Stores(rules=material.rules, aboard=material.aboard, settings=settings)


def several(stores: Stores, count: int = 8) -> Iterator[Exercise]:
    """Some of every topic and grade that the rig has anything for."""
    for topic, grade in product(WRITERS, GRADES):
        random = seeded(f"{topic} {grade}")
        try:
            yield from [write(topic, grade, stores, random) for _ in range(count)]
        except CannotApplyError:
            continue


def weight_in(each: Exercise) -> str:
    given = json.loads(each.given)
    return str(given.get("weight") or given.get("from") or "")


def test_every_weight_in_pounds_is_taken_as_the_service_sets_it(made: Made) -> None:
    found = [each for each in several(stores_of(made, EXACT)) if weight_in(each).endswith("lb")]

    assert {each.topic for each in found} >= IN_POUNDS - {"drip", "fluid"}
    for each in found:
        assert json.loads(each.given)["pounds"] == "exact", each
        steps = " ".join(each.problem.solve().steps)
        assert f"lb x {float(KG_PER_POUND)}" in steps, each
        assert "lb / 2.2" not in steps


def test_the_right_answer_is_right_whatever_the_service_sets(made: Made) -> None:
    both = Settings(is_exact_pounds=True, is_never_up_for_children=True)
    for each in several(stores_of(made, both)):
        result = each.problem.solve().results[each.asked]
        assert result.rounded is not None
        assert judge(each.problem, each.asked, str(result.rounded)).verdict == RIGHT, each


def test_nothing_of_a_setting_stands_where_the_service_has_none(made: Made) -> None:
    for each in several(stores_of(made, Settings())):
        assert not {"pounds", "rounding"} & set(json.loads(each.given)), each


def test_a_pound_is_told_where_it_is_taken_exactly(made: Made) -> None:
    """A weight alone is asked by its rule, which from memory is not shown."""
    for each in several(stores_of(made, EXACT)):
        if weight_in(each).endswith("lb"):
            said = [fact.note for fact in each.facts if fact.label == "Weight as told"]
            told = each.rule if each.topic == "weight" else said[0]
            assert "0.45359237" in told, each
            assert each.topic != "weight" or not said[0]


def ages_of(made: Made) -> Iterator[tuple[Stores, MedicineRule]]:
    stores = stores_of(made, NEVER_UP)
    yield from ((stores, rule) for rule in rules_aboard(stores))


def roundings(stores: Stores, rule: MedicineRule) -> set[str]:
    """How the doses of a rule say that they are rounded; empty where nothing says it."""
    random, found = seeded(rule.code), set()
    for grade in GRADES:
        try:
            each = of_rule(grade, stores, rule, random)
        except CannotApplyError:
            continue
        told = {fact.words for fact in each.facts if fact.label == "A child's dose"}
        said = json.loads(each.given).get("rounding", "")
        assert told == ({"never rounded up"} if said == "never up" else set())
        found.add(said)
    return found


def test_a_rule_whose_ages_end_with_childhood_is_never_rounded_up(made: Made) -> None:
    of_children: set[str] = set()
    of_others: set[str] = set()
    for stores, rule in ages_of(made):
        below = rule.ages[1]
        (of_children if below is not None and below <= 18 else of_others).update(
            roundings(stores, rule)
        )
    assert of_children == {"never up"}
    assert of_others == {""}


@pytest.mark.parametrize(("age_y", "said"), [(17, "never up"), (18, "")])
def test_the_age_of_the_patient_of_a_call_goes_before_that_of_the_rule(
    made: Made, age_y: int, said: str
) -> None:
    patient = Patient(
        number=1,
        problem="",
        severity=1,
        band="",
        size="",
        age_y=age_y,
        is_female=False,
        weight="60 kg",
        who="",
        findings="",
        signs=(),
    )
    stores = replace(stores_of(made, NEVER_UP), patient=patient)
    assert {stores.rounding_of(rule) for rule in stores.rules} == {said}


def test_a_drill_keeps_how_it_was_set_when_it_was_made(made: Made) -> None:
    layout, material, specs = made
    set_so = replace(material, settings=replace(EXACT, is_never_up_for_children=True))
    answers = [
        answer_of(prompt)
        for seed in range(12)
        for prompt in drilled("dosing-ladder-3", (layout, set_so, specs), seed).prompts
        if prompt.exercise
    ]
    words = {
        word
        for answer in answers
        for name, word in answer["problem"].items()
        if name in ("pounds", "rounding")
    }
    assert words == {"exact", "never up"}
    for answer in answers:
        problem_in(answer).solve()
