"""Dose arithmetic against published cases, and the judgement of answers."""

import csv
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine import dosing
from drills.engine.devices import syringes
from drills.engine.dosing import (
    FIXED,
    OUT_OF_TOLERANCE,
    PER_KG,
    RIGHT,
    UNSAFE,
    DoseProblem,
    Weight,
    judge,
    read_answer,
    read_dose_rule,
    read_presentation,
    solve,
    written_badly,
)
from drills.engine.quantities import (
    Quantity,
    QuantityError,
    half_up,
    kilograms,
    plain,
    read_quantity,
)

DATA = Path(__file__).parents[1] / "data"
CASES = list(csv.DictReader((DATA / "dosing_cases.csv").read_text().splitlines()))
WORKED = list(csv.DictReader((DATA / "dosing_worked.csv").read_text().splitlines()))
ALL_SYRINGES = syringes([1, 3, 10, 20, 60])


def cases(*kinds: str) -> list[dict[str, str]]:
    return [row for row in CASES if row["kind"] in kinds]


def ids(row: dict[str, str]) -> str:
    return row.get("id") or row["rule"]


def given_in(row: dict[str, str]) -> dict[str, Fraction]:
    return {name: Fraction(str(value)) for name, value in json.loads(row["inputs"]).items()}


def agrees(found: Fraction, row: dict[str, str]) -> None:
    """The exact figure to the six places it is noted with, and the printed one as printed."""
    exact = Fraction(row["exact"] or row["answer"])
    assert abs(found - exact) <= Fraction(1, 2_000_000)
    rounding = row["rounding"].removeprefix("half-up to ")
    printed = half_up(found, Fraction(rounding)) if rounding else found
    assert printed == Fraction(row["answer"])


@pytest.mark.parametrize("row", cases("weight_lb_kg"), ids=ids)
def test_pounds_divide_by_two_point_two(row: dict[str, str]) -> None:
    agrees(kilograms(given_in(row)["lb"]), row)


def strength(row: dict[str, str]) -> Fraction:
    """mg in each mL, from whatever the case states.

    The engine reads no label: what a percent and a ratio mean is the test's own arithmetic, and
    with those rows what the engine makes of the strength is checked, not how it is read.
    """
    has = given_in(row)
    if "percent" in has:
        return has["percent"] * 10
    if "ratio" in has:
        return 1000 / has["ratio"]
    if "mg_per_mL" in has:
        return has["mg_per_mL"]
    if "mg_per" in has:
        return has["mg_per"] / has["mL"]
    if "per_mL" in has:
        return has["mg"] / has["per_mL"]
    amounts = {"g": Fraction(1000), "mg": Fraction(1), "mcg": Fraction(1, 1000)}
    (unit,) = amounts.keys() & has.keys()
    return has[unit] * amounts[unit] / has["mL"]


def presentation(row: dict[str, str]) -> dosing.Presentation:
    return dosing.Presentation(Quantity(strength(row), "mg"), Quantity(Fraction(1), "mL"))


@pytest.mark.parametrize("row", cases("concentration", "ratio"), ids=ids)
def test_a_strength_is_amount_by_volume(row: dict[str, str]) -> None:
    unit = row["unit"].removesuffix("/mL")
    in_one = presentation(row).amount_in(read_quantity("1 mL"))

    agrees(in_one.to(unit).amount, row)


@pytest.mark.parametrize("row", cases("percent"), ids=ids)
def test_a_percent_is_grams_in_a_hundred_millilitres(row: dict[str, str]) -> None:
    has, aboard = given_in(row), presentation(row)
    if row["unit"] == "g":
        agrees(aboard.amount_in(Quantity(has["mL"], "mL")).to("g").amount, row)
        return
    dose = Quantity(has["g_per_kg"], "g") if "g_per_kg" in has else Quantity(has["mg"], "mg")
    agrees(aboard.volume_of(dose).amount, row)


