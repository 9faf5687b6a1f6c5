"""What is written by hand is read: plain words for units, and a unit written and chosen."""

from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import (
    ProblemError,
    TwoUnitsError,
    as_read,
    judge,
    read_answer,
    why_unread,
)
from drills.engine.dosing.reading import read_problem
from drills.engine.quantities import QuantityError, read_number, read_quantity

DOSE = {
    "kind": "dose",
    "weight": "28 kg",
    "per_weight": "0.1 mg/kg",
    "concentration": "1 mg/mL",
}
OPEN = {"kind": "containers", "fixed": "25 mg", "concentration": "10 mg / 2 mL"}
INDEX = {"kind": "shock_index", "pulse": "110 beats/min", "systolic": "100 mmHg"}
COMA = {
    "kind": "coma_score",
    "scale": "adult",
    "eyes": "to speech",
    "voice": "confused",
    "movement": "localises",
}


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("3 vials", "3 containers"),
        ("1 vial", "1 containers"),
        ("3 ampoules", "3 containers"),
        ("2 bags", "2 containers"),
        ("2 Containers", "2 containers"),
        ("2 syringes", "2 containers"),
        ("1 container", "1 containers"),
        ("2 tablets", "2 tablet"),
        ("2 pills", "2 tablet"),
        ("2 lpm", "2 L/min"),
        ("2 LPM", "2 L/min"),
        ("2 l/min", "2 L/min"),
        ("2 litres a minute", "2 L/min"),
        ("30 drops per minute", "30 gtt/min"),
        ("30 dpm", "30 gtt/min"),
        ("125 mL an hour", "125 mL/h"),
        ("125mls/hr", "125 mL/h"),
        ("5 mcg / kg / min", "5 mcg/kg/min"),
        ("90 mm Hg", "90 mmHg"),
        ("4.5 millimetres", "4.5 mm"),
        ("12 points", "12 points"),
        ("1 point", "1 points"),
        ("20 kilos", "20 kg"),
        ("2 mL.", "2 mL"),
        ("2 mins", "2 min"),
        ("  .5   mgs ", "0.5 mg"),
        # As it is copied from a page, where nothing breaks it.
        ("5\u00a0mcg/\u2060kg/\u2060min", "5 mcg/kg/min"),
        ("10 milliequivalents", "10 mEq"),
        # Hours with minutes, as the time of a cylinder is told.
        ("4 h 10 min", "250 min"),
        ("4h10min", "250 min"),
        ("4 hrs. and 10 minutes", "250 min"),
        ("4 H 10 MIN", "250 min"),
        ("4 h 10.5 min", "250.5 min"),
        ("0 h 59 min", "59 min"),
        ("4 h 10 min min", "250 min"),
        ("17 min 4 s", "1024 s"),
        # Written and chosen: once.
        ("2.8 mL mL", "2.8 mL"),
        ("2.8 ml mL", "2.8 mL"),
        ("2 lpm L/min", "2 L/min"),
        ("90 mm Hg mmHg", "90 mmHg"),
        ("30 drops per minute gtt/min", "30 gtt/min"),
    ],
)
def test_plain_words_for_a_unit_are_read(written: str, meant: str) -> None:
    """In the singular and the plural, whatever their capitals."""
    assert read_answer(written).amount == read_quantity(meant)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("2.8 mg mL", "2.8 mg was written, and mL chosen: give it in one unit."),
        ("2.8mg mL", "2.8 mg was written, and mL chosen: give it in one unit."),
        ("2 mL mL/h", "2 mL was written, and mL/h chosen: give it in one unit."),
        ("2,800 mcg mg", "2,800 mcg was written, and mg chosen: give it in one unit."),
        ("4 h 10 min h", "4 h 10 min was written, and h chosen: give it in one unit."),
        ("3 vials tablets", "3 vials was written, and tablets chosen: give it in one unit."),
    ],
)
def test_a_unit_written_and_another_chosen_is_said_and_never_judged(
    written: str, said: str
) -> None:
    """Neither is taken for the other: 2.8 is right in one of them."""
    with pytest.raises(TwoUnitsError, match=said.replace(".", r"\.")):
        read_answer(written)
    found = judge(read_problem(DOSE), "volume", written)
    assert (found.verdict, found.sentence) == ("unreadable", said)


