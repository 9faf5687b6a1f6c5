"""What is read of a strength, and what a minimum and a maximum do to the marks of a device."""

from fractions import Fraction

import pytest

from drills.engine.dosing.judging import judge
from drills.engine.dosing.reading import read_problem, told_solution
from drills.engine.dosing.results import ProblemError, Rounding
from drills.engine.dosing.verdicts import OUT_OF_TOLERANCE, RIGHT, UNSAFE
from drills.engine.quantities import Quantity


def told(**problem):
    """What the door gives for a problem."""
    return told_solution(read_problem(problem).solve())


@pytest.mark.parametrize("text", ["81 mg / tablet", "81 mg/tablet", "81mg/ tablet"])
def test_a_tablet_is_read_with_any_spaces(text):
    """A stroke with spaces and no number after it is read as one without."""
    found = told(kind="dose", fixed="324 mg", concentration=text)
    assert found["results"]["volume"]["rounded"] == "4"


@pytest.mark.parametrize("text", ["10 mg/2 mL", "10 mg / 2 mL", "10mg/2mL", "10 mg /2 mL"])
def test_a_container_keeps_its_volume_with_any_spaces(text):
    """The volume that an amount comes in is that of the container, however it is spaced."""
    found = told(kind="containers", fixed="10 mg", concentration=text)
    assert found["results"]["open"]["rounded"] == "1"


@pytest.mark.parametrize("text", ["5 mg / mL", "5 mg/mL", "0.5 %", "1:200"])
def test_a_mere_strength_says_no_container_with_any_spaces(text):
    """Of 5 mg/mL there are ampoules of 1 mL and of 10: a count of them would be made up."""
    with pytest.raises(ProblemError, match="says no container; it is such as 10 mg / 2 mL"):
        told(kind="containers", fixed="10 mg", concentration=text)


def test_tablets_are_counted_as_containers():
    """A piece is what it comes in."""
    found = told(kind="containers", fixed="324 mg", concentration="81 mg / tablet")
    assert found["results"]["open"]["rounded"] == "4"


def test_a_tiny_figure_that_does_not_end_has_six_figures():
    """Twelve decimals would be nothing but zeros."""
    found = told(kind="dose", fixed="0.000000007 mg", concentration="3 mg/mL")
    assert found["results"]["volume"]["exact"] == "0.00000000233333"


NARROW = {
    "kind": "dose",
    "per_weight": "1 mg/kg",
    "weight": "9 kg",
    "min": "10.05 mg",
    "max": "10.1 mg",
    "concentration": "1 mg/mL",
    "syringes": [20],
}


def test_a_minimum_lifts_no_draw_past_the_maximum():
    """Where no mark lies between the limits, nothing is drawn up and the ways out are told."""
    found = told(**NARROW)
    assert found["results"]["volume"]["rounded"] is None
    assert found["refused"]["because"] == (
        "No mark lies from the minimum, 10.05 mL, to the maximum, 10.1 mL: marks are 1 mL apart."
    )
    assert (
        "Use a syringe with finer marks, or ask medical direction for another presentation."
        in found["refused"]["instead"]
    )


def test_a_mark_at_the_maximum_is_taken():
    """A maximum is the last figure that may be given."""
    assert told(**NARROW | {"max": "11 mg"})["results"]["volume"]["rounded"] == "11"


LIFTED = {
    "kind": "dose",
    "per_weight": "0.01 mg/kg",
    "weight": "3 kg",
    "min": "0.12 mg",
    "concentration": "0.1 mg/mL",
    "rounding": "never up",
    "syringes": [3],
}


def test_a_minimum_stands_over_never_rounding_up():
    """The mark above is drawn, the step says why, and the judge finds it right."""
    given = LIFTED | {"min": "0.125 mg"}
    found = told(**given)
    assert found["results"]["volume"]["rounded"] == "1.3"
    assert found["steps"][-1] == (
        "By marks of the 3 mL syringe 0.1 mL apart, the mark below is under the minimum, so the "
        "mark above: 1.3 mL"
    )
    problem = read_problem(given)
    assert judge(problem, "volume", "1.3 mL").verdict == RIGHT
    assert judge(problem, "volume", "1.2 mL").verdict == OUT_OF_TOLERANCE


def test_a_minimum_on_a_mark_leaves_never_rounding_up_as_it_is():
    """Only where the mark below is under the minimum is the mark above taken."""
    problem = read_problem(LIFTED)
    assert problem.solve().results["volume"].rounding is Rounding.NEVER_UP
    assert "minimum, so" not in problem.solve().steps[-1]


def test_a_wide_minimum_is_drawn_at_the_mark_above():
    """The figures of the dose and of the draw both stay over the minimum."""
    problem = read_problem(
        {
            "kind": "dose",
            "per_weight": "16.17 mg/kg",
            "weight": "160 lb",
            "min": "1528.8 mg",
            "concentration": "12.73 mg/mL",
            "syringes": [20, 60],
            "rounding": "never up",
        }
    )
    assert problem.solve().results["volume"].answer == "121 mL"
    sentence = judge(problem, "volume", "120 mL").sentence
    assert "from 121" not in sentence


