"""A rule worked out for a patient on its page, with what a rig carries."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import rig_on
from drills.engine.dosing.treatment import work_out
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.quantities import read_quantity
from drills.formulary.views.working import left_out_of, note_of
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from tests.engine.treating import CHILD, carrying, rule
from tests.formulary.conftest import ClientOf
from tests.layouts import FIXTURES, demo_layout

HTMX = {"HX-Request": "true"}
GIVEN = {"age": "5", "counted": "years", "weight": "44", "weighed": "lb", "on": "rig:201"}

pytestmark = pytest.mark.usefixtures("box", "db", "demonstration")


@pytest.fixture(scope="module")
def box(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The reference data, and a rig whose things are tied as its workbook says; made once."""
    with django_db_blocker.unblock(), transaction.atomic():
        call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
        rig_on(demo_layout("mesa-box"), unit="201")
        yield
        transaction.set_rollback(True)


@pytest.fixture
def asked(box: None, hire: Person, client_of: ClientOf) -> Any:
    """What the page of a rule answers, with what is given beside the patient."""

    def ask(code: str, headers: dict[str, str] | None = None, **given: str) -> Any:
        address = reverse("formulary:rule", args=[0, code])
        return client_of(hire).get(address, GIVEN | given, headers=headers or {})

    return ask


def text_of(response: Any) -> str:
    return " ".join(re.sub("<[^>]+>", " ", response.content.decode()).split())


def test_a_rule_is_worked_out_from_weight_to_container(asked: Any) -> None:
    said = text_of(asked("D002", at="14:05", before="1"))

    assert "Draw up 2 mL with the 3 mL syringe, marks 0.1 mL apart" in said
    assert "Next dose not before 14:08" in said
    assert (
        "44 lb / 2.2 = 20 kg 20 kg x 0.01 mg/kg = 0.2 mg 0.2 mg / 0.1 mg/mL = 2 mL "
        "By marks of the 3 mL syringe 0.1 mL apart: 2 mL One holds 10 mL: open 1 of "
    ) in said
    assert "14:05 + 3 min = 14:08" in said
    assert said.index("Where it is from") < said.index("Worked for a patient")
    assert said.count(SAFETY_WORDS) == 2
    assert "Demonstration only. Not for patient care." in said


def test_the_medicines_aboard_are_those_of_todays_rig(
    box: None, hire: Person, client_of: ClientOf
) -> None:
    """Who rides no rig is offered none; what is carried for no dose, as current, is left out."""
    address, client = reverse("formulary:index"), client_of(hire)
    assert "?aboard=on" not in client.get(address).content.decode()
    assert "with 76 rules" in text_of(client.get(address, {"aboard": "on"}))

    rig = Rig.objects.get(unit="201")
    pick_rig(hire, rig, now=timezone.now())

    assert "?aboard=on" in client.get(address).content.decode()
    alone = text_of(client.get(address, {"aboard": "on"}))
    assert f"aboard {rig}" in alone
    assert "Epinephrine" in alone
    assert "Defibrillation energy" not in alone


def test_a_part_says_the_same_and_is_safe_by_itself(asked: Any) -> None:
    page, part = asked("D002"), asked("D002", HTMX)

    worked = part.content.decode().strip()
    assert worked.startswith('<section class="sec" id="worked"')
    assert worked in page.content.decode()
    assert SAFETY_WORDS in text_of(part)
    assert "Demonstration only. Not for patient care." in text_of(part)


def test_too_few_aboard_is_said_plainly(asked: Any) -> None:
    grown = {"age": "40", "weight": "100", "weighed": "kg", "area": "40", "since": "1"}
    said = text_of(asked("D065", **grown))

    assert "Fluid in 24 hours 8,000 mL" in said
    assert re.search(r"Open 8 .*?; par \d+ \d too few aboard", said)


