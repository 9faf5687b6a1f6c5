"""Exercises of every topic and grade, from what each layout of the demonstration carries."""

import json
import re
from collections import Counter, defaultdict
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import Any

import pytest

from drills.engine.ages import read_age
from drills.engine.carried import Aboard
from drills.engine.chance import seeded
from drills.engine.dosing import RIGHT, judge
from drills.engine.exercises import FROM_MEMORY, SHOWN, Exercise
from drills.engine.exercises.dose import is_given_whole, of_rule
from drills.engine.exercises.paper import MOST_FIGURES, figures_in, working_of
from drills.engine.exercises.stores import Stores
from drills.engine.exercises.writers import GRADES, TOPICS, WRITERS, write
from drills.engine.quantities import read_quantity
from drills.engine.recipes import CannotApplyError, RecipeSpec
from drills.engine.tables import WEIGHT_FORMULAS
from drills.engine.workplan import prompt_of
from drills.scenarios.tasks import answer_of, problem_in, shown_of
from tests.engine.test_units_against_pint import BY_KIND, NEAR, apart
from tests.scenarios.test_call_recipes import LADDER, Kept, Made, drilled
from tests.scenarios.test_call_recipes import kept as kept
from tests.scenarios.test_call_recipes import made as made

EACH = 12
SEEDS = (1, 2, 3)
TOLD = ("weight", "pressure", "area", "volume", "over", "bag", "from")
KINDS = tuple(product(WRITERS, GRADES))


def stores_of(made: Made, *, is_rule_shown: bool = True) -> Stores:
    material = made[1]
    return Stores(rules=material.rules, aboard=material.aboard, is_rule_shown=is_rule_shown)


def several(topic: str, grade: int, stores: Stores, count: int = EACH) -> list[Exercise]:
    """So many; none where the rig carries nothing for the topic."""
    random = seeded(f"{topic} {grade}")
    try:
        return [write(topic, grade, stores, random) for _ in range(count)]
    except CannotApplyError:
        return []


@pytest.fixture(scope="module")
def every(made: Made) -> list[Exercise]:
    stores = stores_of(made)
    return [each for topic, grade in KINDS for each in several(topic, grade, stores)]


def test_every_topic_is_made_at_every_grade(every: list[Exercise]) -> None:
    there = Counter((each.topic, each.grade) for each in every)
    assert there == dict.fromkeys(KINDS, EACH)


def test_the_right_answer_of_each_is_right(every: list[Exercise]) -> None:
    for each in every:
        result = each.problem.solve().results[each.asked]
        assert result.rounded is not None
        for told in (str(result.rounded), result.rounded.exactly()):
            assert judge(each.problem, each.asked, told).verdict == RIGHT, (each, told)


def is_reckoned(problem: dict[str, Any]) -> bool:
    """Whether a problem is all in its text, with nothing to be looked up."""
    return problem["kind"] in set(BY_KIND) - {"burned"} and "cylinder" not in problem


def test_the_answer_of_each_is_that_of_a_library_of_units(every: list[Exercise]) -> None:
    """All but what is looked up in a table: sizes, scores, areas, cylinders by their letter, and
    weights and rates by age."""
    given = [(json.loads(each.given), each.asked) for each in every]
    reckoned = [(problem, asked) for problem, asked in given if is_reckoned(problem)]

    assert len(reckoned) > len(every) / 2
    for problem, asked in reckoned:
        assert apart(problem, asked) <= NEAR, (problem, asked)


def test_ten_times_the_right_answer_is_wrong(every: list[Exercise]) -> None:
    for each in every:
        result = each.problem.solve().results[each.asked]
        assert result.rounded is not None
        tenfold = result.rounded.times(10)
        assert judge(each.problem, each.asked, tenfold.exactly()).verdict != RIGHT, each


def test_no_draw_that_is_refused_is_asked(every: list[Exercise]) -> None:
    assert not [each for each in every if each.problem.solve().refusal]


def test_each_can_be_worked_out_on_paper(every: list[Exercise]) -> None:
    for each in every:
        steps = working_of(each.problem.solve().steps)
        assert figures_in(steps) <= MOST_FIGURES[each.grade], steps