def test_nothing_under_a_minimum_is_a_right_dose():
    """Half a mark is no reason to give less than the least."""
    given = {"kind": "dose", "fixed": "0.06 mg", "min": "0.1 mg", "graduation": "0.05 mg"}
    problem = read_problem(given)
    assert judge(problem, "dose", "0.085 mg").verdict == OUT_OF_TOLERANCE
    assert judge(problem, "dose", "0.05 mg").verdict == UNSAFE
    assert judge(problem, "dose", "0.1 mg").verdict == RIGHT


@pytest.mark.parametrize(("least", "rounding"), [("869.55", "never up"), ("869.45", "half up")])
def test_a_dose_is_told_no_less_than_the_minimum(least, rounding):
    """Three figures of a minimum would be less than it."""
    found = told(
        kind="dose",
        per_weight="15.5 mg/kg",
        weight="55 kg",
        min=f"{least} mg",
        rounding=rounding,
    )
    assert found["results"]["dose"]["rounded"] == least


def test_a_bag_lasts_by_what_is_ordered_and_the_setting_is_told():
    """250 mL at 0.75 mL/h are 20,000 minutes; that the pump runs 0.8 mL/h has its own line."""
    found = told(
        kind="drip",
        dose_rate="0.1 mcg/kg/min",
        weight="8 kg",
        concentration="64 mcg/mL",
        bag="250 mL",
    )
    assert found["results"]["mL_per_h"]["rounded"] == "0.8"
    assert found["results"]["minutes"]["rounded"] == "20000"
    assert "By steps of the pump of 0.1 mL/h: 0.8 mL/h" in found["steps"]


SHOCK = {"kind": "energy", "weight": "13 kg", "per_weight": "2 J/kg", "graduation": "10 J"}


@pytest.mark.parametrize(
    ("problem", "last"),
    [
        (SHOCK | {"high": "2.1 J/kg"}, "The device has 20 J and 30 J: set 30 J"),
        (SHOCK | {"high": "4 J/kg"}, "By settings 10 J apart: 30 J, up to 50 J"),
        (
            {
                "kind": "drip",
                "volume": "500 mL",
                "over": "105 min",
                "set": "10 gtt/mL",
                "graduation": "5 gtt/min",
            },
            "By steps of 5 gtt/min: 50 gtt/min",
        ),
        (
            {"kind": "drip", "volume": "500 mL", "over": "105 min", "set": "10 gtt/mL"},
            "Whole drops: 48 gtt/min",
        ),
        (
            {
                "kind": "dose",
                "per_weight": "20 mL/kg",
                "weight": "33.75 lb",
                "rounding": "never up",
            },
            "Rounded, never rounded up for a child: 306 mL",
        ),
        (
            {"kind": "dose", "fixed": "0.26 mg", "graduation": "0.05 mg"},
            "By marks 0.05 mg apart: 0.25 mg",
        ),
    ],
)
def test_the_last_step_leads_to_what_is_set(problem, last):
    """Nothing is rounded without a line that says how; what is beside the way comes after it."""
    on_the_way = [each for each in told(**problem)["steps"] if not each.endswith(")")]
    assert on_the_way[-1] == last


def test_minutes_that_are_whole_are_not_rounded_down():
    """A line says it only where something was cut off."""
    given = {"kind": "oxygen", "factor": "0.2 L/psi", "flow": "10 L/min", "residual": "0 psi"}
    assert not told(**given, pressure="1000 psi")["steps"][-1].startswith("Rounded")
    assert told(**given, pressure="1010 psi")["steps"][-1] == "Rounded down: 20 min"


def test_a_refused_shock_offers_none_that_the_judge_calls_unsafe():
    """The way out is to ask, since the setting below is too little and the one above barred."""
    refused = told(**SHOCK, rounding="never up")["refused"]
    assert refused["instead"] == ["Ask medical direction, or use a device with finer settings."]
    assert "30 J is more, and a child's dose is never rounded up." in refused["because"]


def test_containers_of_several_doses_say_for_how_many():
    """One container for one dose is not mistaken for all of them."""
    found = told(kind="containers", fixed="10 mg", concentration="10 mg / 2 mL", doses=3)
    assert found["results"]["open"]["rounded"] == "1"
    assert found["steps"][-1] == (
        "1 for one dose; 3 for all 3, where each has containers of its own"
    )


def test_a_burn_after_eight_hours_has_no_rate_among_its_results():
    """Every result has an exact figure; what is not there is told by the refusal."""
    given = {"kind": "burn", "weight": "70 kg", "area": "20 %", "per": "4 mL/kg/%"}
    found = told(**given, since_injury="9 h")
    assert list(found["results"]) == ["total"]
    assert "refused" in found