@pytest.mark.parametrize("row", cases("dose_mg"), ids=ids)
def test_a_dose_is_weight_times_the_rule(row: dict[str, str]) -> None:
    has = given_in(row)
    if "kg" in has:
        rule = dosing.DoseRule(PER_KG, Quantity(has["mg_per_kg"], "mg"))
        agrees(rule.for_weight(has["kg"]).low.amount, row)
    else:
        agrees(presentation(row).amount_in(Quantity(has["mL"], "mL")).amount, row)


@pytest.mark.parametrize("row", cases("dose_volume", "volume_per_kg", "rounding"), ids=ids)
def test_a_volume_is_dose_by_strength(row: dict[str, str]) -> None:
    has = given_in(row)
    name = next(each for each in has if each in {"mg", "mcg", "mg_per_kg", "mcg_per_kg"})
    dose = Quantity(has[name], name.removesuffix("_per_kg"))

    agrees(presentation(row).volume_of(dose).amount, row)


@pytest.mark.parametrize("row", cases("rounding"), ids=ids)
def test_the_device_rounds_as_the_published_sheet(row: dict[str, str]) -> None:
    """Hundredths in the 1 mL syringe, tenths in the 3 mL syringe, half up."""
    rule = dosing.DoseRule(FIXED, Quantity(given_in(row)["mg"], "mg"))

    solution = solve(DoseProblem(rule, Weight(Fraction(70), "kg"), presentation(row), ALL_SYRINGES))

    assert solution.drawn == Fraction(row["answer"])


@pytest.mark.parametrize("row", WORKED, ids=ids)
def test_worked_rows_of_a_printed_table(row: dict[str, str]) -> None:
    """Printed to tenths below 10 mL; the doses are checks of arithmetic, never of medicine."""
    rule = read_dose_rule(row["basis"], row["dose"], minimum=row["min"], maximum=row["max"])
    aboard = read_presentation(row["presentation"])
    weight = Weight(Fraction(row["kg"]), "kg")

    solution = solve(DoseProblem(rule, weight, aboard, ALL_SYRINGES))

    assert solution.dose.low.ratio_to(read_quantity(row["answer_dose"])) == 1
    assert half_up(solution.low, Fraction(1, 10)) == read_quantity(row["answer_volume"]).amount
    assert solution.dose.limit == row["limit"]


def test_no_slip_found_in_print_comes_out() -> None:
    """Two printed lines that disagree with arithmetic are not reproduced; the third, X010, is a
    rule and not an arithmetic, and the formulary is looked through for it."""
    flagged = {row["id"]: row for row in cases("flagged_dose_text")}
    assert set(flagged) == {"X010", "X011", "X019"}

    arrest = read_dose_rule(PER_KG, "0.01 mg").for_weight(Fraction("17.27")).low
    volume = read_presentation("1 mg / 1 mL").volume_of(arrest).amount
    assert volume == Fraction("0.1727")
    assert volume != Fraction(flagged["X019"]["answer"])

    with pytest.raises(QuantityError):
        read_quantity(f"{flagged['X011']['answer']} {flagged['X011']['unit']}")


def problem(
    *,
    rule: str = "0.1 mg",
    basis: str = PER_KG,
    told: str = "44 lb",
    maximum: str = "",
    high: str = "",
) -> DoseProblem:
    """By default 44 lb, 0.1 mg/kg, 10 mg / 5 mL: 20 kg, 2 mg, 1 mL."""
    amount, unit = told.split()
    return DoseProblem(
        read_dose_rule(basis, rule, maximum=maximum, high=high),
        Weight(Fraction(amount), unit),
        read_presentation("10 mg / 5 mL"),
        ALL_SYRINGES,
    )


def said(text: str, asked: DoseProblem) -> tuple[str, str]:
    found = judge(asked, read_quantity(text))
    return found.outcome, found.slip


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
        ("2.2 mL", problem(), dosing.POUNDS),
        ("10 mL", problem(), dosing.TENFOLD_OVER),
        ("0.1 mL", problem(), dosing.TENFOLD_UNDER),
        ("1,000 mL", problem(), dosing.THOUSANDFOLD),
        ("2 mL", problem(), dosing.AMOUNT_AS_VOLUME),
        ("0.45 mL", problem(told="20 kg"), dosing.HALVED_WRONGLY),
        ("4 mL", problem(told="80 kg", maximum="3 mg"), dosing.NO_MAXIMUM),
        ("2 mg", problem(), dosing.AMOUNT),
        ("3.7 mL", problem(), ""),
    ],
)
def test_names_the_slip_that_explains_an_answer(text: str, asked: DoseProblem, slip: str) -> None:
    outcome, named = said(text, asked)

    assert named == slip
    assert outcome != RIGHT