@pytest.mark.parametrize(
    "written",
    [
        "",
        "3",
        "vials",
        "3 boxes",
        "4 h 60 min",
        "4.5 h 1 min",
        "4 h 1 s",
        "4 h 1 mL",
        "4 mL 1 min",
        "3 vials per",
        "3 s vials x",
        "mL 3",
        "1.1",
        "3 mL" + " " * 60,
    ],
)
def test_what_is_no_amount_is_still_refused(written: str) -> None:
    """A unit that was left out is not guessed."""
    with pytest.raises(QuantityError):
        read_answer(written)


@pytest.mark.parametrize(
    ("problem", "asked", "entered", "verdict"),
    [
        (OPEN, "open", "3 vials", "right"),
        (OPEN, "open", "3 ampoules", "right"),
        (OPEN, "open", "2 vials", "unsafe"),
        (OPEN, "open", "3", "right"),
        (INDEX, "index", "1.1", "right"),
        (INDEX, "index", " 1.2 ", "out of tolerance"),
        (INDEX, "index", "1.1 index", "right"),
        (INDEX, "index", "1.1 mmHg", "unreadable"),
        (COMA, "points", "12", "right"),
        (COMA, "points", "11 points", "out of tolerance"),
        (DOSE, "volume", "2.8", "unreadable"),
        (DOSE, "volume", "2.8 mL mL", "right"),
    ],
)
def test_an_answer_in_plain_words_is_judged(
    problem: dict[str, Any], asked: str, entered: str, verdict: str
) -> None:
    """A score and an index have no unit, and need none."""
    assert judge(read_problem(problem), asked, entered).verdict == verdict


def test_how_a_unit_was_written_is_still_taught() -> None:
    """Of what was written, and not of what was chosen beside it."""
    dose = read_problem(DOSE)

    written = judge(dose, "volume", "2.80 cc mL")
    assert written.verdict == "right"
    assert [each.key for each in written.writing] == ["trailing zero", "mL"]
    assert judge(dose, "dose", "2,800 ug mcg").writing[0].key == "mcg"


def test_what_cannot_be_read_is_told_with_what_is_accepted() -> None:
    """In the unit that was asked for."""
    assert judge(read_problem(OPEN), "open", "3 boxes").sentence == (
        "'boxes' is no unit that is read. It takes a number and containers."
    )


def test_what_is_counted_is_told_as_many() -> None:
    tablets = {"kind": "dose", "fixed": "2 tablet"}

    assert judge(read_problem(tablets), "dose", "two").sentence.endswith(
        " It takes a number and tablets."
    )


def test_hours_with_minutes_are_judged_as_the_minutes_that_they_are() -> None:
    """250 minutes: to the minute, and kept as the person wrote them."""
    lasting = {"kind": "oxygen", "factor": "0.25 L/psi", "pressure": "1,000 psi", "flow": "1 lpm"}
    oxygen = read_problem(lasting | {"residual": "0 psi"})

    verdicts = [
        judge(oxygen, "minutes", each).verdict for each in ("4 h 10 min", "4 h 11 min", "4 h 9 min")
    ]
    right = judge(oxygen, "minutes", "4 h 10 min")
    assert verdicts == ["right", "unsafe", "out of tolerance"]
    assert right.ratio == 1
    assert not right.writing
    assert as_read("4 h 10 min min") == "4 h 10 min"
    assert judge(read_problem(DOSE), "volume", "4 h 10 min").verdict == "unreadable"


@pytest.mark.parametrize(
    ("entered", "takes"),
    [("2-3 mL", "mL"), ("1:10,000", "mL"), ("2 mL 1 mL", "mL")],
)
def test_more_than_one_number_is_told_with_what_is_taken(entered: str, takes: str) -> None:
    """Whatever is right."""
    found = judge(read_problem(DOSE), "volume", entered)

    assert found.verdict == "unreadable"
    assert found.sentence.endswith(f" It takes a number and {takes}.")


