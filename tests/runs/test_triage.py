"""Patients are sorted in a drill: the page, the mark, the way through the chart, the counts."""

import re
from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.engine.calls import Call, Patient
from drills.engine.incidents.asking import TriagePrompt, choices_of, counts_asked
from drills.engine.prompts import Prompt
from drills.engine.recipes import TRIAGE
from drills.engine.triage import START_FAMILY
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.access import forget_drills
from drills.runs.models import Presentation, PresentationState
from drills.scenarios.models import DrillPrompt, Mode
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.test_dose import asked, page, send

pytestmark = pytest.mark.django_db

FINDINGS = "Skull dented. Does not get up when called. Breathes 31 a minute, easily"
PATH = ("Does not walk.", "Breathes.", "Breathes 31 a minute: over 30.", "Immediate (red).")


def triage_prompt() -> Prompt:
    """An adult who breathes 31 a minute: immediate by START."""
    patient = Patient(
        1, "head", 3, "adult", "adult", 30, True, "70 kg", "30-year-old woman", "", ()
    )
    sort = TriagePrompt(
        number=1,
        scheme="START",
        who=patient.who,
        seen="Skull dented.",
        told=("Does not get up when called.", "Breathes 31 a minute, easily."),
        says="START, perfusion by the pulse at the wrist.",
        family=START_FAMILY,
        choices=choices_of(START_FAMILY),
        answer="immediate",
        path=PATH,
        sources=("A text of 1983",),
    )
    return Prompt(
        kind=TRIAGE,
        subject=sort.scheme,
        name="Patient 1, 30-year-old woman: which category?",
        text=sort.says,
        depth="",
        category="",
        critical=True,
        answer=(),
        choices=(),
        chosen="focus",
        call=Call("crash", "Crash", "Six hurt at Tea Chest.", (patient,), ()),
        triage=sort,
    )


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


@pytest.fixture
def sorting(hire: Person, rig: Rig) -> Presentation:
    """A run of one patient to be sorted, in front of the person."""
    return asked(hire, rig, triage_prompt())


def value_of(presentation: Presentation, category: str) -> str:
    """What the page of the run sends for a category."""
    return presentation.run.token_for(category)


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_shows_what_is_found_and_every_category_in_words(
    browser: Client, sorting: Presentation, headers: dict[str, str]
) -> None:
    content = page(browser, sorting, headers=headers).decode()

    assert FINDINGS in content
    assert "START, perfusion by the pulse at the wrist." in content
    for key, word, colour in (
        ("immediate", "Immediate", "red"),
        ("delayed", "Delayed", "yellow"),
        ("minor", "Minor", "green"),
        ("deceased", "Deceased", "black"),
    ):
        assert f'value="{value_of(sorting, key)}"' in content
        assert f"<b>{word}</b> <small>{colour}</small>" in content
    assert "over 30" not in content
    assert "hand it over" not in content


@pytest.mark.parametrize(("mode", "taps"), [(Mode.PRACTICE, True), (Mode.ASSESSED, False)])
def test_in_practice_a_tap_sends_and_when_assessed_it_is_chosen_first(
    browser: Client, hire: Person, rig: Rig, mode: Mode, *, taps: bool
) -> None:
    """So that many are sorted quickly where a miss comes back; nothing slips where it counts."""
    sorting = asked(hire, rig, triage_prompt(), mode)

    content = page(browser, sorting).decode()

    for key in ("immediate", "delayed", "minor", "deceased"):
        sends = f'<button class="sort" name="category" value="{value_of(sorting, key)}">'
        chooses = f'<input type="radio" name="category" value="{value_of(sorting, key)}">'
        assert (sends in content, chooses in content) == (taps, not taps)
    assert ("One tap sends it." in content) == taps


@pytest.mark.parametrize(("mode", "taps"), [(Mode.PRACTICE, True), (Mode.ASSESSED, False)])
def test_the_brief_of_sorting_says_how_it_is_sent_and_nothing_of_finding(
    browser: Client, hire: Person, rig: Rig, mode: Mode, *, taps: bool
) -> None:
    run = asked(hire, rig, triage_prompt(), mode).run
    run.presentations.all().delete()

    content = browser.get(reverse("runs:take", args=[run.pk])).content.decode()

    assert ("A category is sent by one tap." in content) == taps
    assert "not judged." in content
    for words in ("every thing to find", "No limit on a thing", "By keyboard", "Late counts"):
        assert words not in content


@pytest.mark.parametrize(
    ("category", "outcome", "near", "words"),
    [
        ("immediate", "right", "", "Breathes 31 a minute: over 30."),
        ("delayed", "wrong", "under-triage", "You said <b>Delayed (yellow)</b>: under-triage."),
        ("minor", "wrong", "under-triage", "A critical error:"),
        ("deceased", "wrong", "under-triage", "A critical error:"),
    ],
)
def test_judges_by_the_order_of_urgency_and_tells_the_way(
    browser: Client,
    sorting: Presentation,
    category: str,
    outcome: str,
    near: str,
    words: str,
) -> None:
    response = send(browser, sorting, category=value_of(sorting, category))

    told = response.content.decode()
    assert (sorting.outcome, sorting.near) == (outcome, near)
    assert words in told
    assert "By START, perfusion by the pulse at the wrist. Source: A text of 1983." in told
    assert "Immediate (red)" in told
    assert (category in ("minor", "deceased")) == ("A critical error:" in told)
    evidence = Evidence.objects.get()
    assert (evidence.outcome, evidence.kind) == (outcome, TRIAGE)
    assert evidence.fact.skill == "triage START"


