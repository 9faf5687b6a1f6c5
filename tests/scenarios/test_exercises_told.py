"""What exercises tell: units, orders, what is aboard, sources, of each demonstration layout."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.dose import DoseProblem
from drills.engine.exercises import Exercise
from drills.engine.exercises.dose import TRAPS as DOSE_TRAPS
from drills.engine.exercises.writers import GRADES, WRITERS
from drills.engine.quantities import Quantity, exact_text, read_quantity
from drills.engine.workplan import prompt_of
from drills.scenarios.tasks import shown_of
from tests.scenarios.test_call_recipes import Made
from tests.scenarios.test_call_recipes import made as made
from tests.scenarios.test_exercises import every as every
from tests.scenarios.test_exercises import several, stores_of

_MEASURES = {"mass", "equivalent", "units"}


def test_the_answer_is_told_in_a_unit_that_is_offered(every: list[Exercise]) -> None:
    for each in every:
        right = each.problem.solve().results[each.asked].rounded
        assert right
        offered = {str(read_quantity(f"1 {unit}")) for unit in each.units}
        assert str(replace(right, amount=Fraction(1))) in offered, each


def test_a_question_says_what_kind_of_amount_it_takes(every: list[Exercise]) -> None:
    """So who tries unit after unit, each refused and none judged, learns nothing that was not said.

    What a medicine is measured in, mg or mEq, is said of what is in the hand.
    """
    kinds: dict[str, set[tuple[str, ...]]] = {}
    for each in every:
        kind = each.problem.solve().results[each.asked].exact.kind
        medicine = tuple("medicine" if part in _MEASURES else part for part in kind)
        kinds.setdefault(each.question, set()).add(medicine)
    assert len(kinds) > 20
    assert {question: found for question, found in kinds.items() if len(found) > 1} == {}


def test_an_order_that_no_rule_gives_is_said_to_be_made_up(every: list[Exercise]) -> None:
    orders = 0
    for each in every:
        for fact in each.facts:
            is_own = each.medicine and any(
                said in fact.words for said in _ways_to_say(each.medicine.rule.dose)
            )
            if fact.label in ("To run in", "Ordered") and not is_own:
                orders += 1
                assert "made up for practice" in fact.note, each
    assert orders or not [each for each in every if each.topic == "drip"]


def _ways_to_say(dose: Quantity) -> tuple[str, ...]:
    return (str(dose), str(dose.to("mcg"))) if dose.unit == "mg" else (str(dose),)


def test_a_dose_in_mg_is_asked_with_nothing_to_draw_up(every: list[Exercise]) -> None:
    doses = [each for each in every if each.topic == "dose" and each.asked == "dose"]
    assert doses
    for each in doses:
        assert not shown_of(prompt_of(each))["syringes"]
        assert not [fact for fact in each.facts if fact.label == "Syringes aboard"]
        assert not [step for step in each.problem.solve().steps if "mL" in step], each
        assert each.fineness


def test_what_else_is_aboard_is_told_in_the_unit_in_the_hand_or_as_on_a_vial(made: Made) -> None:
    for each in several("dose", 3, stores_of(made), 200):
        also = [fact.words for fact in each.facts if fact.label == "Also aboard"]
        if also and each.medicine and each.medicine.presentation:
            unit = each.medicine.presentation.amount.unit
            amounts = [read_quantity(said.split(" / ")[0]) for said in also[0].split("; ")]
            for amount in amounts:
                as_on_a_vial = "mg" if unit == "mcg" and amount.to("mcg").amount >= 1000 else unit
                assert amount.unit == as_on_a_vial, each
            assert "0.1 mL" not in also[0]  # a nasal spray is not drawn from


def test_shocks_and_burns_tell_every_rule_and_each_source(made: Made) -> None:
    """The right line must be chosen; a rule of another source is named beside it."""
    stores = stores_of(made)
    rules = tuple(
        replace(r, source="Ours") if r.code in ("D066", "D073") else r for r in stores.rules
    )
    changed = replace(stores, rules=rules)
    for topic, codes in (("burn", ("D065", "D066", "D067")), ("energy", ("D072", "D073"))):
        told = [e for e in several(topic, 2, changed, 20) if e.medicine]
        assert told
        for each in told:
            lines = [rule.printed for rule in rules if rule.code in codes]
            assert all(line in each.rule for line in lines), each
            assert "Ours" in each.source
            assert any(r.source in each.source for r in rules if r.code == codes[0])


def test_a_label_is_not_said_to_be_from_a_rule(made: Made) -> None:
    labels = [e for e in several("dilution", 1, stores_of(made), 60) if e.facts[0].label != "Mixed"]
    assert labels
    assert {each.source for each in labels} == {
        "the label, as the formulary has it; arithmetic (ours, no source)"
    }


def test_no_figure_that_does_not_end_is_shown_but_in_tablets(every: list[Exercise]) -> None:
    """2.5 mg in 3 mL is divided by as the label has it, never by 0.833333 mg/mL."""
    for each in every:
        told = [f"{fact.words} {fact.note}" for fact in each.facts]
        for line in (*told, *each.problem.solve().steps):
            assert line.endswith("tablets") or not re.search(r"\.\d{6}", line), line


def _is_in(unit: str) -> Callable[[Exercise], bool]:
    return lambda each: any(
        f.label == "Weight as told" and f.words.endswith(unit) for f in each.facts
    )


def _asks(*asked: str) -> Callable[[Exercise], bool]:
    return lambda each: each.asked in asked


def _has_trap(*traps: str) -> Callable[[Exercise], bool]:
    return lambda each: each.trap in traps


def _flows(each: Exercise) -> int:
    return len(json.loads(each.given)["flow"])


# What the guide's chapter on dosing says of each topic and grade.
PROMISED: dict[tuple[str, int], Callable[[Exercise], bool]] = {
    ("dose", 1): lambda each: each.asked == "dose" or not each.weight,
    ("dose", 2): lambda each: each.asked == "volume" and _is_in("kg")(each),
    ("dose", 3): _has_trap(*DOSE_TRAPS),
    ("drip", 1): _asks("mL_per_h"),
    ("drip", 2): lambda each: each.asked == "gtt_per_min" or each.medicine is not None,
    ("drip", 3): _has_trap("two drip sets aboard", "pounds"),
    ("dilution", 1): _asks("concentration"),
    ("dilution", 2): _asks("volume", "amount"),
    ("dilution", 3): _has_trap("two strengths aboard", "another bag than the rule's", "pounds"),
    ("weight", 1): _is_in("lb"),
    ("weight", 2): lambda each: each.rule.count("from ") == 1,
    ("weight", 3): lambda each: each.rule.count("from ") > 1,
    ("oxygen", 1): lambda each: _flows(each) == 1,
    ("oxygen", 2): lambda each: _flows(each) in (2, 3),
    ("oxygen", 3): lambda each: len(json.loads(each.given)["pressures"]) > 1,
    ("fluid", 1): lambda each: "The pump runs" in str(each.facts) or _is_in("kg")(each),
    ("fluid", 2): lambda each: "It drips" in str(each.facts) or _is_in("lb")(each),
    ("fluid", 3): _has_trap("two drip sets aboard", "a maximum"),
    ("burn", 1): lambda each: each.asked in ("total", "area", "mL_per_h", "rate"),
    ("burn", 2): lambda each: each.asked == "first_half_rate" and '"area"' in each.given,
    ("burn", 3): lambda each: each.asked == "first_half_rate" and '"regions"' in each.given,
    ("energy", 1): _is_in("kg"),
    ("energy", 2): _is_in("lb"),
    ("energy", 3): _has_trap("a maximum", "a range"),
    ("sums", 1): _asks("size", "systolic", "index"),
    ("sums", 2): _asks("mean", "points"),
    ("sums", 3): _has_trap("a size between two", "a scale for infants"),
}


def test_each_grade_has_what_the_guide_promises(made: Made, every: list[Exercise]) -> None:
    """Of the traps of drip and fluid only where two drip sets are aboard, or a maximum is met."""
    assert set(PROMISED) == set(product(WRITERS, GRADES))
    has_two_sets = len(stores_of(made).drip_sets) > 1
    for each in every:
        is_free = each.topic in ("drip", "fluid") and each.grade == 3 and not has_two_sets
        assert is_free or PROMISED[each.topic, each.grade](each), each


def test_what_is_mixed_first_is_in_the_hand_mixed_and_with_what(made: Made) -> None:
    found = several("dose", 1, stores_of(made), 120)
    kits = [each for each in found if each.medicine and each.medicine.code in ("D028", "D029")]
    assert kits or not [
        r for r in stores_of(made).rules if r.code == "D029" and stores_of(made).carries(r)
    ]
    for each in kits:
        held = each.facts[0]
        assert (held.label, held.words) == ("Mixed, in your hand", "Glucagon 1 mg / 1 mL")
        assert held.note == "from 1 mg powder + 1 mL diluent from the kit"


def test_the_undiluted_strength_is_named_where_its_volume_was_told(made: Made) -> None:
    """A tenfold dilution moves no point: what it was mixed from lay there to be taken."""
    asked = [
        (each.problem, each.problem.solve().results["volume"])
        for grade in (2, 3)
        for each in several("dilution", grade, stores_of(made), 60)
        if each.asked == "volume" and isinstance(each.problem, DoseProblem) and each.problem.others
    ]
    tenfold = [
        (problem, figure)
        for problem, figure in asked
        if problem.presentation
        and problem.others[0].strength.ratio_to(problem.presentation.strength) == 10
    ]

    assert tenfold
    for problem, figure in tenfold:
        tenth = exact_text(figure.exact.amount / 10)
        judged = judge(problem, "volume", f"{tenth} mL")
        assert [each.key for each in judged.slips] == ["other-presentation"]


@pytest.mark.parametrize("grade", GRADES)
def test_the_outlets_of_a_cylinder_take_no_more_than_a_regulator_gives(
    made: Made, grade: int
) -> None:
    """25 L/min in all: common practice, no source."""
    totals = [
        sum(int(flow.removesuffix(" L/min")) for flow in json.loads(each.given)["flow"])
        for each in several("oxygen", grade, stores_of(made), 60)
    ]
    assert len(set(totals)) > 1
    assert max(totals) <= 25