@pytest.mark.parametrize(
    ("steps", "most"),
    [
        (["20 kg x 0.1 mg/kg = 2 mg"], 1),
        (["1,000 mL / 8 h = 125 mL/h"], 3),
        (["2 mg / 3 mg/mL ≈ 0.666667 mL"], 6),
        (["0.0105 mg"], 3),
        (["10.50 mL"], 4),
        ([], 0),
    ],
)
def test_zeros_at_either_end_do_not_count_as_figures(steps: list[str], most: int) -> None:
    assert figures_in(steps) == most


def test_units_offered_give_nothing_away(every: list[Exercise]) -> None:
    offered = defaultdict(set)
    for each in every:
        offered[each.topic].add(each.units)
        unit = each.problem.solve().results[each.asked].exact
        assert unit.kind in {read_quantity(f"1 {name}").kind for name in each.units}, each
    assert all(len(units) == 1 for units in offered.values())


def test_a_trap_is_named_at_grade_3_and_only_there(every: list[Exercise]) -> None:
    for each in every:
        if each.grade < 3:
            assert not each.trap, each
        elif each.topic not in ("drip", "fluid"):
            assert each.trap, each


def test_a_band_of_ages_is_a_trap_where_another_gives_another_weight() -> None:
    """At twelve months two lines of one formula give 10 kg: nobody is caught by it."""
    random = seeded("bands")
    for _ in range(60):
        made = write("weight", 3, Stores(), random)
        given = json.loads(made.given)
        lines = [each for each in WEIGHT_FORMULAS if each.formula == given["formula"]]
        age = read_age(given["age"])
        weights = [
            each.times * (age.months if each.unit == "months" else age.years) + each.plus
            for each in lines
        ]
        right = made.problem.solve().results["kg"].exact.amount
        assert weights.count(right) == 1, given


def test_whole_containers_are_no_trap_of_themselves(made: Made) -> None:
    """Two nebules for one dose are counted at grade 1; at grade 3 they would be asked again."""
    stores = stores_of(made)
    whole = [each for each in stores.rules if is_given_whole(each) and stores.carries(each)]
    assert whole
    for each in whole:
        assert of_rule(1, stores, each, seeded("whole")).asked == "open"
        with pytest.raises(CannotApplyError):
            of_rule(3, stores, each, seeded("whole"))


def test_what_is_told_holds_every_figure_of_the_problem_but_not_the_rule(
    every: list[Exercise],
) -> None:
    for each in every:
        given = json.loads(each.given)
        told = " ".join(f"{fact.words} {fact.note}" for fact in each.facts)
        kept: tuple[str, ...] = () if given["kind"] in ("dilution", "burned") else TOLD
        if each.topic == "burn":  # the rate to start with is a figure of the rule
            kept = ("weight", "area")
        for name in kept:
            if name in given:
                assert str(read_quantity(given[name])) in told, (each, name)
        assert each.rule
        assert each.source


def test_no_exercise_calls_a_source_confirmed_that_it_does_not_name(every: list[Exercise]) -> None:
    """A name begins with a capital; "a published formula" is none."""
    said = [re.split(r" \((confirmed|from memory)\)(?:; )?", each.source) for each in every]
    pairs = [pair for parts in said for pair in zip(parts[::2], parts[1::2], strict=False)]
    confirmed = {named for named, status in pairs if status == "confirmed"}
    assert confirmed
    assert not [each for each in confirmed if not re.match("(residual: |charts: )?[A-Z]", each)]


@pytest.mark.parametrize("topic", WRITERS)
def test_the_same_seed_makes_the_same_exercise(made: Made, topic: str) -> None:
    stores = stores_of(made)
    for grade in GRADES:
        assert several(topic, grade, stores, 3) == several(topic, grade, stores, 3)


def test_from_memory_is_another_skill_and_shows_no_rule(made: Made) -> None:
    known, unknown = stores_of(made), stores_of(made, is_rule_shown=False)
    for topic in WRITERS:
        for one, other in zip(
            several(topic, 1, known, 2), several(topic, 1, unknown, 2), strict=True
        ):
            assert one.given == other.given
            assert one.subject.endswith(SHOWN)
            assert other.subject.endswith(FROM_MEMORY)


def test_what_is_not_carried_is_said(made: Made) -> None:
    bare = Stores(rules=made[1].rules, aboard=Aboard((), {}, {}))
    for topic, lacking in (
        ("oxygen", "no oxygen cylinder of a size in the table is carried"),
        ("drip", "no bag of fluid is carried"),
        ("fluid", "no bag of fluid is carried"),
        ("dose", "no medicine that a rule can be drilled for is carried"),
        ("dilution", "nothing is carried that has a strength"),
    ):
        with pytest.raises(CannotApplyError, match=lacking):
            write(topic, 1, bare, seeded("bare"))


