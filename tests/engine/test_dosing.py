"""The judgement of doses, and the working of them."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.concentrations import read_presentation
from drills.engine.devices import SYRINGES, syringes
from drills.engine.dosing import (
    OUT_OF_TOLERANCE,
    RIGHT,
    UNREADABLE,
    UNSAFE,
    DoseProblem,
    DoseRule,
    Result,
    judge,
    read_dose_rule,
    slips,
)
from drills.engine.dosing.dose import DOSE, VOLUME
from drills.engine.quantities import Quantity, QuantityError, plain, read_quantity
from drills.engine.writing import remarks

ALL_SYRINGES = syringes([1, 3, 10, 20, 60])


def volume_of(asked: DoseProblem) -> Result:
    return asked.solve().results[VOLUME]


def kg(amount: Fraction | int | str) -> Quantity:
    return Quantity(Fraction(amount), "kg")


def by_weight(dose: Fraction) -> Quantity:
    return Quantity(dose, "mg/kg")


def problem(
    *,
    rule: str = "0.1 mg/kg",
    told: str = "44 lb",
    maximum: str = "",
    high: str = "",
) -> DoseProblem:
    """By default 44 lb, 0.1 mg/kg, 10 mg / 5 mL: 20 kg, 2 mg, 1 mL."""
    return DoseProblem(
        rule=read_dose_rule(rule, maximum=maximum, high=high),
        weight=read_quantity(told),
        presentation=read_presentation("10 mg / 5 mL"),
        devices=ALL_SYRINGES,
    )


def said(text: str, asked: DoseProblem) -> tuple[str, str]:
    found = judge(asked, VOLUME, text)
    return found.verdict, found.slip.key if found.slip else ""


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("1 mL", RIGHT),
        ("1.005 mL", RIGHT),
        ("1.01 mL", OUT_OF_TOLERANCE),
        ("1.1 mL", OUT_OF_TOLERANCE),
        ("1.19 mL", OUT_OF_TOLERANCE),
        ("1.2 mL", UNSAFE),
        ("0.8 mL", UNSAFE),
        ("0.81 mL", OUT_OF_TOLERANCE),
        ("0 mL", UNSAFE),
    ],
)
def test_judges_by_the_marks_and_by_a_fifth(text: str, outcome: str) -> None:
    """20 % is the published definition of a dosing error; the 1 mL syringe has 0.01 mL marks."""
    assert said(text, problem())[0] == outcome


@pytest.mark.parametrize(
    ("text", "asked", "slip"),
    [
        ("2.2 mL", problem(), slips.POUNDS_AS_KG.key),
        ("10 mL", problem(), slips.TENFOLD_OVER.key),
        ("0.1 mL", problem(), slips.TENFOLD_UNDER.key),
        ("1,000 mL", problem(), slips.THOUSANDFOLD_OVER.key),
        ("2 mL", problem(), slips.DOSE_AS_VOLUME.key),
        ("0.45 mL", problem(told="20 kg"), slips.KG_AS_POUNDS.key),
        ("4 mL", problem(told="80 kg", maximum="3 mg"), slips.NO_MAXIMUM.key),
        ("2 mg", problem(), slips.AMOUNT_GIVEN.key),
        ("3.7 mL", problem(), ""),
    ],
)
def test_names_the_slip_that_explains_an_answer(text: str, asked: DoseProblem, slip: str) -> None:
    outcome, named = said(text, asked)

    assert named == slip
    assert outcome != RIGHT


def drawn_by(
    rule: DoseRule,
    weight: Quantity,
    packed: str,
    *sizes: int,
) -> DoseProblem:
    """A dose with a presentation such as `10 mg / 3 mL`, drawn up with some syringes or all."""
    return DoseProblem(
        rule=rule,
        weight=weight,
        presentation=read_presentation(packed),
        devices=syringes(sizes or tuple(SYRINGES)),
    )


def test_names_no_slip_when_two_explain_it() -> None:
    """A presentation of 10 mg in 1 mL and ten times the dose: both slips give the same volume."""
    both = drawn_by(read_dose_rule("2 mg"), kg(70), "10 mg / 1 mL")

    found = judge(both, VOLUME, "2 mL")

    assert (found.verdict, found.slip) == (UNSAFE, None)
    assert set(found.slips) == {slips.TENFOLD_OVER, slips.DOSE_AS_VOLUME}


@pytest.mark.parametrize(
    ("weight", "drawn", "outcomes"),
    [
        # The largest syringe aboard, filled again, with its marks of 0.2 mL; 10.318 mL exactly.
        ("20.636", "10.4", {"10.4": RIGHT, "10.3": RIGHT, "10.6": OUT_OF_TOLERANCE, "8.2": UNSAFE}),
        (
            "2",
            "1",
            {
                "1": RIGHT,
                "1.05": RIGHT,
                "1.1": OUT_OF_TOLERANCE,
                "1.19": OUT_OF_TOLERANCE,
                "1.2": UNSAFE,
            },
        ),
    ],
)
def test_what_no_syringe_holds_is_judged_by_the_marks_of_the_largest(
    weight: str, drawn: str, outcomes: dict[str, str]
) -> None:
    asked = drawn_by(read_dose_rule("0.5 mg/kg"), kg(weight), "10 mg / 10 mL", 10)

    assert volume_of(asked).rounded == read_quantity(f"{drawn} mL")
    assert {text: said(f"{text} mL", asked)[0] for text in outcomes} == outcomes


def test_only_what_is_packed_in_a_bag_is_run_from_it() -> None:
    rule, weight = read_dose_rule("0.5 g/kg"), kg("30.3")
    run_in, drawn = (drawn_by(rule, weight, each) for each in ("25 g / 250 mL", "2.5 g / 25 mL"))

    assert volume_of(run_in).exact == volume_of(drawn).exact == read_quantity("151.5 mL")
    assert volume_of(run_in).rounded == read_quantity("150 mL")
    assert volume_of(drawn).rounded == read_quantity("152 mL")


def test_the_ends_of_a_range_are_told_inward() -> None:
    """To the marks inside it: 0.6667 mL are past the maximum of 2 mg, 0.66 mL are not."""
    ranged = drawn_by(
        read_dose_rule("1 mg", high="2 mg", maximum="2 mg"), kg(70), "3 mg / 1 mL", 1, 3, 10
    )

    assert volume_of(ranged).answer == "0.34 mL, up to 0.66 mL"
    assert said("0.66 mL", ranged)[0] == said("0.34 mL", ranged)[0] == RIGHT
    assert said("0.6667 mL", ranged)[0] == UNSAFE


@pytest.mark.parametrize(
    "text",
    [". mL", " mL", "1 kg", "1 J", "1 mmol", "1 mL/h", "\u0661 mL", "1", "-1 mL", "1e3 mL", "1 cl"],
)
def test_what_is_no_amount_of_what_was_asked_is_never_judged(text: str) -> None:
    found = judge(problem(), VOLUME, text)

    assert (found.verdict, found.ratio, found.slips) == (UNREADABLE, None, ())


@pytest.mark.parametrize("text", ["1 mL", "1.0 mL", "1,0 mL", "1. mL", "0.001 L", "1 ml", "1cc"])
def test_one_amount_is_right_however_it_is_written(text: str) -> None:
    assert said(text, problem())[0] == RIGHT


def test_past_the_maximum_is_unsafe_at_any_size() -> None:
    capped = problem(told="100 kg", maximum="6 mg")
    assert volume_of(capped).exact == read_quantity("3 mL")

    assert said("3 mL", capped)[0] == RIGHT
    assert judge(capped, VOLUME, "3.01 mL").is_past_maximum
    assert said("3.01 mL", capped)[0] == UNSAFE
    assert said("2.95 mL", capped)[0] == RIGHT


def test_anywhere_inside_a_range_is_right() -> None:
    ranged = problem(rule="0.1 mg/kg", high="0.2 mg/kg", told="20 kg")

    assert {said(f"{text} mL", ranged)[0] for text in ("1", "1.37", "2")} == {RIGHT}
    assert said("2.2 mL", ranged)[0] == OUT_OF_TOLERANCE
    assert said("2.4 mL", ranged)[0] == UNSAFE


def test_an_amount_for_a_volume_is_never_right() -> None:
    assert said("2 mg", problem()) == (OUT_OF_TOLERANCE, slips.AMOUNT_GIVEN.key)
    assert said("2,000 mcg", problem()) == (OUT_OF_TOLERANCE, slips.AMOUNT_GIVEN.key)
    assert said("4 mg", problem())[0] == UNSAFE


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("1 mg", []),
        ("0.5 mg", []),
        ("1,000 mg", []),
        ("10 units", []),
        (".5 mg", ["leading zero"]),
        ("1.0 mg", ["trailing zero"]),
        ("1. mg", ["trailing zero"]),
        (".50 mg", ["leading zero", "trailing zero"]),
        ("5 µg", ["mcg"]),
        ("5 ug/min", ["mcg"]),
        ("10 U", ["units"]),
        ("10 IU", ["units"]),
        ("3 cc", ["mL"]),
        ("1000 mg", ["comma"]),
        ("12000 units", ["comma"]),
        ("0,125 mg", []),
    ],
)
def test_says_what_is_unsafe_in_how_it_was_written(text: str, keys: list[str]) -> None:
    """The published do-not-use list: a leading zero always, a trailing zero never."""
    assert [each.key for each in remarks(text)] == keys


def test_works_a_dose_in_steps() -> None:
    assert problem(told="44 lb", maximum="1.5 mg").solve().steps == (
        "44 lb / 2.2 = 20 kg",
        "20 kg x 0.1 mg/kg = 2 mg",
        "The maximum is 1.5 mg: give 1.5 mg",
        "1.5 mg / 2 mg/mL = 0.75 mL",
        "By marks of the 1 mL syringe 0.01 mL apart: 0.75 mL",
    )


@pytest.mark.parametrize(
    ("limits", "line"),
    [
        ({"maximum": "3 mg"}, "The maximum is 3 mg: give no more"),
        ({"minimum": "3 mg"}, "The minimum is 3 mg: give no less"),
        ({"maximum": "1 mg"}, "The maximum is 1 mg: give 1 mg"),
        ({"minimum": "9 mg"}, "The minimum is 9 mg: give 9 mg"),
    ],
)
def test_each_end_of_a_range_meets_its_limit(limits: dict[str, str], line: str) -> None:
    """2 mg to 4 mg by weight."""
    rule = read_dose_rule("0.1 mg/kg", high="0.2 mg/kg", **limits)
    steps = replace(problem(told="20 kg"), rule=rule).solve().steps

    assert [each for each in steps if each.startswith("The m")] == [line]


def test_a_forgotten_maximum_of_a_range_is_named() -> None:
    ranged = problem(rule="0.1 mg/kg", high="0.15 mg/kg", maximum="4 mg", told="30 kg")

    assert said("2.25 mL", ranged) == (UNSAFE, slips.NO_MAXIMUM.key)


def test_a_dose_below_one_mark_at_its_maximum_is_refused() -> None:
    """0.3 mL with marks of 1 mL: no mark is at or below it."""
    coarse = drawn_by(read_dose_rule("0.3 mg", maximum="0.3 mg"), kg(70), "1 mg / 1 mL", 20)

    solution = coarse.solve()

    assert solution.refusal is not None
    assert volume_of(coarse).rounded is None
    assert volume_of(coarse).exact == read_quantity("0.3 mL")


def test_the_high_end_of_a_range_has_the_marks_of_its_own_syringe() -> None:
    """0.95 mL to 1.96 mL: the 1 mL syringe holds the low end alone, and the other sets 1.9 mL."""
    ranged = drawn_by(read_dose_rule("475 mg", high="980 mg"), kg(19), "1 g / 2 mL", 1, 3, 10)

    assert volume_of(ranged).rounded_high == read_quantity("1.9 mL")
    outcomes = {text: said(f"{text} mL", ranged)[0] for text in ("0.94", "0.95", "1.96", "1.97")}
    assert outcomes == {
        "0.94": OUT_OF_TOLERANCE,
        "0.95": RIGHT,
        "1.96": RIGHT,
        "1.97": OUT_OF_TOLERANCE,
    }


amounts = st.integers(1, 50_000).map(lambda hundredths: Fraction(hundredths, 100))


@given(amounts, amounts, st.integers(2, 9))
def test_twice_the_weight_is_twice_the_dose(dose: Fraction, weight: Fraction, times: int) -> None:
    rule = DoseRule(by_weight(dose))

    assert rule.for_weight(kg(weight * times)).low == rule.for_weight(kg(weight)).low.times(times)


@given(amounts, amounts, amounts)
def test_no_dose_passes_its_maximum(dose: Fraction, weight: Fraction, most: Fraction) -> None:
    """Nor does what it is drawn up to, whatever the marks of the device."""
    rule = DoseRule(by_weight(dose), maximum=Quantity(most, "mg"))
    asked = drawn_by(rule, kg(weight), "10 mg / 3 mL")

    found = volume_of(asked)

    assert found.ceiling is not None
    assert found.exact.amount <= found.ceiling.amount
    if found.rounded:
        assert found.rounded.amount <= found.ceiling.amount
        assert found.rounded.amount % found.step == 0
    assert asked.solve().limit == ("max" if dose * weight > most else "")


@given(amounts, amounts, st.sampled_from(["mcg/kg", "mg/kg", "g/kg"]))
def test_the_unit_of_a_rule_changes_nothing(dose: Fraction, weight: Fraction, unit: str) -> None:
    first, second = (
        drawn_by(DoseRule(each), kg(weight), "10 mg / 3 mL")
        for each in (by_weight(dose), by_weight(dose).to(unit))
    )

    assert volume_of(first).exact == volume_of(second).exact


@given(amounts, amounts)
def test_the_exact_answer_is_right_and_three_times_it_is_unsafe(
    dose: Fraction, weight: Fraction
) -> None:
    asked = drawn_by(DoseRule(by_weight(dose)), kg(weight), "16 mg / 10 mL")
    exact = volume_of(asked).exact

    assert judge(asked, VOLUME, exact.exactly()).verdict == RIGHT
    assert judge(asked, VOLUME, exact.times(3).exactly()).verdict == UNSAFE


@given(amounts, amounts, st.one_of(st.none(), amounts))
def test_the_worked_answer_is_right_wherever_it_can_be_measured(
    dose: Fraction, weight: Fraction, most: Fraction | None
) -> None:
    maximum = Quantity(most, "mg") if most else None
    asked = drawn_by(DoseRule(by_weight(dose), maximum=maximum), kg(weight), "10 mg / 3 mL")

    set_to = volume_of(asked).rounded

    if set_to is not None:
        assert judge(asked, VOLUME, set_to.exactly()).verdict == RIGHT


def test_a_dose_between_two_marks_is_too_small_to_measure() -> None:
    """0.025 mL between the marks of the 1 mL syringe: 0.03 mL would be a fifth too much."""
    tiny = problem(rule="0.02 mg/kg", told="2.5 kg")

    assert volume_of(tiny).exact == read_quantity("0.025 mL")
    assert tiny.solve().refusal is not None
    assert problem().solve().refusal is None


@pytest.mark.parametrize("other", ["mL", "mEq", "units", "J", "mg/kg", "mg/min"])
def test_what_cannot_be_compared_is_an_error_and_no_number(other: str) -> None:
    with pytest.raises(QuantityError, match=other):
        Quantity(Fraction(1), "mg").to(other)


@pytest.mark.parametrize("text", ["", "mg", "1", "1 stone", "-1 mg", "1e3 mg", "1 mg/mg", "nan mg"])
def test_reads_no_text_that_is_no_amount(text: str) -> None:
    with pytest.raises(QuantityError, match=r"no amount|no unit|an amount can have|below zero"):
        read_quantity(text)


@pytest.mark.parametrize(
    ("amount", "text"),
    [("1000", "1,000"), ("0.5", "0.5"), ("12.50", "12.5"), ("1/3", "0.333333"), ("100", "100")],
)
def test_writes_numbers_as_medicine_does(amount: str, text: str) -> None:
    assert plain(Fraction(amount)) == text


def test_a_dose_alone_is_asked_where_no_presentation_is_named() -> None:
    alone = DoseProblem(rule=read_dose_rule("0.1 mg/kg"), weight=kg(20))

    assert list(alone.solve().results) == [DOSE]
