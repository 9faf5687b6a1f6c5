"""What the engine promises at the ends of ranges, at limits, and of what is only told."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.ages import Age
from drills.engine.dosing import DripProblem, ProblemError, judge
from drills.engine.dosing.patient import Patient, weigh
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.treatment import Settings, work_out
from drills.engine.medicines import DRIP
from drills.engine.quantities import plain, read_quantity
from drills.engine.weights import weight_at
from tests.engine.treating import CHILD, GROWN, carrying, rule

OXYGEN = {
    "kind": "oxygen",
    "factor": "0.28 L/psi",
    "pressure": "1,000 psi",
    "residual": "200 psi",
    "flow": "10 L/min",
}
NEVER_UP = {
    "kind": "dose",
    "weight": "20 kg",
    "per_weight": "0.137 mg/kg",
    "concentration": "1 mg/mL",
    "syringes": [3],
    "rounding": "never up",
}


def steps_of(problem: dict[str, Any]) -> tuple[str, ...]:
    return read_problem(problem).solve().steps


@pytest.mark.parametrize(
    ("shock", "line"),
    [
        ({"high": "4 J/kg", "graduation": "50 J"}, "By settings 50 J apart: 50 J"),
        ({"high": "4 J/kg", "weight": "20.3 kg"}, "By settings 1 J apart: 41 J, up to 81 J"),
        ({"graduation": "30 J"}, "The device has 30 J and 60 J: set 30 J"),
        (
            {"per_weight": "2.4 J/kg", "high": "2.45 J/kg", "graduation": "50 J"},
            "The device has no less than 50 J: set 50 J",
        ),
    ],
)
def test_a_shock_is_set_inside_its_range_else_to_a_neighbour(
    shock: dict[str, str], line: str
) -> None:
    """2 J/kg of 20 kg; where no setting lies inside, what the device has is told."""
    problem = {"kind": "energy", "weight": "20 kg", "per_weight": "2 J/kg", **shock}
    if shock == {"graduation": "30 J"}:
        problem["weight"] = "16 kg"

    assert steps_of(problem)[-1] == line


def test_a_range_drawn_with_two_syringes_tells_the_marks_of_both() -> None:
    """0.95 mL is no mark of the 3 mL syringe that holds the high end."""
    steps = steps_of(
        {
            "kind": "dose",
            "weight": "19 kg",
            "per_weight": "25 mg/kg",
            "high": "50 mg/kg",
            "concentration": "1 g / 2 mL",
            "syringes": [1, 3, 10],
        }
    )

    assert steps[-1] == (
        "By marks of the 1 mL syringe 0.01 mL apart, and of the 3 mL syringe 0.1 mL apart: "
        "0.95 mL, up to 1.9 mL"
    )


def test_the_working_of_a_range_has_both_ends_in_each_line() -> None:
    """From the weight to the volume."""
    steps = steps_of(
        {
            "kind": "dose",
            "weight": "20 kg",
            "per_weight": "0.1 mg/kg",
            "high": "0.2 mg/kg",
            "concentration": "2 mg/mL",
            "doses": 2,
        }
    )

    assert steps[:3] == (
        "20 kg x 0.1 to 0.2 mg/kg = 2 to 4 mg",
        "2 to 4 mg x 2 = 4 to 8 mg",
        "2 to 4 mg / 2 mg/mL = 1 to 2 mL",
    )


@pytest.mark.parametrize(
    ("dose", "is_offered"),
    [("5.5 mg", True), ("6.5 mg", False)],
)
def test_no_more_is_mixed_than_the_largest_syringe_holds(dose: str, *, is_offered: bool) -> None:
    """6 mL and 54 mL of diluent are 60 mL; 7 mL would take 70 mL."""
    solution = read_problem(
        {"kind": "dose", "fixed": dose, "concentration": "1 mg/mL", "graduation": "10 mL"}
    ).solve()

    assert solution.refusal is not None
    mixed = [each for each in solution.refusal.instead if each.startswith("Dilute")]
    assert mixed == (
        [
            "Dilute it as your protocols say: 6 mL and 54 mL of diluent are 0.1 mg/mL, of which "
            "60 mL hold the dose."
        ]
        if is_offered
        else []
    )


@pytest.mark.parametrize(
    ("least", "dose", "line"),
    [
        ("1 mg", "1.06 mg", "By marks 0.1 mL apart: 1.1 mL"),
        (
            "1.02 mg",
            "1.03 mg",
            "By marks 0.1 mL apart, the mark below is under the minimum, so the mark above: 1.1 mL",
        ),
    ],
)
def test_a_minimum_is_told_as_the_reason_only_where_it_is_one(
    least: str, dose: str, line: str
) -> None:
    """A dose whose nearest mark is the one above was not lifted by its minimum."""
    assert (
        steps_of(
            {
                "kind": "dose",
                "fixed": dose,
                "min": least,
                "concentration": "1 mg/mL",
                "graduation": "0.1 mL",
            }
        )[-1]
        == line
    )


@pytest.mark.parametrize(
    ("entered", "is_said"),
    [("10 min", True), ("5 min", True), ("30 min", False), ("40 min", False)],
)
def test_far_too_few_minutes_say_that_the_sum_is_wrong_and_too_many_never(
    entered: str, *, is_said: bool
) -> None:
    """Of 22.4 minutes of oxygen: whoever says 30 runs out."""
    judged = judge(read_problem(OXYGEN), "minutes", entered)

    assert judged.verdict == "unsafe"
    assert ("so far off that the sum is wrong" in judged.sentence) is is_said
    assert "safe side" not in judged.sentence


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "said"),
    [
        (OXYGEN, "minutes", "21.9 min", "right is from 22 min to 22.4 min, never above."),
        (NEVER_UP, "volume", "2.65 mL", "right is from 2.7 mL to 2.74 mL, never above."),
        (
            {**NEVER_UP, "concentration": "10 mg/mL", "syringes": [1]},
            "volume",
            "0.268 mL",
            "right is from 0.27 mL to 0.274 mL, never above.",
        ),
        (
            {**NEVER_UP, "syringes": [10]},
            "volume",
            "2.58 mL",
            "right is from 2.6 mL to 2.74 mL, never above.",
        ),
    ],
)
def test_what_is_never_rounded_up_says_from_where_it_is_right(
    problem: dict[str, Any], asked: str, entered: str, said: str
) -> None:
    """From the mark below, or a twentieth less where the marks are wide."""
    judged = judge(read_problem(problem), asked, entered)

    assert judged.verdict == "out of tolerance"
    assert judged.sentence.endswith(said)


@pytest.mark.parametrize(
    ("entered", "slips"),
    [("4.28 mg", ["no-weight"]), ("4.3 mg", ["no-weight"]), ("4 mg", [])],
)
def test_what_is_only_told_is_no_slip_that_a_mark_would_make(
    entered: str, slips: list[str]
) -> None:
    """4.28 mg without the weight; 4 mg misses that by more than a fiftieth, and no device is set
    to a dose."""
    problem = {"kind": "dose", "weight": "35 kg", "per_weight": "4.28 mg/kg"}

    judged = judge(read_problem(problem), "dose", entered)

    assert [each.key for each in judged.slips] == slips


@pytest.mark.parametrize(
    "lacking", [{}, {"volume": "1 L"}, {"over": "8 h"}, {"drip_set": "10 gtt/mL"}]
)
def test_a_drip_that_says_nothing_is_an_error(lacking: dict[str, str]) -> None:
    """It has a rate, a volume with a time, or a dose rate."""
    given: dict[str, Any] = {name: read_quantity(each) for name, each in lacking.items()}

    with pytest.raises(ValueError, match=r"a rate, a volume with a time, or a dose rate"):
        DripProblem(**given).solve()


def heaviest_and_lightest(years: int, *, is_female: bool) -> tuple[float, float]:
    """Between which all but two in a thousand of an age weigh."""
    low = weight_at(0.001, years, is_female=is_female)
    return low, weight_at(0.999, years + 1, is_female=is_female)


@pytest.mark.parametrize("years", [5, 10, 15, 40])
def test_a_weight_is_doubted_only_where_it_is_rare_for_women_and_men(years: int) -> None:
    """What is usual for one of them is no slip of a unit, at either end."""
    ends = [heaviest_and_lightest(years, is_female=each) for each in (False, True)]
    lows, highs = zip(*ends, strict=True)
    for kg, is_doubted in (
        (min(lows) * 0.999, True),
        (sum(lows) / 2, False),
        (sum(highs) / 2, False),
        (max(highs) * 1.001, True),
    ):
        weight = read_quantity(f"{kg:.4f} kg")
        patient = Patient(age=Age.of_years(years), weight=weight)

        weighed = weigh(patient, rule("0.1 mg/kg"), exactly=False)

        assert weighed is not None
        assert bool(weighed.notice) is is_doubted, kg


@pytest.mark.parametrize(
    ("weight", "said"),
    [
        ("60 lb", "Check the weight and its unit: 60 lb, which is 27.3 kg, came in, and at 15 "),
        ("25 kg", "Check the weight and its unit: 25 kg came in, and at 15 years hardly anybody "),
    ],
)
def test_a_doubted_weight_is_told_as_it_came_in(weight: str, said: str) -> None:
    """In kg as well where it was told in pounds."""
    patient = Patient(age=Age.of_years(15), weight=read_quantity(weight))

    weighed = weigh(patient, rule("0.1 mg/kg"), exactly=False)

    assert weighed is not None
    assert weighed.notice.startswith(said)


def test_a_service_that_says_nothing_rounds_half_up_with_pounds_by_two_point_two() -> None:
    """And draws up nothing that is a tenth off or more, for a child as well."""
    usual = Settings()

    assert (usual.is_exact_pounds, usual.is_never_up_for_children) == (False, False)
    assert usual.refused_from == Fraction(1, 10)
    worked = work_out(CHILD, rule("0.0129 mg/kg"), carrying("1 mg / 1 mL"))
    assert worked.volume is not None
    assert worked.volume.answer == "0.26 mL"


def test_the_fewest_containers_are_opened() -> None:
    """5 mg: one of 10 mL, and not five of 1 mL, whichever comes first aboard."""
    for aboard in (("1 mg / 1 mL", "10 mg / 10 mL"), ("10 mg / 10 mL", "1 mg / 1 mL")):
        worked = work_out(CHILD, rule("5 mg"), carrying(*aboard))

        assert worked.opened is not None
        assert (worked.opened.needed, str(worked.opened.holds)) == (1, "10 mL")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"min": "3 mg", "max": "2 mg"}, "min: 3 mg is more than the max, 2 mg"),
        ({"high": "0.5 mg"}, "fixed: 1 mg is more than the high, 0.5 mg"),
        ({"max": "0 mg"}, "max: 0 mg came in; it is more than nothing"),
        ({"concentration": "101 %"}, "concentration: '101 %' came in"),
        ({"concentration": "1:0"}, "concentration: '1:0' came in"),
        ({"concentration": "0 mg/mL"}, "concentration: '0 mg/mL' came in"),
        ({"graduation": "0 mL"}, "graduation: 0 mL came in; it is more than nothing"),
        ({"fixed": "-1 mg"}, "fixed: '-1' is below zero, and no amount is; a number and its unit"),
    ],
)
def test_limits_that_no_dose_can_keep_are_named(fields: dict[str, str], said: str) -> None:
    """A minimum above the maximum, nothing, less than nothing, and more than all of it."""
    with pytest.raises(ProblemError) as raised:
        read_problem({"kind": "dose", "fixed": "1 mg", **fields})

    assert str(raised.value).startswith(said)


def test_a_range_whose_ends_are_one_is_that_figure() -> None:
    """And a minimum that is the maximum leaves one dose."""
    one = {"kind": "dose", "fixed": "1 mg", "concentration": "1 mg/mL"}
    both = {**one, "high": "1 mg"}

    assert read_problem(both).solve().steps == read_problem(one).solve().steps
    assert told_solution(read_problem(both).solve()) == told_solution(read_problem(one).solve())
    only = read_problem({**one, "min": "0.8 mg", "max": "0.8 mg"}).solve()
    assert only.results["dose"].exact == read_quantity("0.8 mg")
    assert judge(read_problem({**one, "min": "2 mg", "max": "2 mg"}), "dose", "2 mg").verdict == (
        "right"
    )


def test_a_tighter_limit_holds_for_a_burn_told_by_its_regions() -> None:
    """15 % off is unsafe where a rule says 10 %, of the fluid as of the area."""
    burned = {
        "kind": "burned",
        "chart": "rule of nines",
        "age": "30 years",
        "regions": "front of the trunk",
        "weight": "80 kg",
        "per": "2 mL/kg/%",
    }
    strict = read_problem(burned | {"error_limit": "10 %"})

    assert judge(read_problem(burned), "total", "3,310 mL").verdict == "out of tolerance"
    assert judge(strict, "total", "3,310 mL").verdict == "unsafe"
    assert judge(strict, "area", "20.5 %").verdict == "unsafe"


@pytest.mark.parametrize(
    "problem",
    [
        {"fixed": "44 mg", "min": "44 mg", "concentration": "70 mg/mL"},
        {"fixed": "9.99 mg", "max": "9.99 mg", "concentration": "33.3333333 mg/mL"},
        {"fixed": "2 mg", "max": "2 mg", "min": "2 mg", "concentration": "3 mg/mL"},
        {"fixed": "1 mg", "min": "2 mg", "concentration": "3 mg/mL", "rounding": "never up"},
    ],
)
def test_the_exact_figure_that_is_printed_is_right_at_a_limit(problem: dict[str, str]) -> None:
    """Twelve places of what does not end, on either side of the limit, and six figures."""
    asked = read_problem({"kind": "dose", **problem})
    exact = told_solution(asked.solve())["results"]["volume"]["exact"]

    assert judge(asked, "volume", f"{exact} mL").verdict == "right"
    most = asked.solve().results["volume"].ceiling
    if most is not None:
        assert judge(asked, "volume", f"{most}").verdict == "right"
        assert judge(asked, "volume", f"{plain(most.amount)}1 mL").verdict == "unsafe"


def test_tablets_aboard_are_no_other_presentation_of_what_is_drawn_up() -> None:
    """A wrong answer is judged; nobody takes a count for a volume."""
    problem = {"kind": "dose", "fixed": "1.5 mg", "others": ["3 mg/mL"]}

    counted = judge(
        read_problem(problem | {"concentration": "1.5 mg / tablet"}), "volume", "9 tablets"
    )
    drawn = judge(read_problem(problem | {"concentration": "1.5 mg/mL"}), "volume", "0.5 mL")

    assert (counted.verdict, counted.slips) == ("unsafe", ())
    assert [each.key for each in drawn.slips] == ["other-presentation"]


def test_figures_without_end_are_worked_out_all_the_same() -> None:
    """In either direction: however little of however much."""
    for problem in (
        {"kind": "energy", "weight": "20 kg", "per_weight": f"3.{'9' * 25} J/kg", "max": "70 J"},
        {"kind": "mixing", "amount": f"999.{'9' * 25} units", "in": "7 mL"},
        {"kind": "mixing", "amount": "0.000007 units", "in": f"{'9' * 2}.{'9' * 25} L"},
    ):
        assert read_problem(problem).solve().steps


@pytest.mark.parametrize(
    ("factor", "slip"),
    [
        ("0.001", "thousandfold-under"),
        ("0.01", "hundredfold-under"),
        ("0.1", "tenfold-under"),
        ("10", "tenfold-over"),
        ("100", "hundredfold-over"),
        ("1000", "thousandfold-over"),
    ],
)
def test_a_point_moved_is_named_to_the_last_of_four_figures(factor: str, slip: str) -> None:
    """And one in a hundred beside it is not."""
    asked = read_problem({"kind": "dose", "fixed": "2.371 mg"})
    moved = Fraction("2.371") * Fraction(factor)

    assert [e.key for e in judge(asked, "dose", f"{float(moved):f} mg").slips] == [slip]
    assert judge(asked, "dose", f"{float(moved * Fraction(101, 100)):.9f} mg").slips == ()


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "slip"),
    [
        ({"kind": "dose", "fixed": "2 mg"}, "dose", "2 mcg", "thousandfold-under"),
        ({"kind": "dose", "fixed": "2 mg"}, "dose", "2 g", "thousandfold-over"),
        (
            {"kind": "dose", "fixed": "2 mg", "concentration": "1 mg/mL"},
            "volume",
            "2 L",
            "thousandfold-over",
        ),
        ({"kind": "drip", "rate": "120 mL/h"}, "mL_per_h", "120 L/h", "thousandfold-over"),
    ],
)
def test_the_right_number_in_a_wrong_unit_is_unsafe_and_named(
    problem: dict[str, Any], asked: str, entered: str, slip: str
) -> None:
    """A thousand times too much or too little, of one kind of amount."""
    judged = judge(read_problem(problem), asked, entered)

    assert (judged.verdict, [each.key for each in judged.slips]) == ("unsafe", [slip])


@pytest.mark.parametrize(
    ("problem", "name"),
    [
        ({"kind": "energy", "weight": "50 kg", "per_weight": "4 J/kg", "max": "200 J"}, "energy"),
        ({"kind": "dose", "weight": "50 kg", "per_weight": "4 mg/kg", "max": "200 mg"}, "dose"),
        ({"kind": "dose", "weight": "50 kg", "per_weight": "4 mg/kg", "min": "200 mg"}, "dose"),
        (
            {
                "kind": "drip",
                "weight": "50 kg",
                "dose_rate": "4 mcg/kg/min",
                "max": "200 mcg/min",
                "concentration": "1 mg/mL",
            },
            "mL_per_h",
        ),
    ],
)
def test_a_dose_that_just_reaches_a_limit_met_none(problem: dict[str, str], name: str) -> None:
    """It is the dose of the weight, and no line says that anything was held back."""
    solution = read_problem(problem).solve()

    assert (solution.limit, solution.limit_high) == ("", "")
    assert not any("imum is" in each for each in solution.steps)
    assert judge(read_problem(problem), name, f"{solution.results[name].exact}").verdict == "right"


def test_a_burn_of_the_whole_body_is_a_burn() -> None:
    """100 % is accepted, and nothing above it."""
    burn = {"kind": "burn", "weight": "80 kg", "per": "2 mL/kg/%"}

    assert read_problem(burn | {"area": "100 %"}).solve().results["total"].exact.amount == 16_000
    with pytest.raises(ProblemError, match="up to 100 % is accepted"):
        read_problem(burn | {"area": "100.1 %"})


def test_what_is_set_is_right_though_another_figure_is_refused() -> None:
    """The pump can be set; the drops of the same drip cannot be counted so finely."""
    drip = read_problem({"kind": "drip", "rate": "10 mL/h", "set": "10 gtt/mL"})

    assert drip.solve().refusal is not None
    assert judge(drip, "mL_per_h", "10 mL/h").sentence == "Right."
    assert judge(drip, "gtt_per_min", "1.67 gtt/min").sentence.startswith("Right as a figure, and")


def test_a_rate_of_fluid_for_everybody_runs_as_the_rule_says() -> None:
    """No weight is needed, and the bag lasts as long as it holds."""
    given = rule("100 mL/h", packed="1,000 mL", topic=DRIP)

    worked = work_out(GROWN, given, carrying("1,000 mL", sets=("10 gtt/mL",)))

    assert worked.running is not None
    assert (worked.running.pump.answer, worked.running.drops[0].rate.answer) == (
        "100 mL/h",
        "17 gtt/min",
    )
    assert worked.running.lasts is not None
    assert worked.running.lasts.answer == "600 min"
    assert "One holds 1,000 mL: open 1 of 9 aboard" in worked.steps
    unknown = work_out(GROWN, given, carrying())
    assert "One holds 1,000 mL: open 1" in unknown.steps