def test_who_does_not_know_is_told(browser: Client, sorting: Presentation) -> None:
    told = send(browser, sorting, unknown="1").content.decode()

    assert (sorting.outcome, sorting.near) == ("wrong", "")
    assert "You did not know." in told
    assert "Immediate (red)" in told


def test_two_categories_or_none_of_the_page_are_refused(
    browser: Client, sorting: Presentation
) -> None:
    url = reverse("runs:answer", args=[sorting.run_id])
    two = [value_of(sorting, each) for each in ("minor", "delayed")]
    for values, words in (
        (two, "2 categories came in; one is accepted."),
        (["0" * 20], "Not on this page, and not accepted: 1 of what came in."),
        (
            [value_of(sorting, "expectant")],
            "Not on this page, and not accepted: 1 of what came in.",
        ),
    ):
        response = browser.post(url, {"token": sorting.token, "category": values})
        sorting.refresh_from_db()

        assert response.status_code == 422
        assert words in response.content.decode()
        assert sorting.state == PresentationState.OPEN


def test_has_no_limit_and_no_warm_up(sorting: Presentation) -> None:
    assert sorting.limit_seconds is None
    assert not sorting.is_warm_up


def test_the_debrief_counts_the_errors_and_each_category(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, triage_prompt(), Mode.ASSESSED)
    send(browser, presentation, category=value_of(presentation, "minor"))

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    counted = "Of 1 patient: 0 right, 0 over-triage, 1 under-triage"
    assert counted in content
    assert "1 critical" in content
    assert "You said <b>Minor (green)</b>" in content
    assert 'Right: <b class="answer">Immediate (red)</b>' in content
    assert "By START, perfusion by the pulse at the wrist. Source: A text of 1983." in content
    assert FINDINGS in content


def counts_prompt() -> Prompt:
    """How many of each: one immediate, whatever the person put them in."""
    one = triage_prompt()
    assert one.triage is not None
    return replace(
        one,
        subject="how many",
        name="How many of each category, of the 1 you sorted?",
        text="For the report from the scene.",
        triage=None,
        choosing=counts_asked([one.triage]),
    )


def added(presentation: Presentation, prompt: Prompt, position: int) -> None:
    """One more prompt of the drill, after what it has."""
    DrillPrompt.from_engine(
        prompt, drill=presentation.run.drill, position=position, is_spare=False
    ).save()
    forget_drills()


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["plain", "htmx"])
def test_counts_are_asked_for_each_category_by_word_and_colour(
    browser: Client, hire: Person, rig: Rig, headers: dict[str, str]
) -> None:
    counting = asked(hire, rig, counts_prompt())

    content = page(browser, counting, headers=headers).decode()

    token = counting.run.token_for
    for key, word, colour in (("immediate", "Immediate", "red"), ("deceased", "Deceased", "black")):
        assert f'name="n-{token(f"counts:{key}")}"' in content
        assert f"<b>{word}</b> <small>{colour}</small>" in content
    assert "and everybody as found" in content
    assert FINDINGS in content
    assert "over 30" not in content


@pytest.mark.parametrize(
    ("said", "outcome"),
    [
        ({"immediate": "1"}, "right"),
        ({"immediate": "1", "minor": "0", "deceased": ""}, "right"),
        ({"delayed": "1"}, "wrong"),
        ({"immediate": "2"}, "wrong"),
        ({"immediate": "1", "delayed": "1"}, "wrong"),
    ],
)
def test_every_count_has_to_be_that_of_the_patients(
    browser: Client, hire: Person, rig: Rig, said: dict[str, str], outcome: str
) -> None:
    counting = asked(hire, rig, counts_prompt())
    token = counting.run.token_for
    body = {f"n-{token(f'counts:{key}')}": count for key, count in said.items()}

    told = send(browser, counting, **body).content.decode()

    assert counting.outcome == outcome
    assert "There are</th>" in told
    assert "You said</th>" in told
    assert "whatever you put them in" in told


def test_a_count_that_is_no_number_is_refused(browser: Client, hire: Person, rig: Rig) -> None:
    counting = asked(hire, rig, counts_prompt())

    response = send(browser, counting, **{f"n-{counting.run.token_for('counts:minor')}": "two"})

    assert response.status_code == 422
    assert counting.state == PresentationState.OPEN


def test_the_debrief_lays_the_counts_beside_what_there_is_and_tells_the_second_look_apart(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """Put in minor, counted as minor: the one immediate stands in the first column alone."""
    first = asked(hire, rig, triage_prompt(), Mode.ASSESSED)
    one = triage_prompt()
    assert one.triage is not None
    later = replace(one, triage=replace(one.triage, look=2))
    added(first, counts_prompt(), 1)
    added(first, later, 2)
    token = first.run.token_for
    bodies: list[dict[str, str]] = [
        {"category": token("minor")},
        {f"n-{token('counts:minor')}": "1"},
        {"category": token("immediate")},
    ]
    for body in bodies:
        send(browser, first.run.presentations.get(state=PresentationState.OPEN), **body)
        browser.post(reverse("runs:proceed", args=[first.run_id]))

    content = browser.get(reverse("runs:debrief", args=[first.run_id])).content.decode()

    assert "Of 1 patient: 0 right, 0 over-triage, 1 under-triage" in content
    assert "Looked at again: 1, 1 right." in content
    rows = {
        words[0]: words[1:]
        for row in content.split("<tr>")
        if (words := re.findall(r">([A-Z][a-z]+|\d+)</", row))
    }
    assert rows["Immediate"][-3:] == ["1", "0", "0"]
    assert rows["Minor"][-3:] == ["0", "1", "1"]
