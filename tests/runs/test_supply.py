"""A supply question is worked out in a drill: told, read, judged and explained."""

import json
from dataclasses import replace
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.engine.dosing.oxygen import MINUTES
from drills.engine.exercises import Exercise, Told
from drills.engine.prompts import Prompt
from drills.engine.recipes import SUPPLY
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation, PresentationState
from drills.runs.reports import results_of
from drills.scenarios.models import DrillPrompt, Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_dose import SAFETY, asked, dose_prompt, page, send

pytestmark = pytest.mark.django_db

GIVEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "pressure": "1500 psi",
    "residual": "200 psi",
    "flow": "15 L/min",
}
UNITS = ("min", "h", "L", "mL/h", "gtt/min")
RULE = "(gauge - residual) x 0.16 L/psi / flow"


def supply_prompt(*, is_rule_shown: bool = True, given: dict[str, Any] = GIVEN) -> Prompt:
    """By default 1,300 psi x 0.16 L/psi at 15 L/min: 13.87 min, told as 13 min."""
    task = Exercise(
        kind=SUPPLY,
        topic="oxygen",
        grade=2,
        question="How many minutes does it last?",
        facts=(Told("Gauge", "1,500 psi"), Told("Residual", "200 psi"), Told("Flow", "15 L/min")),
        given=json.dumps(given),
        asked=MINUTES,
        units=UNITS,
        rule=RULE,
        source="A table of cylinders, p. 4",
        subject="Oxygen, rule shown" if is_rule_shown else "Oxygen, from memory",
        is_rule_shown=is_rule_shown,
    )
    return Prompt(
        kind=SUPPLY,
        subject=task.subject,
        name=task.question,
        text="",
        depth="",
        category="",
        critical=True,
        answer=(),
        choices=(),
        chosen="focus",
        exercise=task,
    )


def score_prompt() -> Prompt:
    """A shock index: 100 / 80 = 1.25, of which a number alone is read."""
    made = supply_prompt()
    given = {"kind": "shock_index", "pulse": "100 beats/min", "systolic": "80 mmHg"}
    assert made.exercise is not None
    units = ("mmHg", "mm", "points", "index")
    task = replace(made.exercise, given=json.dumps(given), asked="index", units=units)
    return replace(made, exercise=task)


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def test_tells_what_is_known_and_offers_no_handing_over(
    browser: Client, hire: Person, rig: Rig
) -> None:
    content = page(browser, asked(hire, rig, supply_prompt())).decode()

    for words in ("1,500 psi", "200 psi", "15 L/min", RULE, "A table of cylinders, p. 4", SAFETY):
        assert words in content
    assert 'inputmode="decimal"' in content
    assert [f'value="{unit}"' in content for unit in UNITS] == [True] * len(UNITS)
    assert "hand it over" not in content
    assert "Syringes aboard" not in content


def test_a_unit_is_asked_for_where_one_is_needed(browser: Client, hire: Person, rig: Rig) -> None:
    content = page(browser, asked(hire, rig, supply_prompt())).decode()

    assert '<legend class="cap">Unit</legend>' in content
    assert "data-bare" not in content


