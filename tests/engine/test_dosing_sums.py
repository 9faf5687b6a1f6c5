"""Small sums through the judge: what is no dose is never unsafe, whatever a dose hangs on is."""

from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.results import ProblemError

MEAN = {"kind": "mean_pressure", "systolic": "120 mmHg", "diastolic": "75 mmHg"}
INDEX = {"kind": "shock_index", "pulse": "110 beats/min", "systolic": "100 mmHg"}
COMA = {
    "kind": "coma_score",
    "scale": "adult",
    "eyes": "to speech",
    "voice": "confused",
    "movement": "localises",
}
LEAST = {"kind": "least_systolic", "age": "5 years"}
TUBE = {"kind": "tube", "age": "6 years", "cuff": "uncuffed"}
BY_AGE = {"kind": "weight_by_age", "formula": "Luscombe and Owens", "age": "6 years"}
START = {"kind": "start_rate", "age": "8 years"}
MIXING = {"kind": "mixing", "amount": "500 mg", "in": "10 mL"}
AREA = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "front of the trunk",
}


@pytest.mark.parametrize(
    ("problem", "asked", "right", "wrong"),
    [
        (MEAN, "mean", "90 mmHg", ("120 mmHg", "9 mmHg", "0 mmHg")),
        (INDEX, "index", "1.1 index", ("0.91 index", "11 index")),
        (COMA, "points", "12 points", ("9 points", "3 points", "15 points")),
        (LEAST, "systolic", "80 mmHg", ("100 mmHg", "10 mmHg")),
    ],
)
def test_what_is_no_dose_is_never_unsafe(
    problem: dict[str, Any], asked: str, right: str, wrong: tuple[str, ...]
) -> None:
    """A fifth off is the definition of a dosing error, and of nothing else."""
    assert judge(read_problem(problem), asked, right).verdict == "right"
    for each in wrong:
        found = judge(read_problem(problem), asked, each)
        assert found.verdict == "out of tolerance"
        assert found.sentence.startswith("Out of tolerance, ")


def test_the_words_of_a_coma_score_may_be_spelled_as_in_america() -> None:
    """And what is said beside them is read; what is not is refused with all there are."""
    said = COMA | {"eyes": "to voice", "movement": "localizes"}

    assert read_problem(said).solve() == read_problem(COMA).solve()
    with pytest.raises(ProblemError, match=r"^eyes: 'sleepy' is no answer .* to speech, to pain"):
        read_problem(COMA | {"eyes": "sleepy"})


def test_a_tube_as_it_is_printed_on_the_tube_is_written_well() -> None:
    """The do-not-use list lets the size of a tube keep its zero."""
    found = judge(read_problem(TUBE | {"age": "4 years"}), "size", "5.0 mm")

    assert (found.verdict, found.writing) == ("right", ())


@pytest.mark.parametrize(
    ("problem", "asked", "near", "far"),
    [
        (TUBE, "size", "5 mm", "4.4 mm"),
        (BY_AGE, "kg", "28 kg", "20 kg"),
        (START, "rate", "255 mL/h", "125 mL/h"),
        (MIXING, "concentration", "52 mg/mL", "5 mg/mL"),
        (AREA, "area", "20 %", "9 %"),
    ],
)
def test_what_a_dose_hangs_on_is_unsafe_from_a_fifth_on(
    problem: dict[str, Any], asked: str, near: str, far: str
) -> None:
    """A tube goes into the patient as a dose does; weights, strengths and areas lead to one."""
    assert judge(read_problem(problem), asked, near).verdict == "out of tolerance"
    assert judge(read_problem(problem), asked, far).verdict == "unsafe"


def test_far_too_few_minutes_of_oxygen_are_unsafe_too() -> None:
    """22.4 minutes: 20 endanger nobody, 17 are no figure to plan a transport by."""
    oxygen = {
        "kind": "oxygen",
        "factor": "0.28 L/psi",
        "pressure": "1,000 psi",
        "residual": "200 psi",
        "flow": "10 L/min",
    }
    said = {
        text: judge(read_problem(oxygen), "minutes", f"{text} min").verdict
        for text in ("22", "20", "18", "17", "23")
    }

    assert said == {
        "22": "right",
        "20": "out of tolerance",
        "18": "out of tolerance",
        "17": "unsafe",
        "23": "unsafe",
    }
    side = "so far off that the sum is wrong"
    told = {text: judge(read_problem(oxygen), "minutes", f"{text} min").sentence for text in said}
    assert [text for text, sentence in told.items() if side in sentence] == ["17"]
