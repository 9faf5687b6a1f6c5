"""What the door says of what it does not understand: the field, what came in, what is accepted."""

from typing import Any

import pytest

from tests.formulary.door import TEN_KG, dose, drip, oxygen, weight

BURNED = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "left arm; head",
}
COMA = {
    "kind": "coma_score",
    "scale": "adult",
    "eyes": "to speech",
    "voice": "confused",
    "movement": "localises",
}
CYLINDERS = {
    "kind": "cylinders",
    "factor": "0.16 L/psi",
    "pressures": ["1,200 psi", "2,000 psi"],
    "residual": "200 psi",
    "flow": "10 L/min",
}
BY_AGE = {"kind": "weight_by_age", "formula": "Luscombe and Owens", "age": "6 years"}


@pytest.mark.parametrize(
    ("problem", "error"),
    [
        ({}, "kind: it is missing; it is one of weight, dose, drip,"),
        (dose(weight="20 kg"), "per_weight: no dose came in; it is told by weight, such as 0.1"),
        (dose(**TEN_KG, fixed="1 mg"), "per_weight: a dose has either a per_weight or a fixed"),
        # A field with a slip in its name is told those that there are.
        (
            weight("44 lb", wieght="1"),
            "wieght: no field of this kind of problem; there are from, g",
        ),
        (
            dose(weight="10 kg", per_weigth="0.1 mg/kg"),
            "per_weigth: no field of this kind of problem; is per_weight meant?",
        ),
        (
            dose(wieght="10 kg", per_weight="0.1 mg/kg"),
            "wieght: no field of this kind of problem; is weight meant?",
        ),
        (
            {"kind": "weight", "form": "20 kg"},
            "form: no field of this kind of problem; is from meant?",
        ),
        (
            weight("-5 kg"),
            "from: '-5' is below zero, and no amount is; a number and its unit are",
        ),
        (
            {"kind": "tube", "age": "5 years", "weight": "18 kg"},
            "weight: no field of this kind of problem; there are age, cuff.",
        ),
        (weight("44 lb") | {"x" * 99: 1}, "x" * 80 + "...: no field"),
        # An amount names the few units that do, never every unit there is.
        (weight("44"), "from: '44' came in; a number and its unit are accepted, in kg or lb."),
        (weight("44 stone"), "from: '44 stone' came in; a number and its unit are accepted, in kg"),
        (weight("44 mg"), "from: 44 mg came in; it is told in kg or lb."),
        (weight("44 lb") | {"from": 44}, "from: 44 came in; a text such as '20 kg' is accepted."),
        (oxygen(pressure="69 bar"), "pressure: '69 bar' came in; a number and its unit are accep"),
        (
            drip(dose_rate="5 mg"),
            "dose_rate: 5 mg came in; it is told in mg/min, mg/kg/min, units/kg/h, mL/kg/h or the "
            "like.",
        ),
        (
            dose(fixed="1 puff"),
            "fixed: '1 puff' came in; a number and its unit are accepted, in mg, units, mEq, mmol, "
            "mL or tablet.",
        ),
        (
            dose(**TEN_KG, concentration="foo"),
            "concentration: 'foo' came in; a strength is such as 3 mg/mL, 10 mg / 2 mL, 10 %, "
            '1:10,000, or an amount and what it is in, as {"amount": "1 mg", "in": "250 mL"}.',
        ),
        (
            dose(**TEN_KG, concentration={"amount": "1 mg"}),
            "concentration: amount '1 mg' came in; a strength",
        ),
        (dose(**TEN_KG, concentration={}), "concentration: nothing came in; a strength is"),
        # One of several is named by its place, the first being 0 as in JSON.
        (oxygen(flow=["1 L/min", "x"]), "flow[1]: 'x' came in; a number and its unit are"),
        (oxygen(flow=["1 L/min", "2 L/min", "0 L/min"]), "flow[2]: 0 L/min came in; it is more"),
        (dose(**TEN_KG, others=["3 mg/mL", 5]), "others[1]: 5 came in; a text such as '3 mg/mL'"),
        (dose(**TEN_KG, others=["3 mg/mL", "3"]), "others[1]: '3' came in; a strength is such as"),
        (
            dose(**TEN_KG, syringes=[1, "2 mL"]),
            "syringes[1]: '2 mL' came in; the sizes of the table are accepted, such as [1, 3, 10] "
            'or ["1 mL"], of 1, 3, 5, 10, 20, 60 mL.',
        ),
        (
            dose(fixed="1,500 mcL"),
            "fixed: '1,500 mcL' came in; a number and its unit are accepted, in mg, units, mEq, "
            "mmol, mL or tablet. 'mcL' is not read: write 1.5 mL.",
        ),
        # No size is dropped: the figure would be another one.
        (dose(**TEN_KG, syringes=[1, 2]), "syringes[1]: 2 came in; the sizes of the ta"),
        (dose(**TEN_KG, syringes="3"), "syringes: '3' came in; a list of sizes is accepted, such"),
        (
            CYLINDERS | {"pressures": ["1,200 psi", "11,000 psi"]},
            "pressures[1]: 11,000 psi came in; 0.01 psi to 10,000 psi is accepted.",
        ),
        (
            CYLINDERS | {"residual": None},
            "residual: it is missing; it is such as 200 psi, or 0 psi",
        ),
        (CYLINDERS | {"pressures": []}, "pressures: none came in; at least one is accepted."),
        # A burn from its regions.
        ({"kind": "burned"}, "chart: it is missing; it is such as rule of nines."),
        (BURNED | {"chart": "nines"}, "chart: 'nines' is no burn chart; accepted is rule of nines"),
        (BURNED | {"age": None}, "age: it is missing; it is such as 5 years or 8 months."),
        (BURNED | {"age": "30"}, "age: '30' is no age; one is a whole number and years or months."),
        (BURNED | {"regions": None}, "regions: it is missing; it is such as left arm; head."),
        (BURNED | {"regions": " ; "}, "regions: ';' came in; at least one is accepted."),
        (BURNED | {"regions": "left wing"}, "regions: 'left wing' is no region of the rule of"),
        (BURNED | {"regions": "head; left arm; Head"}, "regions: head came in more than once."),
        (BURNED | {"weight": "80 kg"}, "per: it is missing; the fluid needs one, such as 2 mL/kg"),
        (BURNED | {"per": "2 mL/kg/%"}, "weight: it is missing; the fluid needs one, such as 80"),
        (BURNED | {"since_injury": "2 h"}, "weight: it is missing; the fluid needs one"),
        (BURNED | {"per": "0 mL/kg/%", "weight": "80 kg"}, "per: 0 mL/kg/% came in; it is more"),
        (BURNED | {"per": "2 mL/kg/%", "weight": "5 t"}, "weight: '5 t' came in; a number and its"),
        (
            BURNED | {"per": "2 mL/kg/%", "weight": "651 kg"},
            "weight: 651 kg came in; 0.2 kg to 650 kg is accepted.",
        ),
        # Small sums.
        (COMA | {"scale": None}, "scale: it is missing; it is such as adult."),
        (
            COMA | {"scale": "baby"},
            "scale: 'baby' is no coma scale; accepted is adult; infant, PALS; infant, college.",
        ),
        (COMA | {"voice": None}, "voice: it is missing; it is such as oriented."),
        (COMA | {"eyes": "3"}, "eyes: '3' is no answer for eyes in the scale adult; accepted is"),
        (COMA | {"eyes": 3}, "eyes: 3 came in; a text is accepted."),
        (BY_AGE | {"formula": None}, "formula: it is missing; it is such as Luscombe and Owens."),
        (BY_AGE | {"formula": "guess"}, "formula: 'guess' is no weight formula; accepted is"),
        (BY_AGE | {"age": None}, "age: it is missing; it is such as 5 years or 8 months."),
        (BY_AGE | {"age": "50 years"}, "age: The formula Luscombe and Owens has nothing for 50"),
        ({"kind": "tube", "age": "30 years"}, "age: Tube size has nothing for 30 years"),
        ({"kind": "start_rate"}, "age: it is missing"),
        (
            {"kind": "mean_pressure", "systolic": "70 mmHg", "diastolic": "80 mmHg"},
            "systolic: 70/80 mmHg; accepted is the higher one first.",
        ),
        (
            {"kind": "shock_index", "pulse": "500 beats/min", "systolic": "80 mmHg"},
            "pulse: 500 beats/min came in; up to 400 beats/min is accepted.",
        ),
        (
            {"kind": "shock_index", "pulse": "100 beats/min", "systolic": "401 mmHg"},
            "systolic: 401 mmHg came in; up to 400 mmHg is accepted.",
        ),
        (
            {"kind": "mean_pressure", "systolic": "70 mmHg", "diastolic": "1,000 mmHg"},
            "diastolic: 1,000 mmHg came in; up to 400 mmHg is accepted.",
        ),
    ],
)
def test_what_is_refused_says_what_came_in_and_what_would_do(
    door: Any, problem: dict[str, Any], error: str
) -> None:
    code, answer = door("solve", problem)

    assert code == 2
    assert answer["error"].startswith(error)
    assert len(answer["error"]) < 300