def test_names_no_slip_when_two_explain_it() -> None:
    """A presentation of 10 mg in 1 mL and ten times the dose: both slips give the same volume."""
    both = DoseProblem(
        read_dose_rule(FIXED, "2 mg"),
        Weight(Fraction(70), "kg"),
        read_presentation("10 mg / 1 mL"),
        ALL_SYRINGES,
    )

    assert said("2 mL", both) == (UNSAFE, "")


@pytest.mark.parametrize(
    ("kg", "drawn", "outcomes"),
    [
        # The largest syringe aboard, filled again, with its marks of 0.2 mL; 10.318 mL exactly.
        ("20.636", "10.4", {"10.4": RIGHT, "10.3": RIGHT, "10.6": OUT_OF_TOLERANCE, "8.2": UNSAFE}),
        ("2", "1", {"1": RIGHT, "1.1": RIGHT, "1.19": OUT_OF_TOLERANCE, "1.2": UNSAFE}),
    ],
)
def test_what_no_syringe_holds_is_judged_by_the_marks_of_the_largest(
    kg: str, drawn: str, outcomes: dict[str, str]
) -> None:
    rule, aboard = read_dose_rule(PER_KG, "0.5 mg"), read_presentation("10 mg / 10 mL")
    asked = DoseProblem(rule, Weight(Fraction(kg), "kg"), aboard, syringes([10]))

    assert solve(asked).drawn == Fraction(drawn)
    assert {text: said(f"{text} mL", asked)[0] for text in outcomes} == outcomes


def test_only_what_is_packed_in_a_bag_is_run_from_it() -> None:
    rule, weight = read_dose_rule(PER_KG, "0.5 g"), Weight(Fraction("41.3"), "kg")
    bag, vial = read_presentation("25 g / 250 mL"), read_presentation("2.5 g / 25 mL")
    run_in, drawn = (DoseProblem(rule, weight, each, ALL_SYRINGES) for each in (bag, vial))

    assert solve(run_in).low == solve(drawn).low == Fraction("206.5")
    assert solve(run_in).drawn == 210
    assert solve(drawn).drawn == 207


def test_the_ends_of_a_range_are_told_inward() -> None:
    """To the marks inside it: 0.6667 mL are past the maximum of 2 mg, 0.66 mL are not."""
    ranged = DoseProblem(
        read_dose_rule(FIXED, "1 mg", high="2 mg", maximum="2 mg"),
        Weight(Fraction(70), "kg"),
        read_presentation("3 mg / 1 mL"),
        ALL_SYRINGES,
    )

    assert solve(ranged).answer == "0.34 mL, up to 0.66 mL"
    assert said("0.66 mL", ranged)[0] == said("0.34 mL", ranged)[0] == RIGHT
    assert said("0.6667 mL", ranged)[0] == UNSAFE


@pytest.mark.parametrize(
    "text", [". mL", " mL", "1 L", "1 kg", "1 J", "1 mmol", "1 ml", "\u0661 mL"]
)
def test_reads_no_answer_without_a_figure_or_in_a_unit_not_offered(text: str) -> None:
    with pytest.raises(QuantityError, match=r"is no (dose|amount);"):
        read_answer(text)


def test_past_the_maximum_is_unsafe_at_any_size() -> None:
    capped = problem(told="100 kg", maximum="6 mg")
    assert solve(capped).low == 3

    assert said("3 mL", capped)[0] == RIGHT
    assert judge(capped, read_quantity("3.01 mL")).past_maximum
    assert said("3.01 mL", capped)[0] == UNSAFE
    assert said("2.95 mL", capped)[0] == RIGHT