def test_what_is_mixed_first_is_told_first_and_drawn_up_of_the_mixture(asked: Any) -> None:
    """The container as it comes is ten times as strong."""
    said = text_of(asked("D007", age="40", weight="80", weighed="kg"))

    mixing = said.index("Mix first 1 mL of 0.1 mg/mL + 9 mL normal saline: 10 mcg/mL")
    drawn = said.index("Draw up 0.5 mL, up to 2 mL of 10 mcg/mL, after mixing")
    assert mixing < drawn < said.index("Open 1 to mix it from: ")
    assert "after mixing" not in text_of(asked("D002"))


def test_a_percent_sign_and_the_unit_of_an_age_may_be_written_too(asked: Any) -> None:
    burned = text_of(asked("D065", age="40 years", weight="100", weighed="kg", area="40 %"))
    young = asked("D002", age="8 months", weight="", weighed="older APLS").content.decode()

    assert "Fluid in 24 hours 8,000 mL" in burned
    assert 'value="8"' in young
    assert '<option value="months" selected>' in young


def test_from_which_share_off_a_draw_is_refused_is_tried_for_one_working(asked: Any) -> None:
    """1.06 mL by marks 0.1 mL apart is 4 % off: drawn by the tenth of the service, and not from 3 %
    on."""
    light = {"age": "1", "weight": "10.6", "weighed": "kg"}
    drawn = asked("D002", **light)
    refused = asked("D002", refused_from="3", **light)

    assert 'name="refused_from" inputmode="numeric" maxlength="2"' in drawn.content.decode()
    assert "Not given like this" not in text_of(drawn)
    assert "Not given like this" in text_of(refused)
    assert "is 4% off, and less than 3% is accepted" in text_of(refused)
    assert '<details class="more wide" open>' in refused.content.decode()
    assert '<details class="more wide">' in drawn.content.decode()


@pytest.mark.parametrize("share", ["0", "11", "2.5", "many"])
def test_a_share_that_no_service_may_set_is_refused_by_name(asked: Any, share: str) -> None:
    said = text_of(asked("D002", refused_from=share))

    assert "1 to 10 percent are accepted." in said
    assert f"Refused from: &#x27;{share}&#x27; came in; 1 to 10" in said


def test_a_drip_is_told_for_the_pump_and_each_set(asked: Any) -> None:
    said = text_of(asked("D061", age="40", weight="176"))

    assert "Pump 15 mL/h, up to 150 mL/h" in said
    assert "Drops, 60 gtt/mL 15 gtt/min, up to 150 gtt/min" in said
    assert "Mix 4 mg (4 mL of 1 mg/mL) in 250 mL" in said


def test_a_weight_by_a_formula_is_named(asked: Any) -> None:
    said = text_of(asked("D002", weight="", weighed="older APLS"))

    assert "Weight by older APLS at 5 years" in said


def test_a_dose_past_the_total_is_not_given(asked: Any) -> None:
    said = text_of(asked("D021", age="40", weight="80", weighed="kg", before="3"))

    assert "Not given. 4 mg with this dose, and the rule allows 3 mg in all." in said


def test_the_settings_of_the_service_count(asked: Any) -> None:
    exactly = text_of(asked("D002", pounds="exact"))

    assert "44 lb x 0.45359237 ≈ 19.9581 kg" in exactly


def test_a_weight_that_hardly_anybody_has_is_asked_back_and_worked_with(asked: Any) -> None:
    said = text_of(asked("D002", age="6", weight="440"))

    assert "Check the weight and its unit: 440 lb, which is 200 kg, came in, and at" in said
    assert "440 lb / 2.2 = 200 kg" in said
    assert "Check the weight" not in text_of(asked("D002"))


def test_what_is_not_rounded_up_says_so(asked: Any) -> None:
    said = text_of(asked("D002", weight="65", pounds="exact", rounding="never up"))

    assert (
        "Draw up 2.9 mL with the 3 mL syringe, marks 0.1 mL apart, never rounded up for a child"
    ) in said


