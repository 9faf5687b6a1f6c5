"""What is chosen in groups: the page, the mark, and what is told of it."""

from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.engine.calls import Call, Patient
from drills.engine.choosing import FIRST, ONE, Choice, Choosing, Group
from drills.engine.incidents.first import REASONS, RULE, SOURCE
from drills.engine.prompts import Prompt
from drills.engine.recipes import TRIAGE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation, PresentationState
from drills.scenarios.models import Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_dose import asked, page, send

pytestmark = pytest.mark.django_db

SAFETY = "Training only. Follow your local protocols and medical direction."


def patient(number: int, who: str, findings: str) -> Patient:
    return Patient(number, "limb-bleed", 3, "adult", "adult", 30, True, "70 kg", who, findings, ())


def first_prompt() -> Prompt:
    """Two patients: the second has no pulse at the wrist."""
    told = (
        (1, "30-year-old woman", "Grazed arm. Gets up and walks when called"),
        (2, "41-year-old man", "Thigh laid open. No pulse at the wrist"),
    )
    who = Group(
        "who",
        "Who comes first?",
        ONE,
        tuple(Choice(str(number), f"{number}. {words}") for number, words, _ in told),
        right=("2",),
    )
    why = Group(
        "why",
        "Why?",
        ONE,
        tuple(Choice(key, words) for key, words in REASONS.items()),
        by=(("who:2", ("circulation",)),),
        decides=False,
    )
    return Prompt(
        kind=TRIAGE,
        subject="who first",
        name="Who comes first, and why?",
        text="Too few to sort: nobody gets a category.",
        chosen="focus",
        call=Call(
            "crash", "Crash", "Two hurt at Tea Chest.", tuple(patient(*each) for each in told), ()
        ),
        choosing=Choosing(FIRST, (who, why), RULE, SOURCE, told, ("Patient 1: none of these.",)),
    )


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


@pytest.fixture
def choosing(hire: Person, rig: Rig) -> Presentation:
    return asked(hire, rig, first_prompt())


def chosen(presentation: Presentation, who: str, why: str) -> dict[str, str]:
    token = presentation.run.token_for
    return {"c-who": token(f"who:{who}"), "c-why": token(f"why:{why}")}


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_shows_everybody_as_found_and_every_reason(
    browser: Client, choosing: Presentation, headers: dict[str, str]
) -> None:
    content = unescape(page(browser, choosing, headers=headers).decode())

    assert "Thigh laid open. No pulse at the wrist" in content
    assert "2. 41-year-old man" in content
    for words in REASONS.values():
        assert words in content
    assert SAFETY in content
    assert RULE not in content
    assert "Your time is shown afterwards and not judged." in content
    assert not choosing.limit_seconds


@pytest.mark.parametrize(
    ("who", "why", "outcome", "marks"),
    [
        ("2", "circulation", "right", 100),
        ("2", "mind", "partly", 50),
        ("1", "circulation", "wrong", 0),
    ],
)
def test_a_right_patient_for_another_reason_is_half(
    browser: Client, choosing: Presentation, who: str, why: str, outcome: str, marks: int
) -> None:
    told = unescape(send(browser, choosing, **chosen(choosing, who, why)).content.decode())

    assert (choosing.outcome, choosing.marks) == (outcome, marks)
    assert ("Right: <b>2. 41-year-old man</b>" in told) == (who == "1")
    assert (f"Right: <b>{REASONS['circulation']}</b>" in told) == (why == "mind")
    assert RULE in told
    assert SOURCE in told
    assert "Patient 1: none of these." in told
    assert SAFETY in told
    evidence = Evidence.objects.get()
    assert (evidence.outcome, evidence.fact.skill) == (outcome, "triage who first")


def test_who_does_not_know_is_told(browser: Client, choosing: Presentation) -> None:
    told = unescape(send(browser, choosing, unknown="1").content.decode())

    assert choosing.outcome == "wrong"
    assert "You did not know." in told
    assert "Right: <b>2. 41-year-old man</b>" in told


def test_half_an_answer_and_what_is_not_on_the_page_are_refused(
    browser: Client, choosing: Presentation
) -> None:
    whole = chosen(choosing, "2", "circulation")
    for body, words in (
        ({"c-who": whole["c-who"]}, "Why? 0 came in; one is accepted."),
        ({"c-why": whole["c-why"]}, "Who comes first? 0 came in; one is accepted."),
        (whole | {"c-who": "0" * 20}, "1 choices came in that are not on this page."),
    ):
        response = send(browser, choosing, **body)

        assert response.status_code == 422
        assert words in unescape(response.content.decode())
        assert choosing.state == PresentationState.OPEN


def test_the_debrief_tells_it_with_its_rule_and_counts_it_in_no_category(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, first_prompt(), Mode.ASSESSED)
    send(browser, presentation, **chosen(presentation, "1", "mind"))

    url = reverse("runs:debrief", args=[presentation.run_id])
    content = unescape(browser.get(url).content.decode())

    assert "Right: <b>2. 41-year-old man</b>" in content
    assert RULE in content
    assert "over-triage" not in content