def test_cylinders_and_drip_sets_are_those_aboard(made: Made, every: list[Exercise]) -> None:
    stores = stores_of(made)
    letters = {row.letter for row in stores.cylinders}
    sets = {f"{each} gtt/mL" for each in stores.drip_sets}
    for each in every:
        given = json.loads(each.given)
        assert given.get("cylinder", next(iter(letters))) in letters
        assert {given["set"], *given.get("other_sets", ())} <= sets if "set" in given else True


@pytest.mark.parametrize("slug", LADDER)
def test_nothing_is_asked_twice_in_a_drill_and_all_is_of_its_grade(
    slug: str, made: Made, kept: Kept
) -> None:
    """The difficulty of a recipe is the grade of what it asks."""
    grade = min(made[2][slug].difficulty, 3)
    for seed in SEEDS:
        plan = kept(slug, seed)
        asked = [each.exercise for each in (*plan.prompts, *plan.spares)]
        figures = [each.figures for each in asked if each]
        assert len(figures) == len(set(figures)) == len(asked)
        assert {each.grade for each in asked if each} == {grade}


@pytest.mark.parametrize(("difficulty", "grade"), [(0, 1), (1, 1), (2, 2), (3, 3), (4, 3), (5, 3)])
def test_difficulty_is_the_grade_and_three_is_the_hardest(difficulty: int, grade: int) -> None:
    assert RecipeSpec("any", (("dose", 1),), difficulty=difficulty).grade == grade


def test_a_ladder_has_more_than_one_topic(kept: Kept) -> None:
    for slug, least in (("dosing-ladder-2", 3), ("dosing-ladder-3", 4)):
        for seed in SEEDS:
            prompts = kept(slug, seed).prompts
            assert len({each.exercise.topic for each in prompts if each.exercise}) >= least


def test_a_supply_of_a_call_is_about_who_is_there(made: Made) -> None:
    spec = RecipeSpec("of-a-call", (("supply", 1),), order="as a call runs")
    for seed in SEEDS:
        (prompt,) = drilled("of-a-call", (made[0], made[1], {"of-a-call": spec}), seed).prompts
        assert prompt.exercise
        assert prompt.call
        assert prompt.exercise.topic in TOPICS["supply"]
        assert shown_of(prompt)["dispatch"] == prompt.call.dispatch


def test_from_memory_is_frozen_without_its_rule(made: Made) -> None:
    for is_shown in (True, False):
        spec = RecipeSpec("mem", (("dose", 2), ("supply", 3)), rule_shown=is_shown)
        for prompt in drilled("mem", (made[0], made[1], {"mem": spec}), 5).prompts:
            assert prompt.exercise
            shown, answer = shown_of(prompt), answer_of(prompt)
            assert {"rule", "source"} <= shown.keys() if is_shown else "rule" not in shown
            assert answer["printed"] == prompt.exercise.rule
            assert problem_in(answer) == prompt.exercise.problem
            right = prompt.exercise.problem.solve().results[answer["asked"]].rounded
            assert right is not None
            assert right.amount > Fraction(0)


def test_without_a_formulary_only_what_is_no_treatment_is_asked(made: Made) -> None:
    spec = RecipeSpec("closed", (("supply", 4),))
    material = replace(made[1], rules=(), refusal="The formulary is not approved.")
    prompts = drilled("closed", (made[0], material, {"closed": spec}), 1).prompts
    assert {each.exercise.topic for each in prompts if each.exercise} == {"oxygen", "sums"}


RATES = ("mL/h", "gtt/min", "kg", "min")


def test_how_finely_a_rate_a_weight_and_minutes_are_answered_is_told(every: list[Exercise]) -> None:
    for each in every:
        right = each.problem.solve().results[each.asked]
        if right.exact.unit in RATES:
            assert each.fineness, each
            assert shown_of(prompt_of(each))["fineness"] == each.fineness


def test_what_a_pump_is_set_to_is_told_as_its_dial_has_it(every: list[Exercise]) -> None:
    for each in every:
        right = each.problem.solve().results[each.asked].rounded
        if right and right.unit == "mL/h":
            step = Fraction(1) if right.amount >= 10 else Fraction(1, 10)
            assert right.amount % step == 0, each