def test_of_what_has_no_unit_a_number_alone_is_asked_for(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """An index has none: the page says so, offers none, and its number alone is right."""
    presentation = asked(hire, rig, score_prompt())
    content = page(browser, presentation).decode()
    assert '<span class="cap">Amount: the number asked for, without a unit</span>' in content
    assert 'name="unit"' not in content
    assert "data-amount data-bare" in content
    send(browser, presentation, amount="1.25", unit="")
    assert presentation.outcome == "right"


@pytest.mark.parametrize(("unit", "offered"), [("kg", False), ("dose", True)])
def test_only_what_is_given_can_be_handed_over(
    browser: Client, hire: Person, rig: Rig, unit: str, offered: bool
) -> None:
    """A weight in kilograms is nobody's to hand over."""
    weight = {"kind": "weight", "from": "44 lb"}
    made = dose_prompt(level="paramedic")
    assert made.exercise is not None
    task = replace(made.exercise, given=json.dumps(weight), asked=unit)
    shown = made if offered else replace(made, exercise=task)

    assert (b"hand it over" in page(browser, asked(hire, rig, shown))) is offered


def test_from_memory_no_factor_is_in_the_page(browser: Client, hire: Person, rig: Rig) -> None:
    content = page(browser, asked(hire, rig, supply_prompt(is_rule_shown=False))).decode()

    assert "From memory" in content
    assert "0.16" not in content
    assert "A table of cylinders" not in content


@pytest.mark.parametrize(
    ("amount", "unit", "outcome", "words"),
    [
        ("13", "min", "right", "You said <b>13 min</b>."),
        ("14", "min", "unsafe", "such a figure is rounded down"),
        ("16", "min", "unsafe", "the residual pressure was forgotten"),
        ("130", "min", "unsafe", "ten times too much"),
        ("12", "min", "out of tolerance", "13% too little"),
        ("0.2", "h", "out of tolerance", "13% too little"),
        ("27", "min", "unsafe", "94.7% too much"),
        ("28", "min", "unsafe", "2 times as much as is right"),
    ],
)
def test_judges_and_works_it_in_steps(
    browser: Client, hire: Person, rig: Rig, amount: str, unit: str, outcome: str, words: str
) -> None:
    """Minutes rounded up are unsafe however near they are."""
    presentation = asked(hire, rig, supply_prompt())

    content = send(browser, presentation, amount=amount, unit=unit).content.decode()

    assert presentation.outcome == outcome
    assert words in content
    assert "1,300 psi x 0.16 L/psi = 208 L" in content
    assert SAFETY in content
    evidence = Evidence.objects.get()
    assert (evidence.outcome, evidence.kind) == (outcome, SUPPLY)
    assert evidence.fact.skill == "supply Oxygen, rule shown"


def test_the_residual_that_was_forgotten_is_named_with_the_line_that_puts_it_right(
    browser: Client, hire: Person, rig: Rig
) -> None:
    content = send(browser, asked(hire, rig, supply_prompt()), amount="16", unit="min")

    told = content.content.decode()
    assert "Named slip: the residual pressure was forgotten" in told
    assert "Right: 1,500 psi - 200 psi = 1,300 psi." in " ".join(told.replace("</b>", "").split())


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (
            {"amount": "13", "unit": "L"},
            "that the question asks for: it asks for an amount in min or h.",
        ),
        ({"amount": "13", "unit": "mL/h"}, "is not the kind of amount that the question asks for"),
        (
            {"amount": "1..3", "unit": "min"},
            "is no number; 1000, 1,000, 1.5 and 0,5 are.</p>",
        ),
        ({"amount": "13", "unit": ""}, "came in without a unit"),
        ({"amount": "", "unit": "min"}, "came in without a number"),
        ({"hand_over": "1"}, "is no number; 1000, 1,000"),
    ],
)
def test_what_cannot_be_read_is_asked_again_and_never_judged(
    browser: Client, hire: Person, rig: Rig, body: dict[str, str], said: str
) -> None:
    """A flow or litres where minutes were asked for are no wrong answer."""
    presentation = asked(hire, rig, supply_prompt())

    response = send(browser, presentation, **body)

    assert response.status_code == 422
    assert said in response.content.decode()
    assert presentation.state == PresentationState.OPEN
    assert not Evidence.objects.exists()


def test_a_number_typed_with_its_unit_needs_no_choice(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, supply_prompt())

    send(browser, presentation, amount="13min")

    assert (presentation.outcome, presentation.answer) == ("right", ["13min"])


def test_an_unsafe_supply_counts_for_a_standard(browser: Client, hire: Person, rig: Rig) -> None:
    presentation = asked(hire, rig, supply_prompt())
    send(browser, presentation, amount="14", unit="min")

    assert results_of([presentation.run])[presentation.run_id].unsafe == 1