@pytest.mark.parametrize(
    ("written", "kept"),
    [("2.8 ml mL", "2.8 ml"), ("2.8 mL", "2.8 mL"), ("1.1", "1.1"), ("2 lpm L/min", "2 lpm")],
)
def test_an_answer_is_kept_as_it_was_written_with_its_unit_once(written: str, kept: str) -> None:
    """So that it is told back as the person wrote it."""
    assert as_read(written) == kept


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("five mL", "'five' is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("five", "'five' is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("two drops per minute", "'two' is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("3. 8 mL", "'3. 8' is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("1.2.3 mL", "'1.2.3' is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("mL", "'mL' came in without a number."),
        ("drops per minute", "'drops per minute' came in without a number."),
        (" ", "Nothing came in."),
        ("-8.5 mL", "'-8.5' is below zero, and no amount is."),
        ("\u2212 8.5mL", "'\u2212 8.5' is below zero, and no amount is."),
        ("-5", "'-5' is below zero, and no amount is."),
        ("\u20115 mL", "'\u20115' is below zero, and no amount is."),
        ("minus 5 mL", "'minus 5' is below zero, and no amount is."),
        ("-1/2 tablet", "'-1' is below zero, and no amount is."),
        ("3.8", "'3.8' came in without a unit."),
        ("3 boxes", "'boxes' is no unit that is read."),
        ("3 boxes mL", "'boxes' is no unit that is read."),
        (
            "1:10,000",
            "'1:10,000' is no amount: with a colon it is a ratio or a time of day. "
            "Write one number.",
        ),
        (
            "4:10 min",
            "'4:10' is no amount: with a colon it is a ratio or a time of day. Write one number.",
        ),
        ("2-3 mL", "'2-3' is a span: write the one number that you would give."),
        ("2 \u2013 3 mL", "'2 \u2013 3' is a span: write the one number that you would give."),
        ("2 to 3 mL", "'2 to 3' is a span: write the one number that you would give."),
        ("2 mL or 3 mL", "'2 mL or 3' is a span: write the one number that you would give."),
        ("4 h 70 min", "'4 h 70 min' holds two numbers: write one."),
        ("2 mL 3 mL", "'2 mL 3 mL' holds two numbers: write one."),
        ("2 mL and 3 mL", "'2 mL and 3 mL' holds two numbers: write one."),
        ("2 boxes 3", "'boxes 3' is no unit that is read."),
        ("3,800 µL", "'µL' is not read: write 3.8 mL."),
        ("3800 microlitres mL", "'microlitres' is not read: write 3.8 mL."),
    ],
)
def test_one_mistake_is_told_in_one_sentence(written: str, said: str) -> None:
    """The number, the unit, or that one of them is missing, with what was written."""
    assert why_unread(written).because == said


def test_a_word_for_a_number_is_told_alike_by_the_judge_and_before_the_working() -> None:
    """Whoever types `five` reads the same of it in each place."""
    said = judge(read_problem(DOSE), "volume", "five mL").sentence

    with pytest.raises(QuantityError) as raised:
        read_number("five")
    assert said == f"{raised.value} It takes a number and mL."


@pytest.mark.parametrize(
    ("bare", "verdict"), [("3", "right"), ("2", "unsafe"), ("3.5", "out of tolerance")]
)
def test_a_count_of_containers_needs_no_unit(bare: str, verdict: str) -> None:
    """What is counted was asked; of an amount nobody guesses the unit."""
    asked = read_problem({"kind": "containers", "fixed": "30 mg", "concentration": "10 mg / 2 mL"})

    assert judge(asked, "open", bare).verdict == verdict
    assert judge(asked, "volume", bare).verdict == "unreadable"


@pytest.mark.parametrize(
    "pulse",
    ["110 beats/min", "110/min", "110 / min", "110 per minute", "110 bpm"],
)
def test_nobody_has_to_say_what_is_counted_of_a_pulse(pulse: str) -> None:
    """Beats; a number without any time is refused."""
    given = {"kind": "shock_index", "systolic": "100 mmHg"}

    index = read_problem(given | {"pulse": pulse}).solve().results["index"].exact
    assert index.amount == Fraction("1.1")
    for wrong in ("110", "110/h", "110 mL/min"):
        with pytest.raises(ProblemError, match=r"^pulse: .* beats/min"):
            read_problem(given | {"pulse": wrong})


def test_syringes_may_be_told_with_their_unit() -> None:
    """Those of the printed table alone: what has other marks is another syringe."""
    given = {"kind": "dose", "fixed": "3.8 mg", "concentration": "1 mg/mL"}

    told = read_problem(given | {"syringes": ["1 mL", "5 mL"]}).solve()

    assert told == read_problem(given | {"syringes": [1, 5]}).solve()
    for wrong in ("3", "2 mL", "5 mg", 2.5, True, None):
        with pytest.raises(ProblemError, match=r"^syringes\[0\]: "):
            read_problem(given | {"syringes": [wrong]})
