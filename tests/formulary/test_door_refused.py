"""What the door of the commands does not understand: refused by the name of the field."""

import json
from typing import Any

import pytest

from tests.formulary.door import TEN_KG, burn, dose, drip, energy, oxygen, weight


@pytest.mark.parametrize(
    ("problem", "field"),
    [
        ({}, "kind"),
        ([], "problem"),
        ({"kind": "potion"}, "kind"),
        ({"kind": ["dose"]}, "kind"),
        ({"kind": "weight"}, "from"),
        (weight("0 kg"), "from"),
        (weight("-44 lb"), "from"),
        (weight("44"), "from"),
        (weight("44 stone"), "from"),
        (weight("1.000,5 kg"), "from"),
        (weight("1e2 kg"), "from"),
        (weight("1000000000 kg"), "from"),
        (weight("9" * 500 + " kg"), "from"),
        (weight("٤٤ kg"), "from"),
        (weight("\ud800 kg"), "from"),
        (weight("20 mg"), "from"),
        ({"kind": "weight", "from": 44}, "from"),
        ({"kind": "weight", "from": 44.5}, "from"),
        ({"kind": "weight", "from": {"amount": "44 lb"}}, "from"),
        ({"kind": "weight", "from": [["44 lb"]]}, "from"),
        (weight("44 lb", pounds="about"), "pounds"),
        (weight("44 lb", pounds=["2.2"]), "pounds"),
        (weight("44 lb", wieght="44 lb"), "wieght"),
        (dose(), "per_weight"),
        (dose(**TEN_KG, fixed="1 mg"), "per_weight"),
        (dose(per_weight="0.1 mg/kg"), "weight"),
        (dose(weight="0 kg", per_weight="0.1 mg/kg"), "weight"),
        (dose(weight="10 kg", per_weight="0 mg/kg"), "per_weight"),
        (dose(weight="10 kg", per_weight="0.1 mg"), "per_weight"),
        (dose(**TEN_KG, min="2 mg", max="1 mg"), "min"),
        (dose(**TEN_KG, high="0.05 mg/kg"), "per_weight"),
        (dose(**TEN_KG, high="0.2 mg"), "high"),
        (dose(**TEN_KG, max="10 mL"), "max"),
        (dose(**TEN_KG, max="0 mg"), "max"),
        (dose(**TEN_KG, concentration="0 mg/mL"), "concentration"),
        (dose(**TEN_KG, concentration="3 mg"), "concentration"),
        (dose(**TEN_KG, concentration="1:0"), "concentration"),
        (dose(**TEN_KG, concentration="1:10,00"), "concentration"),
        (dose(**TEN_KG, concentration="5 kg/mL"), "concentration"),
        (dose(**TEN_KG, concentration="10 units/mL"), "concentration"),
        (dose(**TEN_KG, concentration={}), "concentration"),
        (dose(**TEN_KG, concentration={"amount": "1 mg", "in": "0 mL"}), "concentration"),
        (dose(**TEN_KG, concentration={"amount": "1 mg", "in": 250}), "concentration"),
        (dose(**TEN_KG, concentration={"amount": "1 mg", "in": "1 h"}), "concentration"),
        (dose(**TEN_KG, concentration=["3 mg/mL"]), "concentration"),
        # A strength says nothing of how much is in one vial.
        (dose(kind="containers", fixed="1 mg", concentration="1:10,000"), "concentration"),
        (dose(kind="containers", fixed="100 mg", concentration="1 %"), "concentration"),
        (dose(kind="containers", fixed="9 mg", concentration="3 mg/mL"), "concentration"),
        (dose(kind="containers", fixed="9 mg"), "concentration"),
        (dose(**TEN_KG, others=["10 units/mL"]), "others"),
        (dose(**TEN_KG, others="3 mg/mL"), "others"),
        (dose(**TEN_KG, graduation="0 mL"), "graduation"),
        (dose(**TEN_KG, syringes=["3"]), "syringes[0]"),
        (dose(**TEN_KG, doses=0), "doses"),
        (dose(**TEN_KG, doses=True), "doses"),
        (dose(**TEN_KG, error_limit="25 %"), "error_limit"),
        (drip(), "rate"),
        (drip(rate="10 mL/h", volume="1 L", over="1 h"), "rate"),
        (drip(volume="1 L"), "over"),
        (drip(volume="1 L", over="0 h"), "over"),
        (drip(rate="10 mg/h"), "rate"),
        (drip(rate="10 gtt/min"), "set"),
        (drip(rate="10 mL/h", set="60 mL"), "set"),
        (drip(rate="10 mL/h", set="0 gtt/mL"), "set"),
        (drip(rate="10 mL/h", bag="0 mL"), "bag"),
        (drip(rate="10 mL/h", max="5 mg/h"), "max"),
        (drip(dose_rate="5 mcg/kg/min", concentration="1 mg/mL"), "weight"),
        (drip(dose_rate="5 mcg/kg/min", weight="70 kg"), "concentration"),
        (drip(dose_rate="5 mcg/min", concentration="10 units/mL"), "concentration"),
        (drip(dose_rate="5 mcg/min", concentration="1 mg/mL", max="5 mcg/kg/min"), "max"),
        (drip(dose_rate="5 mcg/min", concentration="1 mg/mL", high="2 mcg/min"), "dose_rate"),
        ({"kind": "dilution", "volume": "1 mL", "to": "10 mL"}, "concentration"),
        ({"kind": "dilution", "concentration": "1 mg/mL", "volume": "2 mL", "to": "1 mL"}, "to"),
        ({"kind": "dilution", "concentration": "1 mg/mL", "volume": "2 mL"}, "to"),
        (
            {"kind": "dilution", "concentration": "1 mg/tablet", "volume": "2 mL", "to": "4 mL"},
            "concentration",
        ),
        (oxygen(residual=None), "residual"),
        (oxygen(pressure="-150 psi"), "pressure"),
        (oxygen(pressure="9,000,000 psi"), "pressure"),
        (oxygen(residual="-1 psi"), "residual"),
        (oxygen(flow="0 L/min"), "flow"),
        (oxygen(flow=None), "flow"),
        (oxygen(flow=[]), "flow"),
        (oxygen(flow=[["1 L/min"]]), "flow[0]"),
        (oxygen(flow="10 mL"), "flow"),
        (oxygen(cylinder="E"), "cylinder"),
        (oxygen(factor=None), "cylinder"),
        (oxygen(factor=None, cylinder="Z"), "cylinder"),
        (oxygen(factor=None, cylinder="E", list="letters of the moon"), "cylinder"),
        (burn(area="0 %"), "area"),
        (burn(area="100.1 %"), "area"),
        (burn(area="30"), "area"),
        (burn(per="2 mL/kg"), "per"),
        (burn(since_injury="-1 h"), "since_injury"),
        (burn(weight=None), "weight"),
        (energy(), "weight"),
        (energy(weight="10 kg", per_weight="2 J"), "per_weight"),
        (energy(weight="10 kg", high="1 J/kg"), "per_weight"),
        (energy(weight="10 kg", max="0 J"), "max"),
    ],
)
def test_what_cannot_be_understood_ends_with_two_and_names_the_field(
    door: Any, problem: Any, field: str
) -> None:
    code, answer = door("solve", problem)

    assert code == 2
    assert list(answer) == ["error"]
    assert answer["error"].startswith(f"{field}: ")
    assert len(answer["error"]) < 400


@pytest.mark.parametrize(
    "text",
    ["", " ", "{", "nothing", "\x00", '{"kind": "weight",}', "[" * 50_000, '"' + "x" * 100_000],
)
def test_what_is_no_json_is_refused(door: Any, text: str) -> None:
    for command in ("solve", "judge"):
        code, answer = door(command, text)
        assert code == 2
        assert answer["error"].startswith("standard input: ")


@pytest.mark.parametrize("text", ["NaN", "Infinity", "1e400", "9" * 300, "true", '"kind"'])
def test_a_bare_value_is_no_problem(door: Any, text: str) -> None:
    assert door("solve", text)[0] == 2
    code, answer = door("solve", f'{{"kind": "weight", "from": {text}}}')
    assert code == 2
    assert answer["error"].startswith("from: ")


def test_a_field_that_came_in_twice_is_refused(door: Any) -> None:
    code, answer = door("solve", '{"kind": "weight", "from": "44 lb", "from": "44 kg"}')

    assert (code, answer["error"]) == (2, "from: it came in twice.")


def test_a_mark_of_the_order_of_bytes_before_the_problem_is_no_error(door: Any) -> None:
    assert door("solve", "\ufeff" + json.dumps(weight("44 lb")))[0] == 0