def test_the_debrief_tells_what_was_asked_told_and_worked(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, supply_prompt())
    while presentation.state == PresentationState.OPEN:
        send(browser, presentation, amount="16", unit="min")
        browser.post(reverse("runs:proceed", args=[presentation.run_id]))
        presentation = presentation.run.presentations.order_by("order").last() or presentation

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    assert "1 wrong: unsafe" in content
    assert "What was asked and told" in content
    assert "1,500 psi" in content
    assert "Named slip: the residual pressure was forgotten" in content
    assert "208 L / 15 L/min" in content
    assert "The call" not in content
    assert SAFETY in content


def test_the_debrief_has_what_was_written_each_time(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """The first answer, each that was given when it was asked again, and what each came to."""
    presentation = asked(hire, rig, supply_prompt())
    answers: list[dict[str, str]] = [
        {"amount": "60", "unit": "min"},
        {"unknown": "1"},
        {"amount": "13", "unit": "min"},
    ]
    for given in answers:
        send(browser, presentation, **given)
        browser.post(reverse("runs:proceed", args=[presentation.run_id]))
        presentation = presentation.run.presentations.order_by("order").last() or presentation

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    assert "You said <b>60 min</b>" in content
    assert "Asked again: wrong, then 13 min (right)." in content


def test_how_a_right_number_was_written_is_told_in_the_debrief_too(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """An assessed run tells nothing before it, and what is right is no miss."""
    presentation = asked(hire, rig, supply_prompt(), Mode.ASSESSED)
    send(browser, presentation, amount="13.0", unit="min")

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    assert presentation.outcome == "right"
    assert "Written: a zero that ends the number: write 1, never 1.0" in content


def marked(presentation: Presentation, *, marks_writing: bool) -> Presentation:
    drill = presentation.run.drill
    drill.marks_writing = marks_writing
    drill.save()
    return presentation


@pytest.mark.parametrize(
    ("marks_writing", "amount", "outcome", "marks", "words"),
    [
        (False, "13.0", "right", 100, "Taught here, and not marked."),
        (True, "13.0", "partly", 50, "how it was written took half the marks"),
        (True, "13", "right", 100, ""),
        (True, "16.0", "unsafe", 0, "Writing is marked in this drill."),
    ],
)
def test_how_it_is_written_is_taught_and_marked_where_the_drill_says_so(
    browser: Client,
    hire: Person,
    rig: Rig,
    marks_writing: bool,
    amount: str,
    outcome: str,
    marks: int,
    words: str,
) -> None:
    presentation = marked(asked(hire, rig, supply_prompt()), marks_writing=marks_writing)

    content = send(browser, presentation, amount=amount, unit="min").content.decode()

    assert (presentation.outcome, presentation.marks) == (outcome, marks)
    assert words in content
    assert ("write 1, never 1.0" in content) is ("." in amount)


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
def test_a_missing_comma_never_takes_marks(
    browser: Client, hire: Person, rig: Rig, headers: dict[str, str]
) -> None:
    """The number pad of some phones has none. A bank of that size is made up: 1,884 min."""
    given = GIVEN | {"factor": "3.14 L/psi", "pressure": "2,000 psi", "residual": "200 psi"}
    given |= {"flow": "3 lpm"}
    presentation = marked(asked(hire, rig, supply_prompt(given=given)), marks_writing=True)

    url = reverse("runs:answer", args=[presentation.run_id])
    body = {"token": presentation.token, "amount": "1884", "unit": "min"}
    content = browser.post(url, body, headers=headers, follow=True).content.decode()
    presentation.refresh_from_db()

    assert presentation.outcome == "right"
    assert "write 1,000 and above with one" in content


def test_a_prompt_kept_before_figures_were_shows_the_same(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, dose_prompt())
    prompt = presentation.prompt
    assert prompt is not None
    before = {name: said for name, said in prompt.shown.items() if name not in {"facts", "units"}}
    DrillPrompt.objects.filter(pk=prompt.pk).update(shown=before)

    content = page(browser, presentation).decode()

    for words in ("44 lb", "Testamine 10 mg / 5 mL", "0.1 mg/kg, at most 3 mg", 'value="mcg"'):
        assert words in content
