"""What holds for every problem: the working adds up, and the units of every figure are its own."""

import re
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.dosing import RIGHT, DoseProblem, Result, Solution, judge
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.working import all_steps, steps_to
from drills.engine.lines import ends_in, is_line, line
from drills.engine.quantities import Quantity, QuantityError, plain, read_number
from tests.engine.dosing_problems import any_problem

NUMBER = r"[0-9][0-9,]*(?:\.[0-9]+)?"
TERM = re.compile(rf"({NUMBER})(?: to ({NUMBER}))?([^0-9]*)")
# How many of the smallest one of each is, from the definition of the units alone.
SIZES = {"mcg": 1, "mg": 1000, "g": 10**6, "mL": 1, "L": 1000, "s": 1, "min": 60, "h": 3600}
# Six figures are shown of what does not end: half of the last, in each of three and the result.
NEAR = Fraction(20, 10**6)

problems = st.integers(0, 2**32).map(lambda seed: any_problem(Random(seed)))  # noqa: S311 - no secrets


def ends(term: str) -> tuple[Fraction, Fraction]:
    """The number of a term, or both ends of its range."""
    found = TERM.match(term.strip())
    assert found, term
    low = read_number(found[1])
    return low, read_number(found[2]) if found[2] else low


def unit_of(term: str) -> str:
    """What is written behind the number of a term."""
    found = TERM.match(term.strip())
    assert found, term
    return found[3].strip()


def worked(left: str, end: int) -> Fraction:
    """The left side of a line, from its text alone; a minus and a plus have one unit throughout."""
    parts = re.split(r" ([x/+-]) ", left)
    amount = ends(parts[0])[end]
    for sign, term in zip(parts[1::2], parts[2::2], strict=True):
        other = ends(term)[end]
        if sign in "+-":
            assert unit_of(term) == unit_of(parts[0])
        if sign == "x":
            amount *= other
        elif sign == "/":
            amount /= other
        else:
            amount += other if sign == "+" else -other
    return amount


def converted(left: str) -> Fraction:
    """How many times as large the unit of a bare amount is, per the unit it is turned into."""
    return Fraction(SIZES[unit_of(left).partition("/")[0]])


@given(problems)
def test_every_line_of_the_working_adds_up_by_its_own_text(problem: dict[str, Any]) -> None:
    """A person with paper gets the figure on the right from what stands on the left; to the last
    figure where the two are said to be equal."""
    solution = read_problem(problem).solve()
    lines = [step for step in all_steps(solution) if is_line(step)]
    assert lines
    for each in lines:
        left, sign, right = re.split(r" ([=≈]) ", each)
        near = NEAR if sign == "≈" else Fraction(0)
        factor = Fraction(1)
        if not re.search(r" [x/+-] ", left):
            factor = converted(left) / converted(right)
        for end in (0, 1):
            told = ends(right)[end]
            assert abs(worked(left, end) * factor - told) <= near * told, each


@given(problems)
def test_every_figure_stands_in_the_working(problem: dict[str, Any]) -> None:
    """The exact figure of each result is the end of a line, or a limit, or was given."""
    solution = read_problem(problem).solve()
    said = " | ".join(all_steps(solution))
    for name, result in solution.results.items():
        if problem["kind"] != "weight":
            assert str(result.exact) in said or plain(result.exact.amount) in said, name


def is_rounded(result: Result) -> bool:
    """Whether an end of a figure is told otherwise than it is."""
    told = (result.rounded, result.rounded_high if result.is_range else None)
    return told != (result.exact, result.high if result.is_range else None)


def is_given(solution: Solution, result: Result) -> bool:
    """Whether nothing had to be worked out: the figure came with the problem."""
    return not any(ends_in(step, result.exact) for step in all_steps(solution))


@given(problems)
def test_the_working_of_a_figure_ends_in_what_is_told_of_it(problem: dict[str, Any]) -> None:
    """Its last line has the answer, and the figure that is rounded stands before it."""
    solution = read_problem(problem).solve()
    for name, result in solution.results.items():
        steps = steps_to(solution, name)
        if result.rounded is None:
            assert not any(step.startswith(("Rounded", "By ")) for step in steps)
            continue
        if is_rounded(result):
            assert any(step.endswith(f": {result.answer}") for step in steps[-2:]) or (
                steps[-1].endswith(f": set {result.answer}")
            ), (name, result.answer, steps)
        elif not result.is_range and not is_given(solution, result):
            assert ends_in(steps[-1], result.exact) or steps[-1].endswith(f" {result.exact}"), name