def test_anywhere_inside_a_range_is_right() -> None:
    ranged = problem(rule="0.1 mg", high="0.2 mg", told="20 kg")

    assert {said(f"{text} mL", ranged)[0] for text in ("1", "1.37", "2")} == {RIGHT}
    assert said("2.2 mL", ranged)[0] == OUT_OF_TOLERANCE
    assert said("2.4 mL", ranged)[0] == UNSAFE


def test_an_amount_for_a_volume_is_never_right() -> None:
    assert said("2 mg", problem()) == (OUT_OF_TOLERANCE, dosing.AMOUNT)
    assert said("2,000 mcg", problem()) == (OUT_OF_TOLERANCE, dosing.AMOUNT)
    assert said("4 mg", problem())[0] == UNSAFE


@pytest.mark.parametrize(
    ("text", "faults"), [("1", 0), ("0.5", 0), (".5", 1), ("1.0", 1), ("1.", 1), (".50", 2)]
)
def test_says_what_is_unsafe_in_how_it_was_written(text: str, faults: int) -> None:
    """The published do-not-use list: a leading zero always, a trailing zero never."""
    assert len(written_badly(text)) == faults


def test_works_a_dose_in_steps() -> None:
    assert solve(problem(told="44 lb", maximum="1.5 mg")).steps == (
        "44 lb / 2.2 = 20 kg",
        "0.1 mg for each kg, 20 kg: 2 mg",
        "The maximum is 1.5 mg: give 1.5 mg",
        "1.5 mg / 10 mg x 5 mL = 0.75 mL",
        "By the marks of the 1 mL syringe, 0.01 mL apart: 0.75 mL",
    )


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ({"maximum": "3 mg"}, "The maximum is 3 mg: give no more"),
        ({"minimum": "3 mg"}, "The minimum is 3 mg: give no less"),
        ({"maximum": "1 mg"}, "The maximum is 1 mg: give 1 mg"),
        ({"minimum": "9 mg"}, "The minimum is 9 mg: give 9 mg"),
    ],
)
def test_each_end_of_a_range_meets_its_limit(limits: dict[str, str], said: str) -> None:
    """2 mg to 4 mg by weight."""
    rule = read_dose_rule(PER_KG, "0.1 mg", high="0.2 mg", **limits)
    steps = solve(replace(problem(told="20 kg"), rule=rule)).steps

    assert said in steps
    assert [each for each in steps if each.startswith("The m")] == [said]


def test_a_forgotten_maximum_of_a_range_is_named() -> None:
    ranged = problem(rule="0.1 mg", high="0.15 mg", maximum="4 mg", told="30 kg")

    assert said("2.25 mL", ranged) == (UNSAFE, dosing.NO_MAXIMUM)


def test_a_dose_below_one_mark_at_its_maximum_is_not_asked() -> None:
    """0.3 mL with marks of 1 mL: no mark is at or below it."""
    coarse = DoseProblem(
        read_dose_rule(FIXED, "0.3 mg", maximum="0.3 mg"),
        Weight(Fraction(70), "kg"),
        read_presentation("1 mg / 1 mL"),
        syringes([20]),
    )

    assert not solve(coarse).is_measurable


def test_the_high_end_of_a_range_has_the_marks_of_its_own_syringe() -> None:
    """0.95 mL to 1.9 mL: the 1 mL syringe holds the low end alone."""
    ranged = DoseProblem(
        read_dose_rule(PER_KG, "25 mg", high="50 mg"),
        Weight(Fraction(19), "kg"),
        read_presentation("1 g / 2 mL"),
        ALL_SYRINGES,
    )

    outcomes = {text: said(f"{text} mL", ranged)[0] for text in ("0.94", "0.95", "1.95", "1.96")}
    assert outcomes == {
        "0.94": OUT_OF_TOLERANCE,
        "0.95": RIGHT,
        "1.95": RIGHT,
        "1.96": OUT_OF_TOLERANCE,
    }


amounts = st.fractions(min_value="0.01", max_value=500, max_denominator=100)


