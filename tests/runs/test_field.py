"""An injured patient by the field criteria: the page, the mark, the evidence, what is told."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from drills.boards.skills import skill_parts
from drills.competency.models import Evidence
from drills.engine.chance import seeded
from drills.engine.facts import SKILL, Fact
from drills.engine.fieldplan import field_prompts
from drills.engine.injured.asking import RULE, TEXT, asked_of
from drills.engine.injured.making import RED, draw_injured
from drills.engine.injured.tables import CRITERIA
from drills.engine.prompts import Prompt
from drills.engine.recipes import FIELD, TRIAGE, RecipeSpec
from drills.engine.triage.measures import OVER, UNDER
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.access import forget_drills
from drills.runs.actions.serving import slots_of
from drills.runs.models import Presentation, PresentationState, Run
from drills.runs.served import record_of
from drills.scenarios.models import DrillPrompt, Mode, Recipe
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_dose import asked, page, send
from tests.runs.test_triage import added, triage_prompt, value_of

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[2] / "fixtures"
SAFETY = "Training only. Follow your local protocols and medical direction."


def field_prompt(category: str = RED, met: str = "fast breathing") -> Prompt:
    """A patient of a category who meets one criterion alone, or none."""
    random = seeded("one of a category")
    while True:
        patient = draw_injured(random, difficulty=2)
        if (patient.category, patient.met) == (category, (met,) if met else ()):
            break
    (plain,) = field_prompts(RecipeSpec("one", ((FIELD, 1),)), 1, 1, chosen="focus")
    name = f"{patient.who.capitalize()}: high risk, moderate risk, or neither?"
    return replace(plain, name=name, choosing=asked_of(patient))


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


@pytest.fixture
def taking(hire: Person, rig: Rig) -> Presentation:
    """A run of one patient of high risk by their breathing, in front of the person."""
    return asked(hire, rig, field_prompt())


def chosen(presentation: Presentation, risk: str = "", criterion: str = "") -> dict[str, Any]:
    """What the page sends for a risk and a criterion; nothing of what is empty."""
    token = presentation.run.token_for
    said = {"risk": risk, "criterion": criterion}
    return {f"c-{group}": token(f"{group}:{key}") for group, key in said.items() if key}


def told(browser: Client, presentation: Presentation) -> str:
    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", "", content)))


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_shows_the_patient_the_signs_and_the_whole_list(
    browser: Client, taking: Presentation, headers: dict[str, str]
) -> None:
    content = unescape(page(browser, taking, headers=headers).decode())
    prompt = taking.prompt
    assert prompt is not None

    for words in (prompt.name, TEXT, prompt.shown["dispatch"], SAFETY):
        assert words in content
    (patient,) = prompt.shown["patients"]
    assert f"{patient['findings']}." in content
    assert ", ".join(patient["signs"]) in content
    assert content.count('name="c-risk"') == 3
    assert content.count('name="c-criterion"') == len(CRITERIA) + 1
    assert all(each.label in content for each in CRITERIA)
    assert "over-triage" not in content
    assert "hand it over" not in content


@pytest.mark.parametrize(
    ("risk", "criterion", "outcome", "near"),
    [
        ("red", "fast breathing", "right", ""),
        ("red", "slow breathing", "partly", ""),
        ("red", "none", "partly", ""),
        ("yellow", "fast breathing", "wrong", UNDER),
        ("neither", "none", "wrong", UNDER),
    ],
)
def test_the_risk_decides_and_a_criterion_that_is_not_met_takes_from_the_marks(
    browser: Client, taking: Presentation, risk: str, criterion: str, outcome: str, near: str
) -> None:
    send(browser, taking, **chosen(taking, risk, criterion))

    taking.refresh_from_db()
    assert (taking.state, taking.outcome, taking.near) == (
        PresentationState.ANSWERED,
        outcome,
        near,
    )


def test_a_patient_of_neither_who_is_put_higher_is_over_triage(
    browser: Client, hire: Person, rig: Rig
) -> None:
    taking = asked(hire, rig, field_prompt("neither", ""))

    send(browser, taking, **chosen(taking, "yellow", "fall"))

    taking.refresh_from_db()
    assert (taking.outcome, taking.near) == ("wrong", OVER)


def test_an_answer_is_evidence_on_the_skill_and_on_nothing_else(
    browser: Client, taking: Presentation
) -> None:
    send(browser, taking, **chosen(taking, "red", "slow breathing"))

    (evidence,) = Evidence.objects.all()
    found = (evidence.fact.skill, evidence.kind, evidence.outcome)
    assert found == (f"triage {FIELD}", TRIAGE, "partly")
    assert evidence.choices_offered == 3 + len(CRITERIA) + 1
    assert skill_parts(Fact(SKILL, evidence.fact.skill, ""), {}) == (
        "Triage: the field criteria of 2021",
        "",
    )


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_a_risk_without_a_criterion_is_asked_again_in_words_that_tell_nothing(
    browser: Client, taking: Presentation, headers: dict[str, str]
) -> None:
    response = send(browser, taking, headers=headers, **chosen(taking, "red"))

    assert response.status_code == 422
    assert "By which criterion? Nothing was chosen; one is accepted." in response.content.decode()
    taking.refresh_from_db()
    assert taking.state == PresentationState.OPEN


def test_practice_tells_at_once_to_which_side_it_erred_and_by_which_rule(
    browser: Client, taking: Presentation
) -> None:
    send(browser, taking, **chosen(taking, "neither", "none"))

    content = unescape(page(browser, taking).decode())
    assert "You said <b>No criterion met</b>: under-triage." in content
    assert "A critical error:" in content
    assert "<b>Breathing over 29 a minute</b>" in content
    assert "High risk (red): Breathes" in content
    assert RULE in content


def test_the_debrief_has_the_patient_the_measures_and_the_source(
    browser: Client, hire: Person, rig: Rig
) -> None:
    taking = asked(hire, rig, field_prompt(), Mode.ASSESSED)
    send(browser, taking, **chosen(taking, "yellow", "fall"))

    words = told(browser, taking)

    assert taking.prompt is not None
    assert "The patient" in words
    assert taking.prompt.shown["dispatch"] in words
    assert "Where to take them first answers" in words
    assert "Of 1 patient: 0 right, 0 over-triage, 1 under-triage." in words
    assert "of 1 at high risk 1 was not put there; of 0 others 0 were." in words
    assert "By National guideline for the field triage of injured patients, 2021." in words


def test_what_is_worded_from_memory_is_told_so(browser: Client, hire: Person, rig: Rig) -> None:
    taking = asked(hire, rig, field_prompt("yellow", "pregnancy"), Mode.ASSESSED)

    send(browser, taking, **chosen(taking, "yellow", "fall"))

    assert "(worded from memory, to be checked)" in told(browser, taking)


def test_a_run_that_sorts_by_start_as_well_counts_each_by_its_own(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """Categories of two guidelines never stand in one table."""
    taking = asked(hire, rig, field_prompt(), Mode.ASSESSED)
    added(taking, triage_prompt(), 1)
    send(browser, taking, **chosen(taking, "red", "fast breathing"))
    other = page_of_next(browser, taking)
    send(browser, other, category=value_of(other, "minor"))

    words = told(browser, taking)

    assert "Of 1 patient: 1 right, 0 over-triage, 0 under-triage." in words
    assert "Of 1 patient: 0 right, 0 over-triage, 1 under-triage, 1 critical." in words


def page_of_next(browser: Client, presentation: Presentation) -> Presentation:
    """The prompt that comes after an assessed one."""
    browser.post(reverse("runs:proceed", args=[presentation.run_id]))
    return Presentation.objects.get(run=presentation.run, state=PresentationState.OPEN)


def test_a_patient_who_falls_out_is_replaced_by_one_of_the_same_guideline(
    hire: Person, rig: Rig
) -> None:
    """Not by somebody to be sorted at an incident, though both are triage."""
    taking = asked(hire, rig, field_prompt())
    for position, made in enumerate((triage_prompt(), field_prompt()), 1):
        kept = DrillPrompt.from_engine(
            made, drill=taking.run.drill, position=position, is_spare=True
        )
        kept.save()
    forget_drills()

    run = Run.objects.get(pk=taking.run_id)
    assert [slot.kind for slot in slots_of(run, record_of(run))] == [FIELD, "triage", FIELD]


def test_a_stranger_sees_nothing_of_it(
    client_of: ClientOf, outsider: Person, taking: Presentation
) -> None:
    response = client_of(outsider).get(reverse("runs:take", args=[taking.run_id]))

    assert response.status_code == 404


def test_the_recipe_of_the_reference_data_is_named_and_asks_eight(
    browser: Client,
) -> None:
    call_command("loaddata", FIXTURES / "recipes.json", verbosity=0)
    recipe = Recipe.objects.get(slug="where-to-take")

    content = browser.get(reverse("scenarios:recipe", args=[recipe.slug])).content.decode()

    assert recipe.name == "Where to take the injured: the criteria of 2021"
    assert "<b>field triage</b></td><td>8</td>" in content
    assert "Told beside: what looks grave and meets no criterion" in content