@given(problems)
def test_every_figure_is_told_as_it_is_answered(problem: dict[str, Any]) -> None:
    """In the whole working too, by its name where there are several."""
    solution = read_problem(problem).solve()
    steps = all_steps(solution)
    for name, result in solution.results.items():
        if result.rounded is not None and is_rounded(result):
            own = (f": {result.answer}", f": set {result.answer}", f": {result.answer} ({name})")
            assert any(step.endswith(own) for step in steps), name


@pytest.mark.parametrize(
    ("problem", "asked", "last"),
    [
        (
            {
                "kind": "dose",
                "weight": "17 kg",
                "per_weight": "3.33 mL/kg",
                "concentration": "8.4 %",
            },
            "amount",
            ("56.61 mL x 84 mg/mL = 4,755.24 mg", "Rounded: 4,755 mg"),
        ),
        (
            {"kind": "dose", "fixed": "1.234 mg", "doses": 3},
            "total",
            ("1.234 mg x 3 = 3.702 mg", "Rounded: 3.7 mg"),
        ),
        (
            {"kind": "burn", "weight": "83 kg", "area": "31.1 %", "per": "3 mL/kg/%"},
            "total",
            ("3 mL/kg/% x 83 kg x 31.1% = 7,743.9 mL", "Rounded: 7,744 mL"),
        ),
        (
            {"kind": "burn", "weight": "83 kg", "area": "31 %", "per": "3 mL/kg/%"},
            "first_half_rate",
            ("3,859.5 mL / 8 h ≈ 482.438 mL/h", "Rounded: 482 mL/h"),
        ),
        (
            {"kind": "drip", "volume": "100 mL", "over": "12 min"},
            "mL_per_min",
            ("500 mL/h / 60 min/h ≈ 8.33333 mL/min", "Rounded: 8.33 mL/min"),
        ),
        (
            {"kind": "drip", "volume": "100 mL", "over": "12 min"},
            "mL_per_h",
            ("100 mL / 12 min x 60 min/h = 500 mL/h",),
        ),
        (
            {"kind": "drip", "volume": "1 L", "over": "2 h", "bag": "1 L"},
            "minutes",
            ("1,000 mL / 500 mL/h x 60 min/h = 120 min",),
        ),
        (
            {"kind": "dilution", "concentration": "10 %", "volume": "1 mL", "to": "30 mL"},
            "percent",
            ("3.33333 mg/mL x 1% / 10 mg/mL ≈ 0.333333%", "Rounded: 0.333%"),
        ),
        (
            {"kind": "mean_pressure", "systolic": "120 mmHg", "diastolic": "70 mmHg"},
            "mean",
            ("260 mmHg / 3 ≈ 86.6667 mmHg", "Rounded: 87 mmHg"),
        ),
        (
            {"kind": "shock_index", "pulse": "110 beats/min", "systolic": "90 mmHg"},
            "index",
            ("110 / 90 ≈ 1.22222", "Rounded: 1.22"),
        ),
    ],
)
def test_the_last_line_gives_what_was_asked(
    problem: dict[str, Any], asked: str, last: tuple[str, ...]
) -> None:
    """No figure is left as it comes off a calculator; an equal sign stands before none that was
    cut."""
    assert steps_to(read_problem(problem).solve(), asked)[-len(last) :] == last


def test_a_figure_that_was_cut_is_nearly_and_never_equal() -> None:
    """On either side of a line."""
    third, whole = Quantity(Fraction(1, 3), "mL"), Quantity(Fraction(1), "mL")

    assert line("1 mL / 3", third, whole) == "1 mL / 3 ≈ 0.333333 mL"
    assert line("0.333333 mL x 3", whole, third) == "0.333333 mL x 3 ≈ 1 mL"
    assert line("2 mL / 2", whole) == "2 mL / 2 = 1 mL"
    assert line("2 to 3 mL / 3", whole, high=third).endswith(" ≈ 1 to 0.333333 mL")
    assert not whole.is_cut
    assert Quantity(Fraction("1.234567"), "mL").is_cut
    assert not Quantity(Fraction("1234567"), "mL").is_cut


@given(problems)
def test_exact_figures_are_told_to_be_read_again(problem: dict[str, Any]) -> None:
    """To twelve places, with the unit apart."""
    solution = read_problem(problem).solve()
    for name, told in told_solution(solution)["results"].items():
        exact = solution.results[name].exact
        assert abs(Fraction(told["exact"]) - exact.amount) <= Fraction(1, 10**12)
        assert told["unit"] == exact.unit