@given(amounts, amounts, st.integers(2, 9))
def test_twice_the_weight_is_twice_the_dose(dose: Fraction, kg: Fraction, times: int) -> None:
    rule = dosing.DoseRule(PER_KG, Quantity(dose, "mg"))

    assert rule.for_weight(kg * times).low == rule.for_weight(kg).low.times(times)


@given(amounts, amounts, amounts)
def test_no_dose_passes_its_maximum(dose: Fraction, kg: Fraction, most: Fraction) -> None:
    """Nor does what it is drawn up to, whatever the marks of the device."""
    rule = dosing.DoseRule(PER_KG, Quantity(dose, "mg"), maximum=Quantity(most, "mg"))
    asked = DoseProblem(rule, Weight(kg, "kg"), read_presentation("10 mg / 3 mL"), ALL_SYRINGES)

    solution = solve(asked)

    assert solution.ceiling is not None
    assert solution.low <= solution.ceiling
    assert solution.drawn <= solution.ceiling
    assert solution.drawn % solution.device.marks == 0
    assert solution.dose.limit == ("maximum" if dose * kg > most else "")


@given(amounts, amounts, st.sampled_from(["mcg", "mg", "g"]))
def test_the_unit_of_a_rule_changes_nothing(dose: Fraction, kg: Fraction, unit: str) -> None:
    in_mg = Quantity(dose, "mg")
    problems = [
        DoseProblem(
            dosing.DoseRule(PER_KG, each), Weight(kg, "kg"), read_presentation("10 mg / 3 mL"), ()
        )
        for each in (in_mg, in_mg.to(unit))
    ]

    assert solve(problems[0]).low == solve(problems[1]).low


@given(amounts, amounts)
def test_the_exact_answer_is_right_and_three_times_it_is_unsafe(
    dose: Fraction, kg: Fraction
) -> None:
    asked = DoseProblem(
        dosing.DoseRule(PER_KG, Quantity(dose, "mg")),
        Weight(kg, "kg"),
        read_presentation("10 mg / 3 mL"),
        ALL_SYRINGES,
    )
    exact = Quantity(solve(asked).low, "mL")

    assert judge(asked, exact).outcome == RIGHT
    assert judge(asked, exact.times(3)).outcome == UNSAFE


@given(amounts, amounts, st.one_of(st.none(), amounts))
def test_the_worked_answer_is_right_wherever_it_can_be_measured(
    dose: Fraction, kg: Fraction, most: Fraction | None
) -> None:
    maximum = Quantity(most, "mg") if most else None
    rule = dosing.DoseRule(PER_KG, Quantity(dose, "mg"), maximum=maximum)
    asked = DoseProblem(rule, Weight(kg, "kg"), read_presentation("10 mg / 3 mL"), ALL_SYRINGES)

    solution = solve(asked)

    if solution.is_measurable:
        assert judge(asked, Quantity(solution.drawn, "mL")).outcome == RIGHT


def test_a_dose_between_two_marks_is_too_small_to_measure() -> None:
    """0.025 mL between the marks of the 1 mL syringe: 0.03 mL would be a fifth too much."""
    tiny = problem(rule="0.02 mg", told="2.5 kg")

    assert solve(tiny).low == Fraction("0.025")
    assert not solve(tiny).is_measurable
    assert solve(problem()).is_measurable


@pytest.mark.parametrize("other", ["mL", "mEq", "units", "J"])
def test_what_cannot_be_compared_is_an_error_and_no_number(other: str) -> None:
    with pytest.raises(QuantityError, match=other):
        Quantity(Fraction(1), "mg").to(other)


@pytest.mark.parametrize("text", ["", "mg", "1", "1 stone", "-1 mg", "1e3 mg", "1 mg/kg", "nan mg"])
def test_reads_no_text_that_is_no_amount(text: str) -> None:
    with pytest.raises(QuantityError, match="no amount"):
        read_quantity(text)


@pytest.mark.parametrize(
    ("amount", "text"),
    [("1000", "1,000"), ("0.5", "0.5"), ("12.50", "12.5"), ("1/3", "0.3333"), ("100", "100")],
)
def test_writes_numbers_as_medicine_does(amount: str, text: str) -> None:
    assert plain(Fraction(amount)) == text