def test_fluid_for_a_burn_is_asked_for_areas_alone_that_are_given_fluid_for(made: Made) -> None:
    """Over 10 % of a child and over 15 % of a grown person (RCEMLearning, burns, fluids)."""
    for grade in GRADES:
        for each in several("burn", grade, stores_of(made), 60):
            if each.asked in ("total", "first_half_rate"):
                problem: Any = each.problem
                area = problem.area.amount
                is_child = "child" in each.facts[0].words
                assert area > (10 if is_child else 15), each


def test_approved_rules_stand_before_the_tables(made: Made) -> None:
    """A rule that differs from the table is what burns and shocks are worked out by."""
    stores = stores_of(made)
    others = {"D065": "5 mL/kg/%", "D066": "6 mL/kg/%", "D072": "3 J/kg"}
    rules = tuple(
        replace(r, rule=replace(r.rule, dose=read_quantity(others[r.code])), printed=others[r.code])
        if r.code in others
        else r
        for r in stores.rules
    )
    changed = replace(stores, rules=rules)
    for each in several("burn", 2, changed, 40):
        assert each.medicine
        assert json.loads(each.given)["per"] == each.medicine.rule.dose.exactly()
        assert each.medicine.source in each.source
    shocks = several("energy", 1, changed, 60)
    ruled = [each for each in shocks if each.medicine and each.medicine.code == "D072"]
    assert ruled
    assert {json.loads(each.given)["per_weight"] for each in ruled} == {"3 J/kg"}
    assert "first shock" not in {each.facts[0].words for each in shocks}


def test_without_such_rules_burns_and_shocks_follow_the_tables_and_say_so(made: Made) -> None:
    bare = replace(stores_of(made), rules=())
    for topic in ("burn", "energy"):
        for each in several(topic, 2, bare, 20):
            assert each.medicine is None
            assert each.source


def test_a_spray_is_not_worked_out_and_tablets_are_counted(made: Made) -> None:
    stores = stores_of(made)
    found = [each for grade in (1, 3) for each in several("dose", grade, stores, 200)]
    codes = {each.medicine.code for each in found if each.medicine}
    assert "D034" not in codes
    tablets = [each for each in found if each.medicine and each.medicine.is_of_pieces]
    carried = {rule.code for rule in stores.rules if rule.is_of_pieces and stores.carries(rule)}
    assert {each.medicine.code for each in tablets if each.medicine} == carried
    assert {each.question for each in tablets} <= {"How many tablets do you give?"}


def test_what_is_run_in_does_not_tell_what_is_drawn_up(every: list[Exercise]) -> None:
    """How it is mixed would be the answer."""
    for each in every:
        if each.question == "What volume do you draw up?":
            right = each.problem.solve().results[each.asked].answer
            assert right not in " ".join(fact.note for fact in each.facts), each


def test_a_dilution_with_a_trap_is_more_than_two_of_a_kind(made: Made) -> None:
    made_of = several("dilution", 3, stores_of(made), 60)
    assert not made_of or len({each.figures for each in made_of}) >= 10


def test_no_rule_ends_with_a_full_stop_since_pages_put_one(every: list[Exercise]) -> None:
    assert not [each.rule for each in every if each.rule.endswith(".")]


def test_spare_cylinders_are_aboard_or_said_to_come_from_another_rig(made: Made) -> None:
    stores = stores_of(made)
    for each in several("oxygen", 3, stores, 40):
        letter = each.facts[0].words.removeprefix("size ")
        spares = len(json.loads(each.given)["pressures"]) - 1
        assert spares <= stores.spares(letter) or "another rig" in each.facts[1].note


@pytest.mark.parametrize(
    ("indication", "left"),
    [
        ("VF, first", {"second", "later"}),
        ("VF, second shock", {"first", "later"}),
        ("VF, repeat after thirty seconds", set[str]()),
        ("VF, any after the first one", set[str]()),
    ],
)
def test_a_rule_whose_step_is_not_sure_stands_for_every_step(
    made: Made, indication: str, left: set[str]
) -> None:
    stores = stores_of(made)
    one = next(rule for rule in stores.rules if rule.code == "D072")
    alone = replace(stores, rules=(replace(one, indication=indication),))
    asked = [each for grade in GRADES for each in several("energy", grade, alone, 40)]
    shocks = [each.facts[0].words for each in asked if each.medicine is None]
    steps = {step for step in ("first", "second", "later") for q in shocks if f"{step} shock" in q}
    assert steps == left