@pytest.mark.parametrize(
    ("code", "given", "fault"),
    [
        ("D002", {"age": ""}, "Age: it is missing; it is a whole number of years or months."),
        ("D002", {"age": "five"}, "Age: &#x27;five&#x27; came in; it is a whole number of years"),
        ("D002", {"weight": "heavy"}, "Weight: &#x27;heavy&#x27; is no number"),
        ("D065", {"age": "40", "area": "much"}, "Burned area: &#x27;much&#x27; is no number"),
        ("D065", {"age": "40", "area": "9", "since": "x"}, "Hours since the injury: &#x27;x&#x27;"),
        ("D002", {"weight": ""}, "Weight: it is missing; it is told in kg or lb, or by a formula"),
        ("D002", {"on": "rig:999"}, "Rig: there is none of that name."),
        ("D002", {"at": "noon"}, "At: &#x27;noon&#x27; came in; it is a time such as 14:05."),
        ("D001", {}, "Age: 5 years came in; the rule is for ages from 14 years."),
        ("D065", {"age": "40", "weight": "176"}, "Area: nothing came in; up to 100 % is accepted."),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_what_does_not_read_is_named(
    asked: Any, code: str, given: dict[str, str], fault: str, headers: dict[str, str]
) -> None:
    response = asked(code, headers, **given)

    assert response.status_code == 422
    assert fault in response.content.decode()
    assert "The working" not in response.content.decode()


def test_a_rule_that_is_given_whole_is_not_worked_out(asked: Any) -> None:
    assert "Worked for a patient" not in asked("D030").content.decode()


def test_nothing_is_worked_out_while_an_assessed_prompt_is_open(
    hire: Person, client_of: ClientOf
) -> None:
    hire.assessed_prompt_until = timezone.now() + timedelta(minutes=10)
    hire.save(update_fields=["assessed_prompt_until"])

    response = client_of(hire).get(reverse("formulary:rule", args=[0, "D002"]), GIVEN)

    assert b"Draw up" not in response.content
    assert response.status_code == 403
    assert b"Worked for a patient" not in response.content


def test_a_syringe_aboard_that_nothing_is_measured_with_is_told(asked: Any) -> None:
    assert "Left out" not in text_of(asked("D002"))


@pytest.mark.parametrize(
    ("left_out", "rows"),
    [
        (("Syringe 50 mL",), [("Left out", "Syringe 50 mL")]),
        (("A", "B"), [("Left out", "A; B")]),
        ((), []),
    ],
)
def test_what_is_left_out_is_a_row_beside_the_draw(
    left_out: tuple[str, ...], rows: list[tuple[str, str]]
) -> None:
    supplies = replace(carrying("1 mg / 1 mL"), left_out=left_out)
    worked = work_out(CHILD, rule("1 mg"), supplies)

    assert [row[:2] for row in left_out_of(worked)] == rows


def test_kilograms_stand_before_pounds(asked: Any) -> None:
    content = asked("D002", weighed="").content.decode()

    assert content.index('<option value="kg"') < content.index('<option value="lb"')
    assert '<option value="kg" selected' not in content


def test_another_strength_aboard_says_that_the_volume_does_not_hold(asked: Any) -> None:
    said = text_of(asked("D002"))

    assert "Also aboard of it Epinephrine 1 mg/mL" in said
    aboard = said.partition("Also aboard of it")[2].partition("The working")[0]
    assert "another strength (1 mg/mL): the volume above does not hold for it" in aboard


def test_what_was_given_so_far_is_told_as_an_amount(asked: Any) -> None:
    """A range is cut to what is left of its most in all, and nobody multiplies its high end."""
    grown = {"age": "40", "weight": "80", "weighed": "kg"}
    five = text_of(asked("D033", before="5", given="2 mg", **grown))
    left = text_of(asked("D033", given="9 mg", **grown))
    wrong = text_of(asked("D033", given="plenty", **grown))

    assert "So far, with this 2.4 to 4 mg of at most 10 mg" in five
    assert "Not given." not in five
    assert "In all at most 10 mg, and 9 mg was given before: 1 mg is left." in left
    assert "0.4 mg, up to 1 mg no more in all" in left
    assert re.search(r"Given so far: \S*plenty", wrong)


def test_a_rule_that_shares_its_total_says_with_which(asked: Any) -> None:
    """Of a rule that shares it with none there is no such line."""
    grown = {"age": "40", "weight": "80", "weighed": "kg"}
    shared = text_of(asked("D014", given="240 mg", **grown))
    alone = text_of(asked("D033", **grown))

    assert "The 3 mg/kg in all counts what was given by D013 (VF or pulseless VT, first)" in shared
    assert "Not given. 280 to 300 mg with this dose, and the rule allows 240 mg in all." in shared
    assert "counts what was given by" not in alone


def test_a_draw_of_a_few_fills_says_how_many(asked: Any) -> None:
    """70 mg/kg of 25 mg/mL is more than any syringe aboard holds at once."""
    said = text_of(asked("D060", weight="10", weighed="kg"))

    assert "mL apart, filled 3 times" in said


def test_a_draw_of_many_fills_is_refused_with_its_arithmetic(asked: Any) -> None:
    """22 kg take seven fillings of 10 mL."""
    said = text_of(asked("D060", weight="22", weighed="kg"))

    assert "61.6 mL takes 7 fillings of the 10 mL syringe, the largest aboard" in said
    assert "1,540 mg / 25 mg/mL = 61.6 mL" in said
    assert "Run it in from the 200 mL that it comes in, as your protocols say." in said
    assert "filled" not in said


def test_what_comes_in_a_syringe_is_given_as_it_comes(asked: Any) -> None:
    """45 kg take 45 mEq of 50 mEq in 50 mL: more than three fillings of 10 mL, and nobody fills
    any."""
    said = text_of(asked("D038", age="13", weight="45", weighed="kg"))

    assert "mL apart, given as it comes" in said
    assert "filled" not in said
    assert "Not drawn" not in said


def test_a_way_out_names_nothing_that_the_rule_does_not(asked: Any) -> None:
    """Under the skin by the vial of 1 mg/mL alone: 0.1 mg/mL is aboard for another rule."""
    said = text_of(asked("D006", age="1 month", weight="4.5", weighed="kg"))

    assert "0.045 mL" in said
    assert "Use what is aboard of" not in said
    assert "the rule does not name it: ask medical direction" in said
    assert "ask medical direction for another presentation" in said


def test_both_limits_that_a_dose_met_are_noted() -> None:
    """12 kg at 0.1 to 0.3 mg/kg, from 1.5 to 2 mg."""
    child = replace(CHILD, weight=read_quantity("12 kg"))
    given = rule("0.1 mg/kg", high="0.3 mg/kg", minimum="1.5 mg", maximum="2 mg")
    worked = work_out(child, given, carrying("1 mg / 1 mL"))

    assert note_of(worked, "dose") == "the minimum applies, the maximum applies"


def test_a_bolus_that_no_pump_runs_says_how_it_runs(asked: Any) -> None:
    """400 mL over five minutes are 4,800 mL/h; the bolus itself is given."""
    said = text_of(asked("D071"))

    assert (
        "Pump not by this 4,800 mL/h is faster than 999 mL/h, the most that a pump is set to."
        in (said)
    )
    assert "Ask medical direction how it is run in." in said
    assert "Not given" not in said


@pytest.mark.parametrize(("weight", "age"), [("4.5", "1 month"), ("8", "8 months"), ("14", "3")])
def test_no_bolus_of_a_child_is_told_wide_open(asked: Any, weight: str, age: str) -> None:
    """90, 160 and 280 mL over five minutes, with no syringe above 20 mL aboard."""
    said = text_of(asked("D071", age=age, weight=weight, weighed="kg"))

    assert "Pump not by this" in said
    assert "wide open" not in said
    assert "pressure bag" not in said
    assert "Ask medical direction how it is run in." in said