@given(problems)
def test_what_a_device_is_set_to_is_right_and_past_no_maximum(problem: dict[str, Any]) -> None:
    """Where a figure is not refused, setting it is right; and it is never past its ceiling."""
    asked = read_problem(problem)
    for name, result in asked.solve().results.items():
        if result.rounded is not None and result.rounded.amount:
            assert judge(asked, name, result.rounded.exactly()).verdict == RIGHT
            if result.ceiling is not None:
                assert result.rounded.amount <= result.ceiling.to(result.rounded.unit).amount


@given(problems, st.integers(2, 9))
def test_a_weight_many_times_as_great_is_as_many_times_the_figure(
    problem: dict[str, Any], times: int
) -> None:
    """Where no limit is met; drips and burns run so many times as fast."""
    number, _, unit = problem.get("weight", "").partition(" ")
    has_limit = {"max", "min"} & problem.keys()
    if not number or has_limit or "rate" in problem or int(number) * times > 400:
        return
    heavier = {**problem, "weight": f"{int(number) * times} {unit}"}
    first, second = (read_problem(each).solve().results for each in (problem, heavier))
    for name in first:
        by = Fraction(1, times) if name == "minutes" else times
        assert second[name].exact == first[name].exact.times(by)


@given(problems)
def test_a_volume_times_the_strength_is_the_dose(problem: dict[str, Any]) -> None:
    """At both ends of a range."""
    asked = read_problem(problem)
    found = asked.solve().results
    if not isinstance(asked, DoseProblem) or asked.presentation is None:
        return
    if found["dose"].exact.family == "volume":
        return
    for dose, volume in zip(found["dose"].ends, found["volume"].ends, strict=True):
        assert asked.presentation.strength.of(volume).to(dose.unit) == dose


UNITS = ["mcg", "mg", "g", "mL", "L", "mEq", "mmol", "units", "J", "gtt", "tablet", "kg", "s"]
UNITS += ["min", "h", "psi", "%", "mg/kg", "mcg/kg/min", "mL/h", "mL/min", "gtt/min", "gtt/mL"]
UNITS += ["mg/mL", "g/L", "L/psi", "mL/kg/%", "J/kg", "units/h"]


@pytest.mark.parametrize("unit", UNITS)
@given(st.fractions(min_value=0, max_value=10**6), st.sampled_from(UNITS))
def test_a_unit_turned_into_another_and_back_is_the_same(
    unit: str, amount: Fraction, other: str
) -> None:
    """Or it is refused both ways, since the two are different kinds."""
    given_in = Quantity(amount, unit)
    try:
        there = given_in.to(other)
    except QuantityError:
        with pytest.raises(QuantityError):
            Quantity(amount, other).to(unit)
    else:
        assert there.to(unit) == given_in


@given(st.fractions(min_value=0, max_value=10**6))
def test_a_rate_each_hour_and_each_minute_and_back_is_the_same(amount: Fraction) -> None:
    """Sixty of the one are one of the other."""
    rate = Quantity(amount, "mcg/kg/min")
    assert rate.each("h").amount == 60 * amount
    assert rate.each("h").each("min") == rate == rate.each("s").each("min")


def test_the_working_of_a_question_ends_with_what_is_asked() -> None:
    """Of a burn the total is not followed by a rate nobody asked for; the rate has all of it."""
    burn = {"kind": "burn", "weight": "24 kg", "area": "40 %", "per": "4 mL/kg/%"}
    solution = read_problem(burn).solve()
    assert steps_to(solution, "total")[-1].endswith(" = 3,840 mL")
    assert "240 mL/h" in solution.steps[-1]
    assert steps_to(solution, "first_half_rate") == solution.steps


def test_the_working_of_a_question_keeps_how_it_is_rounded() -> None:
    """What follows the figure and is no figure of its own stays, and both ends of a range do."""
    dose = {"fixed": "25 mg", "concentration": {"amount": "10 mg", "in": "1 mL"}}
    opened = read_problem({"kind": "containers", **dose}).solve()
    assert steps_to(opened, "open")[-1] == "Rounded up: 3"
    assert "Rounded up: 3" not in steps_to(opened, "volume")
    ranged = read_problem({"kind": "dose", **dose, "high": "50 mg"}).solve()
    assert steps_to(ranged, "volume") == ranged.steps
