"""What was given before, and the most in all: of ranges, of rules that follow each other."""

from dataclasses import replace

import pytest

from drills.engine.ages import Age
from drills.engine.dosing import ProblemError
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import Worked, work_out
from drills.engine.quantities import read_quantity
from tests.engine.treating import CHILD, GROWN, carrying, rule

VIAL = "10 mg / 10 mL"


def of_a_range(doses_before: int = 0, given_before: str = "") -> Worked:
    """0.4 to 2 mg, 10 mg in all, after what was given before."""
    given = rule("0.4 mg", high="2 mg", packed=VIAL, max_total=read_quantity("10 mg"))
    told = read_quantity(given_before) if given_before else None
    course = Course(doses_before=doses_before, given_before=told)
    return work_out(GROWN, given, carrying(VIAL), course=course)


def ends(worked: Worked) -> tuple[str, ...]:
    return tuple(map(str, worked.results["dose"].ends))


def test_what_was_given_so_far_counts_and_not_the_high_end_of_each_dose() -> None:
    """Five of 0.4 mg were 2 mg: with this one no more than 4 mg, and three more may follow."""
    worked = of_a_range(doses_before=5, given_before="2 mg")

    assert worked.refusal is None
    assert (ends(worked), worked.cut) == (("0.4 mg", "2 mg"), "")
    assert (worked.again.told_so_far, worked.again.more) == ("2.4 to 4 mg", 3)
    assert "2 mg before and this one: 2 mg + 0.4 to 2 mg = 2.4 to 4 mg" in worked.steps
    assert "In all 2.4 to 4 mg of at most 10 mg" in worked.steps


def test_of_a_count_alone_both_ends_are_told_and_nothing_is_refused_by_the_high_one() -> None:
    """Five were 2 to 10 mg: no more than the least until somebody says how much."""
    worked = of_a_range(doses_before=5)

    assert worked.refusal is None
    assert ends(worked) == ("0.4 mg",) * len(ends(worked))
    assert worked.cut == (
        "In all at most 10 mg, and by the count alone 2 to 10 mg was given before: no more than "
        "0.4 mg until it is known how much"
    )
    assert worked.again.told_so_far == "2.4 to 10.4 mg"
    assert worked.again.more == 0


def test_a_range_is_cut_to_what_is_left_with_the_reason() -> None:
    """9 mg of 10 mg were given: 1 mg is left, in the syringe as well."""
    worked = of_a_range(given_before="9 mg")

    assert worked.refusal is None
    assert ends(worked) == ("0.4 mg", "1 mg")
    assert worked.cut == "In all at most 10 mg, and 9 mg was given before: 1 mg is left"
    assert worked.cut in worked.steps
    assert worked.volume is not None
    assert worked.volume.answer == "0.4 mL, up to 1 mL"
    assert worked.again.more == 0


def test_the_first_dose_of_a_range_is_cut_and_never_refused() -> None:
    """1 to 1.5 mg/kg of at most 1.2 mg/kg in all."""
    given = rule(
        "1 mg/kg", high="1.5 mg/kg", packed="100 mg / 5 mL", max_total=read_quantity("1.2 mg/kg")
    )

    worked = work_out(CHILD, given, carrying("100 mg / 5 mL"))

    assert (worked.refusal, ends(worked)) == (None, ("20 mg", "24 mg"))
    assert worked.cut == "In all at most 24 mg: no more than 24 mg is left"


def test_a_dose_past_what_is_left_is_refused_by_what_was_given() -> None:
    """9.7 mg of 10 mg were given, and the least is 0.4 mg."""
    worked = of_a_range(given_before="9.7 mg")

    assert worked.refusal is not None
    assert worked.refusal.because == (
        "10.1 to 11.7 mg with this dose, and the rule allows 10 mg in all."
    )


def test_what_another_rule_gave_counts_to_a_total_that_is_shared() -> None:
    """Two of 1.5 mg/kg by the one rule leave nothing by the one that follows it."""
    second = rule(
        "0.5 mg/kg",
        high="0.75 mg/kg",
        packed="100 mg / 5 mL",
        max_total=read_quantity("3 mg/kg"),
    )
    stock = carrying("100 mg / 5 mL")

    after_one, after_two = (
        work_out(CHILD, second, stock, course=Course(given_before=read_quantity(each)))
        for each in ("30 mg", "0.06 g")
    )

    assert (after_one.refusal, after_one.again.more) == (None, 1)
    assert after_two.refusal is not None
    assert after_two.again.is_past_total


def test_a_dose_past_the_count_is_not_said_to_be_past_the_total() -> None:
    """One more is one too many, with 8 mg to spare."""
    given = rule("1 mg", repeat_times=0, max_total=read_quantity("10 mg"))

    worked = work_out(GROWN, given, carrying("1 mg / 1 mL"), course=Course(doses_before=1))

    assert worked.refusal is not None
    assert worked.refusal.because == "2 mg with this dose, and the rule allows no more doses."


def test_what_was_given_in_another_kind_of_unit_is_asked_back() -> None:
    """Millilitres of a medicine that is counted in milligrams."""
    with pytest.raises(ProblemError, match=r"given so far: 2 mL came in; it is told in mg\."):
        of_a_range(given_before="2 mL")


def test_a_total_by_the_kg_without_a_weight_is_refused_with_a_sentence() -> None:
    """Of a fixed dose too: nothing is made up, and no limit is dropped."""
    unweighed = Patient(age=Age.of_years(40))
    given = rule("1 mg", max_total=read_quantity("3 mg/kg"))

    with pytest.raises(ProblemError, match="the most in all, 3 mg/kg, goes by it"):
        work_out(unweighed, given, carrying("1 mg / 1 mL"))

    weighed = replace(unweighed, weight=read_quantity("2 kg"))
    assert str(work_out(weighed, given, carrying("1 mg / 1 mL")).again.at_most) == "6 mg"
