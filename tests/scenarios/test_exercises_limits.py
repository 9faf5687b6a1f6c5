"""Whatever limits a rule has stand in every exercise of it, as they are frozen in a drill."""

import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from drills.engine.chance import seeded
from drills.engine.dosing import UNSAFE, judge
from drills.engine.dosing.drip import GTT_PER_MIN
from drills.engine.exercises import Exercise
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, write
from drills.engine.medicines import BURN, DOSE, DRIP, ENERGY, FLUID, MedicineRule
from drills.engine.quantities import exact_text, read_quantity
from drills.engine.recipes import CannotApplyError
from tests.scenarios.test_call_recipes import Made
from tests.scenarios.test_call_recipes import made as made

# One layout that carries what most rules are drawn from.
pytestmark = [
    pytest.mark.django_db,
    pytest.mark.parametrize("made", ["mesa-box"], indirect=True, scope="module"),
]
SEEDS = range(2)
TOPICS_OF = {
    DOSE: ("dose", "dilution"),
    DRIP: ("drip", "dilution", "burn"),
    FLUID: ("fluid",),
    BURN: ("burn",),
    ENERGY: ("energy",),
}
# What is asked of a rule and is no dose of it, so that no limit of a dose is of it.
NO_DOSE = {
    ("mixing", "concentration"): "how strong it is",
    ("dilution", "concentration"): "how strong it is",
    ("dose", "amount"): "what has run in of a mixture",
}
INTO_A_MIXTURE = "How much of what you hold goes into the mixture?"


def exercises_of(rule: MedicineRule, stores: Stores) -> Iterator[Exercise]:
    """Exercises of one rule alone, in each topic and grade that it makes any in."""
    for topic, grade in product(TOPICS_OF[rule.topic], GRADES):
        random = seeded(f"{rule.code} {topic} {grade}")
        try:
            made = [write(topic, grade, stores, random) for _ in SEEDS]
        except CannotApplyError:
            continue
        yield from (each for each in made if each.medicine == rule)


def is_no_dose(rule: MedicineRule, each: Exercise, kind: str) -> bool:
    """What is listed above, what goes into a mixture of many doses, and of a rate what goes into
    its bag."""
    is_drawn_up = rule.mixture is not None and rule.presentation == rule.mixture.presentation
    is_of_many = each.question == INTO_A_MIXTURE and (rule.topic == DRIP or is_drawn_up)
    return (kind, each.asked) in NO_DOSE or is_of_many


@pytest.fixture(scope="module")
def every(made: Made) -> list[tuple[MedicineRule, Exercise]]:
    material = made[1]
    return [
        (rule, each)
        for rule in material.rules
        for each in exercises_of(rule, Stores(rules=(rule,), aboard=material.aboard))
    ]


def test_whatever_limits_a_rule_has_stand_in_every_exercise_of_it(
    every: list[tuple[MedicineRule, Exercise]],
) -> None:
    """The error limit in all, the limits of a dose wherever a dose is asked."""
    seen = set()
    for rule, each in every:
        problem = json.loads(each.given)
        if rule.error_limit:
            assert problem["error_limit"] == f"{rule.error_limit} %", (rule.code, each)
        for name, limit in (("max", rule.rule.maximum), ("min", rule.rule.minimum)):
            if limit is None or is_no_dose(rule, each, problem["kind"]):
                assert name not in problem, (rule.code, each)
                continue
            assert problem[name] == limit.exactly(), (rule.code, each)
            seen.add((each.topic, name))
    assert {("dose", "max"), ("dose", "min"), ("dilution", "max")} <= seen


def test_a_maximum_crossed_by_a_hundredth_is_unsafe_in_every_exercise(
    every: list[tuple[MedicineRule, Exercise]],
) -> None:
    """Where what is right is the maximum itself, as it is asked, 1 % more is unsafe."""
    crossed = 0
    for _rule, each in every:
        result = each.problem.solve().results[each.asked]
        if result.ceiling is None or result.ceiling != result.ends[-1]:
            continue
        more = f"{exact_text(result.ceiling.amount * 101 / 100)} {result.exact.unit}"
        assert judge(each.problem, each.asked, more).verdict == UNSAFE, each
        crossed += 1
    assert crossed