def test_a_drip_goes_no_way_twice():
    """The rate by the minute is worked out once."""
    steps = told(kind="drip", volume="500 mL", over="105 min", set="10 gtt/mL")["steps"]
    assert sum(each.endswith(" ≈ 4.7619 mL/min") for each in steps) == 1


TABLETS = {"kind": "dose", "fixed": "325 mg", "concentration": "81 mg / tablet"}


@pytest.mark.parametrize(
    ("problem", "lines"),
    [
        (TABLETS, ["325 mg / 81 mg/tablet ≈ 4.01 tablets", "By halves of a tablet: 4 tablets"]),
        (
            TABLETS | {"fixed": "40.5 mg"},
            ["40.5 mg / 81 mg/tablet = 0.5 tablet", "By halves of a tablet: 0.5 tablet"],
        ),
        (
            TABLETS | {"graduation": "1 tablet"},
            ["325 mg / 81 mg/tablet ≈ 4.01 tablets", "By whole tablets: 4 tablets"],
        ),
        (
            {"kind": "containers", "fixed": "25 mg", "concentration": "10 mg / 3 mL"},
            ["7.5 mL / 3 mL = 2.5 containers", "Rounded up: 3"],
        ),
        (
            {"kind": "containers", "fixed": "40 mg", "concentration": "7 mg / 3 mL"},
            ["17.1 mL / 3 mL = 5.7 containers", "Rounded up: 6"],
        ),
        (
            {"kind": "containers", "fixed": "25 mg", "concentration": "1 mg / 7 mL"},
            ["By marks 0.1 mL apart: 175 mL", "175 mL / 7 mL = 25 containers"],
        ),
        (
            {"kind": "containers", "fixed": "20 mg", "concentration": "1 mg / 0.999 mL"},
            ["By marks 0.1 mL apart: 20 mL", "19.98 mL / 0.999 mL = 20 containers"],
        ),
    ],
)
def test_what_is_counted_out_is_told_as_people_write_it(problem, lines):
    """Hundredths and no more; never a whole one where it is a little over."""
    assert told(**problem)["steps"][-2:] == lines


def test_a_little_over_a_whole_container_is_not_told_as_whole():
    """20.0002 of them take 21."""
    assert str(Quantity(Fraction("20.0002"), "containers")) == "20.0002 containers"
    assert str(Quantity(Fraction("20.0122"), "containers")) == "20.01 containers"


def test_a_dose_between_half_tablets_is_refused_in_words():
    """A quarter of a tablet: nothing near it can be broken off."""
    refused = told(**TABLETS | {"fixed": "20 mg"})["refused"]

    assert refused["because"] == (
        "0.25 tablet lies between halves of a tablet: the nearest, 0 tablets, is 100% off, and "
        "less than 10% is accepted."
    )


@pytest.mark.parametrize(
    ("limits", "because", "which"),
    [
        (
            {"min": "10.05 mg", "max": "10.05 mg"},
            "10.05 mL is the minimum and the maximum, and lies on no mark: marks are 1 mL apart.",
            "is the minimum and the maximum and lies on no mark",
        ),
        (
            {"min": "10.05 mg", "max": "10.1 mg"},
            "No mark lies from the minimum, 10.05 mL, to the maximum, 10.1 mL: marks are 1 mL "
            "apart.",
            "has no mark from the minimum, 10.05 mL, to the maximum, 10.1 mL",
        ),
        (
            {"per_weight": "0.1 mg/kg", "weight": "9.5 kg", "min": "", "max": "0.95 mg"},
            "0.95 mL lies between marks 1 mL apart: the nearest that is not past the maximum, "
            "0 mL, is 100% off, and less than 10% is accepted.",
            "no mark aboard that is not past the maximum comes near",
        ),
        (
            {
                "per_weight": "0.1 mg/kg",
                "weight": "9.5 kg",
                "min": "",
                "max": "",
                "rounding": "never up",
            },
            "0.95 mL lies between marks 1 mL apart: the nearest that is not more, 0 mL, is 100% "
            "off, and less than 10% is accepted.",
            "no mark aboard that is not more comes near",
        ),
        (
            {"per_weight": "0.11 mg/kg", "weight": "13 kg", "min": "1.2 mg", "max": ""},
            "1.43 mL lies between marks 1 mL apart: the nearest that is not under the minimum, "
            "2 mL, is 40% off, and less than 10% is accepted.",
            "no mark aboard that is not under the minimum comes near",
        ),
    ],
)
def test_a_refusal_says_what_is_true_of_the_mark_that_is_near(
    limits: dict[str, str], because: str, which: str
) -> None:
    """A mark may come near and yet be past a limit: then it is the limit that is named."""
    given = NARROW | {"graduation": "1 mL"} | limits
    problem = read_problem({name: value for name, value in given.items() if value})

    refusal = problem.solve().refusal
    assert refusal is not None
    assert (refusal.because, refusal.which) == (because, which)
    assert f", which {which}." in judge(problem, "volume", "7.3 mL").sentence