@pytest.mark.parametrize("problem", [BURNED, COMA, CYLINDERS, BY_AGE])
def test_each_of_these_is_understood_when_nothing_is_wrong(
    door: Any, problem: dict[str, Any]
) -> None:
    assert door("solve", problem)[0] == 0


def test_names_out_of_a_table_are_read_whatever_their_capitals(door: Any) -> None:
    shouted = BURNED | {"chart": "Rule of Nines", "regions": "Left Arm;HEAD"}

    assert door("solve", shouted) == door("solve", BURNED)
    assert door("solve", COMA | {"scale": "Adult", "eyes": "To speech"}) == door("solve", COMA)


def test_nothing_may_stay_in_a_cylinder(door: Any) -> None:
    code, answer = door("solve", CYLINDERS | {"residual": "0 psi"})

    assert (code, answer["results"]["minutes"]["exact"]) == (0, "51.2")


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("1.5", "'1.5' came in without a unit. Write 1.5 mL if that is meant."),
        ("1,5", "'1,5' came in without a unit. Write 1,5 mL if that is meant."),
        ("a lot", "'a lot' is no number; 1000, 1,000, 1.5 and 0,5 are. It takes a number and"),
        ("1.5 foo", "'foo' is no unit that is read. It takes a number and mL."),
        ("", "Nothing came in. It takes a number and mL."),
        ("-8.5", "'-8.5' is below zero, and no amount is. It takes a number and mL."),
        ("1500 µL", "'µL' is not read: write 1.5 mL. It takes a number and mL."),
        ("1.5 kg", "1.5 kg is in kg, and mL was asked for"),
    ],
)
def test_an_answer_without_its_unit_is_told_the_one_that_was_asked_for(
    door: Any, entered: str, said: str
) -> None:
    problem = dose(**TEN_KG, concentration="2 mg/mL")
    code, answer = door("judge", {"problem": problem, "asked": "volume", "entered": entered})

    assert (code, answer["verdict"], answer["ratio"]) == (0, "unreadable", None)
    assert answer["sentence"].startswith(said)


@pytest.mark.parametrize(("strange", "is_read"), [("entred", False), ("note", True), ("id", True)])
def test_a_field_beside_an_answer_that_is_not_read_is_refused_by_its_name(
    door: Any, strange: str, is_read: bool
) -> None:
    """A field with a slip in its name must not be lost; a note may stand there."""
    asked = {"problem": dose(fixed="1 mg"), "asked": "dose", "entered": "1 mg"}

    code, answer = door("judge", asked | {strange: "1 mg"})

    said = f"{strange}: no field of a judgement; there are problem, asked, entered."
    assert (code, answer.get("error")) == ((0, None) if is_read else (2, said))


def test_the_form_of_a_strength_that_is_shown_is_read(door: Any) -> None:
    written = {"amount": "1 mg", "in": "250 mL"}
    code, _ = door("solve", dose(fixed="1 mg", concentration=written))

    assert code == 0
