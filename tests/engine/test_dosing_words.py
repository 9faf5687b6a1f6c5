"""Every slip is named by an answer that it makes, in one sentence with its corrected line."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge, slips
from drills.engine.dosing.entered import read_answer
from drills.engine.dosing.reading import read_problem
from drills.engine.figures import last_figure, last_told
from drills.engine.quantities import Quantity, read_quantity

DOSE = {
    "kind": "dose",
    "weight": "44 lb",
    "per_weight": "0.1 mg/kg",
    "concentration": "10 mg/mL",
    "others": ["8 mg/mL"],
    "doses": 3,
}
CAPPED = {**DOSE, "max": "1.5 mg", "weight": "20 kg"}
RAISED = {"kind": "dose", "weight": "3 kg", "per_weight": "0.02 mg/kg", "min": "0.1 mg"}
RATE = {
    "kind": "drip",
    "rate": "117 mL/h",
    "set": "15 gtt/mL",
    "other_sets": ["60 gtt/mL"],
}
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.28 L/psi",
    "other_factors": ["0.16 L/psi"],
    "pressure": "1,000 psi",
    "residual": "200 psi",
    "flow": ["10 L/min", "6 L/min"],
}
BURN = {
    "kind": "burn",
    "weight": "80 kg",
    "area": "30 %",
    "per": "2 mL/kg/%",
    "since_injury": "2 h",
}
DILUTION = {"kind": "dilution", "concentration": "50 %", "volume": "10 mL", "to": "50 mL"}
POUNDS = {"kind": "weight", "from": "44 lb"}

MADE: list[tuple[dict[str, Any], str, str, slips.Slip, str]] = [
    (DOSE, "volume", "0.44 mL", slips.POUNDS_AS_KG, "44 lb / 2.2 = 20 kg, so 0.2 mL"),
    (POUNDS, "kg", "96.8 kg", slips.POUNDS_TIMES, "44 lb / 2.2 = 20 kg"),
    (POUNDS, "kg", "9.1 kg", slips.POUNDS_TWICE, "44 lb / 2.2 = 20 kg"),
    (DOSE, "dose", "20 mg", slips.TENFOLD_OVER, "20 kg x 0.1 mg/kg = 2 mg"),
    (DOSE, "total", "0.6 mg", slips.TENFOLD_UNDER, "2 mg x 3 = 6 mg"),
    (DOSE, "total", "600 mg", slips.HUNDREDFOLD_OVER, "2 mg x 3 = 6 mg"),
    (DOSE, "volume", "0.002 mL", slips.HUNDREDFOLD_UNDER, "2 mg / 10 mg/mL = 0.2 mL"),
    (DOSE, "volume", "200 mL", slips.THOUSANDFOLD_OVER, "2 mg / 10 mg/mL = 0.2 mL"),
    (DOSE, "dose", "2 mcg", slips.THOUSANDFOLD_UNDER, "20 kg x 0.1 mg/kg = 2 mg"),
    (DOSE, "volume", "0.25 mL", slips.OTHER_PRESENTATION, "2 mg / 10 mg/mL = 0.2 mL"),
    (DOSE, "volume", "0.01 mL", slips.NO_WEIGHT, "20 kg x 0.1 mg/kg = 2 mg, so 0.2 mL"),
    (DOSE, "volume", "2 mg", slips.AMOUNT_GIVEN, "0.2 mL"),
    (DOSE, "total", "2 mg", slips.EACH_FOR_TOTAL, "2 mg x 3 = 6 mg"),
    (DOSE, "dose", "6 mg", slips.TOTAL_FOR_EACH, "20 kg x 0.1 mg/kg = 2 mg"),
    (CAPPED, "dose", "2 mg", slips.NO_MAXIMUM, "The maximum is 1.5 mg: give 1.5 mg"),
    (RAISED, "dose", "0.06 mg", slips.NO_MINIMUM, "The minimum is 0.1 mg: give 0.1 mg"),
    ({**CAPPED, "max": "3 mg"}, "dose", "0.909 mg", slips.KG_AS_POUNDS, "20 kg x 0.1 mg/kg = 2 mg"),
    ({**CAPPED, "max": "9 mg"}, "dose", "4.4 mg", slips.KG_TO_POUNDS, "20 kg x 0.1 mg/kg = 2 mg"),
    (
        {"kind": "dose", "fixed": "7 mg", "concentration": "2 mg/mL"},
        "volume",
        "7 mL",
        slips.DOSE_AS_VOLUME,
        "7 mg / 2 mg/mL = 3.5 mL",
    ),
    (
        {"kind": "dose", "fixed": "7 mg", "concentration": "2 mg/mL"},
        "volume",
        "14 mL",
        slips.STRENGTH_MULTIPLIED,
        "7 mg / 2 mg/mL = 3.5 mL",
    ),
    (
        {"kind": "dose", "fixed": "50 mL", "concentration": "2 %"},
        "amount",
        "2.5 mg",
        slips.STRENGTH_DIVIDED,
        "50 mL x 20 mg/mL = 1,000 mg",
    ),
    (
        {**RATE, "other_sets": ["20 gtt/mL"]},
        "gtt_per_min",
        "39 gtt/min",
        slips.OTHER_SET,
        "1.95 mL/min x 15 gtt/mL = 29.25 gtt/min, so 29 gtt/min",
    ),
    (
        {**RATE, "other_sets": []},
        "gtt_per_min",
        "1.95 gtt/min",
        slips.DROPS_AS_ML,
        "1.95 mL/min x 15 gtt/mL = 29.25 gtt/min, so 29 gtt/min",
    ),
    (
        {**RATE, "other_sets": []},
        "gtt_per_min",
        "117 gtt/min",
        slips.HOURLY_AS_DROPS,
        "1.95 mL/min x 15 gtt/mL = 29.25 gtt/min, so 29 gtt/min",
    ),
    (RATE, "mL_per_h", "1.95 mL/h", slips.MINUTE_FOR_HOUR, "117 mL/h"),
    (
        RATE,
        "mL_per_min",
        "117 mL/min",
        slips.HOUR_FOR_MINUTE,
        "117 mL/h / 60 min/h = 1.95 mL/min",
    ),
    (OXYGEN, "minutes", "17.5 min", slips.NO_RESIDUAL, "1,000 psi - 200 psi = 800 psi, so 14 min"),
    (OXYGEN, "minutes", "22 min", slips.ONE_PATIENT, "10 L/min + 6 L/min = 16 L/min, so 14 min"),
    (OXYGEN, "minutes", "840 min", slips.SECONDS_AS_MINUTES, "224 L / 16 L/min = 14 min"),
    (OXYGEN, "minutes", "0.233 min", slips.HOURS_AS_MINUTES, "224 L / 16 L/min = 14 min"),
    (
        BURN,
        "first_half_rate",
        "600 mL/h",
        slips.WHOLE_FROM_ARRIVAL,
        "2,400 mL / 6 h = 400 mL/h",
    ),
    (OXYGEN, "minutes", "8 min", slips.OTHER_CYLINDER, "224 L / 16 L/min = 14 min"),
    (BURN, "total", "9,600 mL", slips.BURN_DOUBLED, "2 mL/kg/% x 80 kg x 30% = 4,800 mL"),
    (
        BURN,
        "first_half_rate",
        "200 mL/h",
        slips.BURN_HALVED,
        "4,800 mL / 2 = 2,400 mL, so 400 mL/h",
    ),
    (BURN, "first_half_rate", "300 mL/h", slips.FROM_ARRIVAL, "8 h - 2 h = 6 h, so 400 mL/h"),
    (
        DILUTION,
        "concentration",
        "125 mg/mL",
        slips.DILUENT_FOR_TOTAL,
        "5,000 mg / 50 mL = 100 mg/mL",
    ),
]


@pytest.mark.parametrize(("problem", "asked", "entered", "slip", "line"), MADE)
def test_a_slip_is_named_in_one_sentence_with_the_line_that_corrects_it(
    problem: dict[str, Any], asked: str, entered: str, slip: slips.Slip, line: str
) -> None:
    """Short enough to be read on a phone without scrolling."""
    found = judge(read_problem(problem), asked, entered)

    assert found.slips == (slip,)
    assert found.slip == slip
    verdict = "Out of tolerance" if found.verdict == "out of tolerance" else "Unsafe"
    past = ""
    if found.is_past_maximum:
        past = f"past the maximum of {problem['max']}: "
    assert found.sentence == f"{verdict}, {past}{slip.words}. Right: {line}."
    assert len(found.sentence) <= 200


def test_every_slip_there_is_is_named_by_an_answer() -> None:
    """None is left that no problem leads to."""
    assert {each[3] for each in MADE} == set(slips.ALL_SLIPS)
    assert len({each.key for each in slips.ALL_SLIPS}) == len(slips.ALL_SLIPS)
    assert {each.error for each in slips.ALL_SLIPS} == {
        slips.CONCEPTUAL,
        slips.ARITHMETICAL,
        slips.COMPUTATIONAL,
    }


@pytest.mark.parametrize(
    ("entered", "sentence"),
    [
        ("0.62 mL", "Unsafe, 3.1 times as much as is right. Right: 2 mg / 10 mg/mL = 0.2 mL."),
        ("0.26 mL", "Unsafe, 30% too much. Right: 2 mg / 10 mg/mL = 0.2 mL."),
        ("0.15 mL", "Unsafe, 25% too little. Right: 2 mg / 10 mg/mL = 0.2 mL."),
        ("0.19 mL", "Out of tolerance, 5% too little. Right: 2 mg / 10 mg/mL = 0.2 mL."),
        ("0 mL", "Unsafe, 100% too little. Right: 2 mg / 10 mg/mL = 0.2 mL."),
        ("0.2 mL", "Right."),
        (
            "0.044 mL",
            "Unsafe, possibly two slips together: (1) pounds used as kilograms; (2) a tenth of it: "
            "a decimal point moved left. Right: 2 mg / 10 mg/mL = 0.2 mL.",
        ),
        (
            "2 mL/h",
            "2 mL/h is in mL/h, and mL was asked for: they are different kinds of amount.",
        ),
        (
            "two",
            "'two' is no number; 1000, 1,000, 1.5 and 0,5 are. It takes a number and mL.",
        ),
    ],
)
def test_an_answer_of_no_one_slip_is_told_by_how_far_it_is_off(entered: str, sentence: str) -> None:
    """A pair of slips is offered only where no single one fits, and is never counted."""
    found = judge(read_problem({**DOSE, "others": []}), "volume", entered)

    assert found.sentence == sentence
    assert (found.slips, found.slip) == ((), None)
    assert bool(found.possibly) == ("possibly" in sentence)


@pytest.mark.parametrize(
    ("entered", "pair"),
    [
        ("0.044 mL", ["pounds-as-kg", "tenfold-under"]),
        ("4.4 mL", ["pounds-as-kg", "tenfold-over"]),
        ("44 mL", []),  # two places of a point
        ("0.0044 mL", []),
        ("440 mL", []),
        ("0.10 mL", []),  # ten times the dose of one kg
    ],
)
def test_a_pair_is_a_slip_and_a_point_moved_by_one_place(entered: str, pair: list[str]) -> None:
    """Nothing that merely happens to fit: 0.2 mL of 44 lb is right."""
    found = judge(read_problem({**DOSE, "others": []}), "volume", entered)

    assert [[each.key for each in both] for both in found.possibly] == ([pair] if pair else [])
    assert found.slips == ()


def test_a_dose_for_its_volume_is_offered_alone() -> None:
    """7 mg for 3.5 mL: ten times that is no 70 mg to anybody."""
    seven = {"kind": "dose", "fixed": "7 mg", "concentration": "2 mg/mL"}

    assert judge(read_problem(seven), "volume", "70.0 mL").possibly == ()


def test_one_figure_is_no_reason_to_offer_a_pair() -> None:
    """0.04 mL is ten times less than pounds for kilograms gives, as 0.040 mL is."""
    forty = read_problem({**DOSE, "others": [], "weight": "40 lb"})

    assert judge(forty, "volume", "0.04 mL").possibly == ()
    assert [
        [each.key for each in both] for both in judge(forty, "volume", "0.040 mL").possibly
    ] == [["pounds-as-kg", "tenfold-under"]]


def test_a_draw_that_is_refused_is_corrected_with_its_exact_figure() -> None:
    """The arithmetic is never hidden."""
    tiny = {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"}

    found = judge(read_problem(tiny), "volume", "0.25 mL")
    assert found.sentence.endswith(
        "Right: 0.25 mg / 10 mg/mL = 0.025 mL, which no mark aboard comes near."
    )
    alone = judge(read_problem(tiny), "volume", "0.025 mL")
    assert alone.verdict == "right"
    assert alone.sentence.startswith("Right as a figure, and refused: 0.025 mL lies between marks")


@pytest.mark.parametrize(("entered", "off"), [("0.03 mL", "20% too much"), ("0.02 mL", "20% too")])
def test_who_takes_the_mark_beside_a_refused_draw_is_told_the_ways_out(
    entered: str, off: str
) -> None:
    """No slip was made: there is no mark to take."""
    tiny = {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"}
    said = judge(read_problem(tiny), "volume", entered).sentence

    assert said.startswith(f"Unsafe, {off}")
    assert said.endswith(
        "= 0.025 mL, which no mark aboard comes near. Dilute it as your protocols say: 1 mL and "
        "9 mL of diluent are 1 mg/mL, of which 0.25 mL hold the dose. Use a syringe with finer "
        "marks, or ask medical direction for another presentation."
    )
    two_marks_on = judge(read_problem(tiny), "volume", "0.05 mL").sentence
    assert two_marks_on.endswith("which no mark aboard comes near.")


def test_past_the_maximum_and_past_what_lasts_are_dangers_of_their_own() -> None:
    """They are said whatever slip made the answer, and at any size."""
    capped = judge(read_problem(CAPPED), "dose", "1.51 mg")
    assert (capped.verdict, capped.reasons) == ("unsafe", ("That is past the maximum, 1.5 mg.",))
    assert capped.sentence.startswith("Unsafe, past the maximum of 1.5 mg. Right: ")

    lasts = judge(read_problem({**OXYGEN, "flow": "6 L/min"}), "minutes", "38 min")
    assert lasts.verdict == "unsafe"
    assert lasts.sentence.startswith("Unsafe, past 37.3333 min, which is rounded down. Right: ")


@pytest.mark.parametrize(
    ("entered", "verdict"),
    [
        ("2 min", "right"),
        ("2.5 min", "right"),
        ("2.56 min", "right"),
        ("3 min", "unsafe"),
        ("1.9 min", "unsafe"),
        ("1 min", "unsafe"),
    ],
)
def test_minutes_are_cut_to_whole_ones_however_few_they_are(entered: str, verdict: str) -> None:
    """2.56 minutes are told as 2, which is more than a fifth down and as it should be."""
    short = {**OXYGEN, "factor": "0.16 L/psi", "pressure": "456 psi", "flow": "16 L/min"}

    assert judge(read_problem(short), "minutes", entered).verdict == verdict


def test_a_slip_fits_to_the_precision_of_the_answer_and_never_wider_than_two_percent() -> None:
    """Ten times 33.3 mL is 333: 330 says so to two figures, 339.7 does not, nor does 300."""
    third = read_problem({"kind": "dose", "fixed": "100 mg", "concentration": "3 mg/mL"})
    named = {
        text: [each.key for each in judge(third, "volume", f"{text} mL").slips]
        for text in ("333", "330", "333.3", "330.0", "300", "340", "339.7", "326.7", "3.3", "3")
    }

    over, under = ["tenfold-over"], ["tenfold-under"]
    assert named == {
        "333": over,
        "330": over,
        "333.3": over,
        "330.0": [],
        "300": ["strength-multiplied"],
        "340": [],
        "339.7": [],
        "326.7": [],
        "3.3": under,
        "3": [],
    }


@pytest.mark.parametrize(
    ("text", "least", "told"),
    [
        ("1,200 mL", 1, 100),
        ("1200 mL", 1, 100),
        ("1.50 mg", Fraction(1, 100), Fraction(1, 100)),
        ("0,5 mg", Fraction(1, 10), Fraction(1, 10)),
        ("20 mg", 1, 10),
        ("12 mg", 1, 1),
        ("100. mg", 1, 100),
        ("0.05 mg", Fraction(1, 100), Fraction(1, 100)),
    ],
)
def test_zeros_that_end_a_whole_number_may_only_hold_the_place(
    text: str, least: Fraction, told: Fraction
) -> None:
    """1,200 may be written of 1,234; 1.50 says that it is no 1.51."""
    assert (last_figure(text), last_told(text)) == (least, told)


@pytest.mark.parametrize(
    ("text", "meant"),
    [("5 MG", "5 mg"), ("5 Mcg/Kg/Min", "5 mcg/kg/min"), ("1 meq", "1 mEq"), ("2 ML", "2 mL")],
)
def test_capitals_of_a_unit_are_of_no_matter(text: str, meant: str) -> None:
    """A phone begins with one; no two units differ by them alone."""
    assert read_quantity(text) == read_quantity(meant)


FIFTY_LB = {**DOSE, "weight": "50 lb", "others": []}  # 0.227273 mL
CHILD = {"kind": "dose", "fixed": "0.225 mg", "concentration": "1 mg/mL", "rounding": "never up"}


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "said"),
    [
        (
            FIFTY_LB,
            "volume",
            "0.22 mL",
            "Half a mark decides: right is within 0.005 mL of 0.227273 mL.",
        ),
        (
            {"kind": "dose", "fixed": "1 mg", "high": "2 mg", "concentration": "3 mg/mL"},
            "volume",
            "0.326 mL",
            "Half a mark decides: right is within 0.005 mL of 0.333333 mL.",
        ),
        (
            {"kind": "dose", "fixed": "5.565 mg"},
            "dose",
            "5.557 mg",
            "Rounding decides: right is within 0.005 mg of 5.565 mg.",
        ),
        (
            {**OXYGEN, "flow": "10 L/min"},
            "minutes",
            "21.5 min",
            "Less than a mark decides: right is from 22 min to 22.4 min, never above.",
        ),
        (
            CHILD,
            "volume",
            "0.219 mL",
            "Less than a mark decides: right is from 0.22 mL to 0.225 mL, never above.",
        ),
        # A whole mark off, right, unsafe, explained by a slip, or refused by the marks.
        (FIFTY_LB, "volume", "0.21 mL", ""),
        (FIFTY_LB, "volume", "0.23 mL", ""),
        ({**OXYGEN, "flow": "10 L/min"}, "minutes", "23 min", ""),
        ({**OXYGEN, "flow": "10 L/min"}, "minutes", "21.4 min", ""),
        (FIFTY_LB, "volume", "2.27 mg", ""),
        (
            {"kind": "dose", "fixed": "0.25 mg", "concentration": "10 mg/mL"},
            "volume",
            "0.0251 mL",
            "",
        ),
    ],
)
def test_where_less_than_a_mark_decides_it_is_said_how_near_is_near_enough(
    problem: dict[str, Any], asked: str, entered: str, said: str
) -> None:
    """At the end of the sentence and among the reasons; the answer itself is told there too."""
    found = judge(read_problem(problem), asked, entered)

    assert said in found.sentence
    assert ("decides" in found.sentence) is bool(said)
    assert [each for each in found.reasons if "decides" in each] == ([said] if said else [])


@pytest.mark.parametrize(
    ("amount", "unit", "words"),
    [
        ("1", "containers", "1 container"),
        ("2", "containers", "2 containers"),
        ("1", "points", "1 point"),
        ("1", "units", "1 unit"),
        ("1", "units/kg", "1 unit/kg"),
        ("0.75", "index", "0.75"),
        ("1", "tablet", "1 tablet"),
        ("0.5", "tablet", "0.5 tablet"),
    ],
)
def test_a_figure_is_said_as_people_say_it(amount: str, unit: str, words: str) -> None:
    """One of them has no s, and an index counts nothing; what is said is read again."""
    told = Quantity(Fraction(amount), unit)

    assert str(told) == words
    assert read_answer(words, told.unit).amount == told


@pytest.mark.parametrize("flow", ["10 lpm", "10 LPM", "10lpm", "10 l/min", "10 L per minute"])
def test_a_flow_is_read_however_it_is_written(flow: str) -> None:
    """In a problem as in an answer."""
    asked = {"kind": "oxygen", "factor": "0.16 L/psi", "pressure": "1,800 psi", "flow": flow}

    assert read_problem(asked | {"residual": "200 psi"}).solve().results["minutes"].answer == (
        "25 min"
    )


@pytest.mark.parametrize(
    ("entered", "verdict"),
    [
        ("17 min", "right"),
        ("17.06 min", "right"),
        ("17.0667 min", "right"),
        ("17.067 min", "unsafe"),
        ("17.07 min", "unsafe"),
        ("17.1 min", "unsafe"),
        ("17.2 min", "unsafe"),
        ("18 min", "unsafe"),
        ("16.9 min", "out of tolerance"),
    ],
)
def test_minutes_rounded_up_are_unsafe_in_decimals_too(entered: str, verdict: str) -> None:
    """256 L by 15 L/min are 17.0667 minutes, as they are printed; no more of them are there."""
    oxygen = {"kind": "oxygen", "factor": "0.16 L/psi", "pressure": "1,800 psi", "flow": "15 lpm"}

    judged = judge(read_problem(oxygen | {"residual": "200 psi"}), "minutes", entered)

    assert judged.verdict == verdict


@pytest.mark.parametrize(("number", "said"), [("4", "4 tablets"), ("1", "1 tablet")])
def test_a_number_without_a_unit_is_told_with_it_as_of_so_many(number: str, said: str) -> None:
    """Tablets are counted in words."""
    problem = read_problem({"kind": "dose", "fixed": "324 mg", "concentration": "81 mg/tablet"})
    assert f"Write {said} if that is meant." in judge(problem, "volume", number).sentence


def test_several_slips_that_explain_it_are_told_by_number() -> None:
    """Each in its own words, and none is the one that is counted."""
    drip = {"kind": "drip", "volume": "100 mL", "over": "10 min", "set": "10 gtt/mL"}
    found = judge(read_problem(drip), "mL_per_min", "100 mL/min")

    assert found.slip is None
    assert found.sentence == (
        "Unsafe, any of these slips explains it: (1) drops and millilitres taken for each other: "
        "the drip set was left out; (2) ten times too much: a decimal point moved right. Right: "
        "100 mL / 10 min = 10 mL/min."
    )
