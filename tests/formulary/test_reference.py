"""The demonstration formulary: every rule reads, and says where it is from."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
from django.core.management import call_command

from drills.engine.ages import Age
from drills.engine.concentrations import (
    read_strength,
    told_strength,
    written_strength,
    written_volume,
)
from drills.engine.contradictions import CHILD_ABOVE_ADULT
from drills.engine.devices import DROPS_MOST, SYRINGES
from drills.engine.dosing import RIGHT, UNSAFE, judge
from drills.engine.dosing.energy import ENERGY
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import UNSAFE_FROM
from drills.engine.exercises.energy import speaks_for
from drills.engine.exercises.exercise import source_of
from drills.engine.exercises.people import is_for
from drills.engine.medicines import Asked, MedicineRule, problem_asked, results_asked
from drills.engine.quantities import Quantity
from drills.engine.tables import ENERGIES
from drills.formulary.contradicting import WHY, contradicting
from drills.formulary.drillable import drillable
from drills.formulary.models import (
    Basis,
    DoseRule,
    FormularyRevision,
    FormularyState,
    Medicine,
    Presentation,
)
from drills.formulary.reports import rules_of, sorted_out
from drills.people.models import CertificationLevel
from tests.layouts import FIXTURES
from tests.reference import fixture, table

FILES = sorted(FIXTURES.glob("*.json"))
SOMEBODY = Asked(area="15 %", since_injury="2 h", drip_set="60 gtt/mL")
WEIGHTS = [Fraction(each) for each in (3, 7, 12, 13, 19, 20, 25, 39, 40, 70, 101, 160)]
GROWN_Y, GROWN_KG = Fraction(14), Fraction(40)
CONFIRMED = table("formulary_confirmed.csv")


@pytest.fixture
def rules(demo: FormularyRevision) -> list[DoseRule]:
    return rules_of(demo)


def test_it_holds_all_rules_and_nobody_approved_it(
    demo: FormularyRevision, rules: list[DoseRule]
) -> None:
    assert [rule.code for rule in rules] == [f"D{number:03}" for number in range(1, 77)]
    assert demo.state == FormularyState.DRAFT
    assert (demo.approved_by, demo.approved_by_name, demo.approved_on) == (None, "", None)
    assert demo.notice == "Demonstration only. Not for patient care."


@pytest.mark.django_db
@pytest.mark.parametrize("files", [FILES, FILES[::-1]], ids=["in order", "backwards"])
def test_it_loads_in_any_order_and_again(files: list[Path]) -> None:
    for _ in range(2):
        call_command("loaddata", *files, verbosity=0)

    tables = (FormularyRevision, Medicine, Presentation, DoseRule)
    assert [model.objects.count() for model in tables] == [1, 33, 37, 76]
    needless = DoseRule.objects.filter(presentations=[])
    assert set(needless.values_list("basis", flat=True)) == {"J per kg"}


def test_every_record_is_one_that_a_form_would_take(rules: list[DoseRule]) -> None:
    tables = (FormularyRevision, Medicine, Presentation)
    for row in (*(row for each in tables for row in each.objects.all()), *rules):
        row.full_clean()


def test_every_rule_but_what_is_given_whole_is_drilled(rules: list[DoseRule]) -> None:
    drilled, left_out = sorted_out(rules)

    topics = Counter(each.topic for each in drilled)
    assert topics == {"dose": 60, "drip": 6, "burn": 5, "energy": 2, "fluid": 1}
    assert [(each.code, each.reason) for each in left_out] == [
        ("D030", "15 g tube has no volume to draw up"),
        (
            "D034",
            "4 mg / 0.1 mL nasal spray is given whole: one is a dose, nothing is drawn up from it",
        ),
    ]


def test_what_is_mixed_is_measured_as_the_mixture(rules: list[DoseRule]) -> None:
    """And what is drawn up first and mixed then is measured from the vial."""
    drilled = {each.code: each for each in sorted_out(rules)[0]}
    strength = {
        code: told_strength(each.presentation.strength)
        for code, each in drilled.items()
        if each.presentation and each.mixture
    }

    assert strength == {
        "D007": "10 mcg/mL",
        "D008": "1 mcg/mL",
        "D012": "50 mg/mL",
        "D028": "1 mg/mL",
        "D029": "1 mg/mL",
        "D036": "0.5 g/mL",
        "D037": "0.5 g/mL",
        "D043": "10 mg/mL",
        "D057": "0.1 g/mL",
        "D059": "25 mg/mL",
        "D060": "25 mg/mL",
        "D061": "16 mcg/mL",
    }
    assert drilled["D007"].mixture is not None
    assert drilled["D007"].mixture.steps == (
        "Mix 1 mL of 0.1 mg/mL + 9 mL normal saline",
        "100 mcg / 10 mL = 10 mcg/mL",
    )


def test_a_tighter_limit_goes_into_the_problem(rules: list[DoseRule]) -> None:
    limits = {
        each.code: read_problem(problem_asked(each, replace(SOMEBODY, weight="70 kg"))).unsafe_from
        for each in sorted_out(rules)[0]
    }

    tight = {code for code, limit in limits.items() if limit == Fraction(1, 10)}
    assert tight == {"D007", "D008", "D061", "D062"}
    assert {limit for code, limit in limits.items() if code not in tight} == {UNSAFE_FROM}


def test_the_worked_answer_of_every_rule_is_right(rules: list[DoseRule]) -> None:
    """At each weight the rule is for, of patients from 3 kg and of grown ones from 40 kg."""
    for each in sorted_out(rules)[0]:
        for kg in weights_of(each):
            asked = replace(SOMEBODY, weight=f"{kg} kg", syringes=list(SYRINGES))
            problem = read_problem(problem_asked(each, asked))
            for name in results_asked(each, asked):
                result = problem.solve().results[name]
                if name == "gtt_per_min" and result.exact.amount > DROPS_MOST:
                    assert result.rounded is None
                    continue
                set_to = result.rounded
                assert set_to is not None, (each.code, kg)
                found = judge(problem, name, set_to.exactly())

                case = (each.code, kg, name, found.sentence)
                assert (found.verdict, found.is_past_maximum) == (RIGHT, False), case


def weights_of(rule: MedicineRule) -> list[Fraction]:
    least = rule.weights[0] or (GROWN_KG if rule.ages[0] == GROWN_Y else WEIGHTS[0])
    below = rule.weights[1] or WEIGHTS[-1] + 1
    found = [kg for kg in WEIGHTS if least <= kg < below]
    assert found
    return found


def test_a_rule_names_a_level_and_a_medicine_that_there_are(rules: list[DoseRule]) -> None:
    levels = set(CertificationLevel.objects.values_list("key", flat=True))

    assert {rule.level for rule in rules} <= levels
    for rule in rules:
        assert {each.need.medicine for each in rule.comes_as if each.need} <= {rule.medicine.key}


def test_a_rule_names_presentations_that_there_are_and_each_is_named(
    demo: FormularyRevision, rules: list[DoseRule]
) -> None:
    named = [key for rule in rules for key in rule.presentations]

    assert set(named) == set(demo.presentations.values_list("key", flat=True))
    for rule in rules:
        assert [each.key for each in rule.comes_as] == rule.presentations


def test_every_presentation_is_written_as_the_product_writes_it(demo: FormularyRevision) -> None:
    for each in demo.presentations.all():
        assert each.need is not None
        assert each.strength == (written_strength(each.strength) if each.strength else "")
        assert each.volume == (written_volume(each.volume) if each.volume else "")
        assert each.container


def test_what_a_dilution_says_as_data_is_what_it_says_in_words(rules: list[DoseRule]) -> None:
    """Every figure stands in the printed text, or follows from its amount in its volume."""
    mixed = [rule for rule in rules if rule.final_strength or rule.diluent_volume]
    assert {rule.code for rule in rules if rule.is_mixed} <= {rule.code for rule in mixed}

    for rule in mixed:
        for figure in (rule.take, rule.diluent, rule.diluent_volume):
            assert figure in rule.dilution, rule.code
        if rule.final_strength not in rule.dilution:
            made = read_strength(f"{rule.take} / {rule.diluent_volume}")
            assert made.ratio_to(read_strength(rule.final_strength)) == 1, rule.code


@pytest.mark.parametrize("row", CONFIRMED, ids=lambda row: row["rule"])
def test_a_confirmed_rule_keeps_its_figures_and_its_source(row: dict[str, str]) -> None:
    rules = [each for each in fixture("formulary.json") if each.get("code") == row["rule"]]

    kept = ("route", "dose", "dose_high", "minimum", "maximum", "source", "version", "status")
    assert [{name: rule[name] for name in kept} for rule in rules] == [
        {name: row[name] for name in kept}
    ]


@pytest.mark.parametrize("row", CONFIRMED, ids=lambda row: row["rule"])
def test_a_maximum_from_memory_is_nowhere_told_as_confirmed_alone(
    rules: list[DoseRule], row: dict[str, str]
) -> None:
    """On the pages of the rule, and beside a prompt that asks it."""
    (rule,) = [each for each in rules if each.code == row["rule"]]
    is_recalled = row["maximum_status"] == "from memory"

    assert bool(row["maximum"]) == bool(row["maximum_status"])
    assert ("the maximum is that of" in rule.status_told) == is_recalled
    if is_recalled:
        assert "confirmed; the maximum is that of" in source_of(drillable(rule))
        assert "from memory" in source_of(drillable(rule))


def test_no_child_gets_more_than_the_adult_rule_of_the_same_use(rules: list[DoseRule]) -> None:
    """An adult's dose is a child's ceiling: the introduction of a US protocol book of 2025."""
    above = [pair for pair in contradicting(rules) if pair.why == WHY[CHILD_ABOVE_ADULT]]
    assert [(pair.first.code, pair.second.code) for pair in above] == [("D023", "D024")]

    of_adults = {"D025": "D027", "D026": "D027", "D038": "D039", "D060": "D059"}
    by_code = {rule.code: rule for rule in rules}
    for child, adult in of_adults.items():
        assert by_code[child].maximum == by_code[adult].maximum
        assert "that of the adult dose for " in by_code[child].notes


def test_no_rule_is_called_by_its_code_in_what_crew_read(rules: list[DoseRule]) -> None:
    """A code is found in the formulary alone; beside a dose a rule is told by its use."""
    told = {
        rule.code: f"{rule.notes} {rule.dilution} {rule.repeat_note} {rule.over_note}"
        for rule in rules
    }

    assert not [code for code, words in told.items() if any(each in words for each in told)]


def test_no_shock_lacks_the_limit_that_the_table_has(rules: list[DoseRule]) -> None:
    """The 200 J of a US protocol book of 2025, p.242, as the table of shocks has it."""
    shocks = [drillable(rule) for rule in rules if rule.basis == Basis.J_PER_KG]
    told = {
        each.code: {
            row.most_j and Quantity(row.most_j, "J") for row in ENERGIES if speaks_for(each, row)
        }
        for each in shocks
    }

    assert set(told) == {"D072", "D073"}
    assert {each.code: {each.rule.maximum} for each in shocks} == told


def test_no_shock_of_a_heavy_child_is_above_200_joules(rules: list[DoseRule]) -> None:
    """176 lb is 80 kg, and 4 J/kg of it would be 320 J."""
    (second,) = [drillable(rule) for rule in rules if rule.code == "D073"]
    problem = read_problem(problem_asked(second, Asked(weight="176 lb")))

    assert problem.solve().results[ENERGY].exact == Quantity(Fraction(200), "J")
    assert judge(problem, ENERGY, "200 J").verdict == RIGHT
    assert judge(problem, ENERGY, "320 J").verdict == UNSAFE


def test_nothing_else_is_called_confirmed(rules: list[DoseRule]) -> None:
    confirmed = {rule.code for rule in rules if rule.status == "confirmed"}

    assert confirmed == {row["rule"] for row in CONFIRMED}


def test_no_rule_has_the_dose_that_was_printed_tenfold(rules: list[DoseRule]) -> None:
    """X010 of the dosing cases: 0.1 mg/kg into the muscle, ten times the usual 0.01 mg/kg."""
    (flagged,) = [row for row in table("dosing_cases.csv") if row["id"] == "X010"]
    by_weight = [
        drillable(rule)
        for rule in rules
        if rule.medicine.key == "epinephrine"
        and rule.route in {"IM", "SC"}
        and rule.basis == Basis.PER_KG
    ]

    assert by_weight
    for each in by_weight:
        assert each.rule.dose == Quantity(Fraction(flagged["exact"]), "mg/kg")
        assert each.rule.dose.amount < Fraction(flagged["answer"])


def test_every_rule_has_source_version_page_and_date(rules: list[DoseRule]) -> None:
    assert [rule.code for rule in rules if rule.lacking] == []


def test_burn_rules_meet_without_a_gap_and_without_an_overlap(rules: list[DoseRule]) -> None:
    """At every age and weight one formula of heat, one of current and one rate to start with."""
    burns = [rule for rule in sorted_out(rules)[0] if rule.indication.startswith("burn")]
    for months, kg in product(range(12 * 20), (2, 10, 35, 39, 40, 45, 70, 150)):
        age = Age(months)
        there = [rule.indication for rule in burns if is_for(rule, age, f"{kg} kg")]
        assert sorted(there) == [
            "burn, electrical, first 24 h",
            "burn, heat or chemical, first 24 h",
            "burn, starting rate",
        ], (age, kg)


def test_no_document_is_called_both_confirmed_and_from_memory(rules: list[DoseRule]) -> None:
    """Beside a prompt that tells several rules it would stand twice, and one of both be false."""
    told: dict[tuple[str, str], set[str]] = {}
    for rule in rules:
        told.setdefault((rule.source, rule.version), set()).add(rule.status)
    assert [each for each, statuses in told.items() if len(statuses) > 1] == []


def test_what_is_ours_in_a_burn_rule_is_said_and_not_called_confirmed(
    rules: list[DoseRule],
) -> None:
    by_code = {rule.code: rule for rule in rules}
    assert by_code["D074"].status == "demonstration value"
    assert by_code["D074"].source == "Our own decision, no document"
    assert by_code["D075"].status == "from memory"
    assert "ours" in by_code["D066"].notes
    assert "its line for a child, which is a rule of its own" in by_code["D065"].notes