def test_an_order_is_never_under_the_minimum_of_its_rule(made: Made) -> None:
    """Of a mixture that holds doses by weight, for people whom the minimum is more for."""
    rule = next(each for each in made[1].rules if each.code == "D043")
    least, random = read_quantity("20 mg"), seeded("least")
    rule = replace(rule, rule=replace(rule.rule, minimum=least))
    stores = Stores(rules=(rule,), aboard=made[1].aboard)
    orders = [json.loads(write("dilution", 2, stores, random).given)["fixed"] for _ in range(20)]
    ordered = [read_quantity(each) for each in orders]
    assert least in ordered
    assert all(least.amount <= each.amount <= 25 for each in ordered)


@pytest.mark.parametrize("topic", list(TOPICS_OF))
def test_a_tighter_limit_is_frozen_whatever_a_rule_is_about(made: Made, topic: str) -> None:
    """Of burns and shocks too, of which no rule here has one by itself."""
    tighter = tuple(replace(each, error_limit=7) for each in made[1].rules if each.topic == topic)
    stores = Stores(rules=tighter, aboard=made[1].aboard)
    of_rules = [
        each
        for seed in range(6)
        for each in [write(TOPICS_OF[topic][0], 1 + (topic == DRIP), stores, seeded(str(seed)))]
        if each.medicine
    ]
    assert of_rules
    for each in of_rules:
        assert json.loads(each.given)["error_limit"] == "7 %"
        assert each.problem.unsafe_from == Fraction(7, 100)


def test_drops_are_counted_and_those_of_a_dose_fall_from_a_micro_set(made: Made) -> None:
    """No more than two a second; a coarse set is for fluids alone, by the pump where it must be."""
    stores, random = Stores(rules=made[1].rules, aboard=made[1].aboard), seeded("drops")
    every = [write("drip", grade, stores, random) for grade in (2, 3) for _ in range(60)]
    drops = [each for each in every if each.asked == GTT_PER_MIN]
    of_doses = [each for each in drops if each.medicine and not each.medicine.is_rate_of_fluid]
    assert of_doses
    assert all(each.problem.solve().results[GTT_PER_MIN].high_amount <= 120 for each in drops)
    assert {json.loads(each.given)["set"] for each in of_doses} == {"60 gtt/mL"}
    assert any(json.loads(each.given)["set"] != "60 gtt/mL" for each in drops)


def test_another_strength_is_mixed_where_the_rules_own_is_said_to_be_used_up(made: Made) -> None:
    """With the right vial in the bag nobody takes the other; into another bag it is the right."""
    stores, random = Stores(rules=made[1].rules, aboard=made[1].aboard), seeded("mixed")
    every = [write("dilution", 3, stores, random) for _ in range(40)]
    others = [each for each in every if each.trap == "two strengths aboard"]
    assert others
    assert all("is used up" in str(each.facts) for each in others)
    for each in every:
        if each.trap == "another bag than the rule's" and each.medicine:
            own = each.medicine.comes_as[0].presentation
            assert str(own) in [fact.words for fact in each.facts]


def test_an_order_by_weight_is_a_figure_that_a_person_says(made: Made) -> None:
    """Whole ones from ten on, halves from one on; nobody orders 23.75 mg."""
    rule = next(each for each in made[1].rules if each.code == "D043")
    stores, random = Stores(rules=(rule,), aboard=made[1].aboard), seeded("said")
    orders = [json.loads(write("dilution", 2, stores, random).given)["fixed"] for _ in range(30)]
    amounts = {read_quantity(each).amount for each in orders}
    assert len(amounts) > 3
    assert all((each if each >= 10 else each * 2).denominator == 1 for each in amounts)
