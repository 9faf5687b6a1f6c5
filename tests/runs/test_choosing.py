"""What is chosen in groups: the page, the mark, and what is told of it."""

import re
from dataclasses import replace
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.boards.skills import skill_parts
from drills.competency.models import Evidence
from drills.engine.calls import Call, Patient
from drills.engine.choosing import FIRST, ONE, Choice, Choosing, Group
from drills.engine.facts import SKILL, Fact
from drills.engine.incidents.allocating import Triaged, who_gets
from drills.engine.incidents.first import REASONS, RULE, SOURCE
from drills.engine.incidents.tables import SCARCE
from drills.engine.prompts import Prompt
from drills.engine.recipes import ALLOCATE, TRIAGE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation, PresentationState
from drills.scenarios.models import Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_dose import asked, page, send

pytestmark = pytest.mark.django_db

OUTLETS = SCARCE[0]
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
        ({"c-who": whole["c-who"]}, "Why? Nothing was chosen; one is accepted."),
        ({"c-why": whole["c-why"]}, "Who comes first? Nothing was chosen; one is accepted."),
        (whole | {"c-who": "0" * 20}, "Not on this page, and not accepted: 1 of what came in."),
    ):
        response = send(browser, choosing, **body)

        assert response.status_code == 422
        assert words in unescape(response.content.decode())
        assert choosing.state == PresentationState.OPEN


def test_what_was_chosen_stays_chosen_after_a_refusal(
    browser: Client, choosing: Presentation
) -> None:
    who = chosen(choosing, "2", "circulation")["c-who"]

    content = send(browser, choosing, **{"c-who": who}).content.decode()

    assert re.findall(r'value="([^"]*)" checked', content) == [who]


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


def allocate_prompt() -> Prompt:
    """Four patients and two outlets: two immediate are owed them."""
    people = tuple(
        Triaged(number, "man", "Hurt", word, urgency, frozenset({OUTLETS.key} if needs else ()))
        for number, word, urgency, needs in (
            (1, "Immediate (red)", 1, True),
            (2, "Delayed (yellow)", 2, True),
            (3, "Immediate (red)", 1, True),
            (4, "Minor (green)", 3, False),
        )
    )
    return replace(
        first_prompt(),
        kind=ALLOCATE,
        subject=OUTLETS.key,
        name=OUTLETS.asks,
        text="Oxygen outlets in the rig: 2.",
        choosing=who_gets(people, OUTLETS, 2),
    )


def given(presentation: Presentation, *numbers: int) -> dict[str, Any]:
    return {"c-who": [presentation.run.token_for(f"who:{each}") for each in numbers]}


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_who_gets_it_is_ticked_from_everybody(
    browser: Client, hire: Person, rig: Rig, headers: dict[str, str]
) -> None:
    giving = asked(hire, rig, allocate_prompt())

    content = unescape(page(browser, giving, headers=headers).decode())

    assert content.count('type="checkbox" name="c-who"') == 4
    assert "at most 2" in content
    assert "and everybody as found" in content
    assert RULE not in content
    assert SAFETY in content


@pytest.mark.parametrize(
    ("numbers", "outcome", "words"),
    [
        ((1, 3), "right", "Patient 1:"),
        ((1, 2), "wrong", "You missed: <b>3. Man</b>."),
        ((1,), "wrong", "You missed: <b>3. Man</b>."),
        ((3, 4), "wrong", "Not wanted: <b>4. Man</b>."),
    ],
)
def test_who_is_owed_it_and_goes_without_is_told(
    browser: Client,
    hire: Person,
    rig: Rig,
    numbers: tuple[int, ...],
    outcome: str,
    words: str,
) -> None:
    giving = asked(hire, rig, allocate_prompt())

    told = unescape(send(browser, giving, **given(giving, *numbers)).content.decode())

    assert giving.outcome == outcome
    assert words in told
    assert "the most urgent category first" in told
    assert "ours, no source" in told
    fact = Evidence.objects.get().fact
    assert fact.skill == "allocate outlets"
    assert skill_parts(Fact(SKILL, fact.skill, ""), {}) == (
        "Allocate: oxygen outlets in the rig",
        "",
    )


def test_more_than_the_rig_has_is_refused(browser: Client, hire: Person, rig: Rig) -> None:
    giving = asked(hire, rig, allocate_prompt())

    response = send(browser, giving, **given(giving, 1, 2, 3))

    assert response.status_code == 422
    assert "Who? 3 came in; at most 2 are accepted." in response.content.decode()
    assert giving.state == PresentationState.OPEN


def test_who_would_have_been_as_right_is_told(browser: Client, hire: Person, rig: Rig) -> None:
    people = tuple(
        Triaged(number, "man", "Hurt", "", 1, frozenset({OUTLETS.key})) for number in (1, 2, 3)
    )
    tied = replace(allocate_prompt(), choosing=who_gets(people, OUTLETS, 2))
    giving = asked(hire, rig, tied)

    told = unescape(send(browser, giving, **given(giving, 1, 3)).content.decode())

    assert giving.outcome == "right"
    assert "As right: 2. Man." in told


def test_who_gave_it_to_nobody_of_several_is_told_whom_it_is_for(
    browser: Client, hire: Person, rig: Rig
) -> None:
    people = tuple(
        Triaged(number, "man", "Hurt", "", urgency, frozenset({OUTLETS.key}))
        for number, urgency in ((1, 2), (2, 2), (3, 1), (4, 3))
    )
    giving = asked(hire, rig, replace(allocate_prompt(), choosing=who_gets(people, OUTLETS, 2)))

    told = unescape(send(browser, giving, **given(giving, 4)).content.decode())

    assert giving.outcome == "wrong"
    assert "Not wanted: <b>4. Man</b>." in told
    assert "Right: 3. Man; and any 1 of 1. Man; 2. Man." in told


def test_a_crew_is_asked_whom_it_stays_with_and_what_is_quick(
    browser: Client, hire: Person, rig: Rig
) -> None:
    hands = next(each for each in SCARCE if each.people)
    people = tuple(
        Triaged(number, "man", f"Found so {number}", "", 1, frozenset({hands.key}), ("mind",))
        for number in (1, 2, 3)
    )
    giving = asked(
        hire,
        rig,
        replace(
            allocate_prompt(),
            subject=hands.key,
            name=hands.asks,
            choosing=who_gets(people, hands, 2),
        ),
    )

    content = unescape(page(browser, giving).decode())
    told = unescape(send(browser, giving, **given(giving, 1, 3)).content.decode())

    assert content.count('type="checkbox" name="c-quick"') == 3
    assert '<small class="cap">Found so 2.</small>' in content
    assert giving.outcome == "right"
    assert "Nothing is needed." in told
    assert "Would have cost nothing: 1. Man; 2. Man; 3. Man." in told
    assert "turn them on the side" in told
