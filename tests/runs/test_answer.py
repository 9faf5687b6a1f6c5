"""Sending an answer."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.scoring import RIGHT, WRONG
from drills.people.models import Person
from drills.runs.models import Presentation, PresentationState, Run, RunState
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.player import Player, lately, right, wrong

pytestmark = pytest.mark.django_db


def url(run: Run) -> str:
    return reverse("runs:answer", args=[run.pk])


def sent(presentation: Presentation, keys: list[str], **more: str) -> dict[str, object]:
    run = presentation.run
    field = "thing" if presentation.prompt and presentation.prompt.choices else "place"
    return {
        "token": presentation.token,
        field: [run.token_for(key) for key in keys],
        **more,
    }


@pytest.fixture
def prompt(run: Run) -> Presentation:
    return Player(run).past_warm_ups()


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def test_stores_the_answer_and_shows_the_page_again(browser: Client, prompt: Presentation) -> None:
    response = browser.post(url(prompt.run), sent(prompt, right(prompt)))

    prompt.refresh_from_db()
    assert response["Location"] == reverse("runs:take", args=[prompt.run.pk])
    assert (prompt.state, prompt.outcome) == (PresentationState.ANSWERED, RIGHT)


def test_htmx_gets_the_feedback(browser: Client, prompt: Presentation) -> None:
    response = browser.post(url(prompt.run), sent(prompt, wrong(prompt)), headers=FRAGMENT)

    assert response.status_code == 200
    assert b"<html" not in response.content
    assert b"Wrong" in response.content


def test_nothing_chosen_is_said_and_nothing_stored(browser: Client, prompt: Presentation) -> None:
    response = browser.post(url(prompt.run), {"token": prompt.token, "place": ""})

    prompt.refresh_from_db()
    assert response.status_code == 422
    assert (
        b"Nothing chosen yet. Choose, or say under Cannot answer that you do not know."
        in response.content
    )
    assert prompt.state == PresentationState.OPEN


def test_i_do_not_know_can_be_sent(browser: Client, prompt: Presentation) -> None:
    browser.post(url(prompt.run), {"token": prompt.token, "unknown": "1"})

    prompt.refresh_from_db()
    assert (prompt.state, prompt.outcome, prompt.answer) == (PresentationState.ANSWERED, WRONG, [])


def test_a_double_click_stores_one_answer(browser: Client, prompt: Presentation) -> None:
    for _ in range(2):
        browser.post(url(prompt.run), sent(prompt, right(prompt)))

    answered = prompt.run.presentations.filter(state=PresentationState.ANSWERED)
    assert answered.filter(prompt__isnull=False).count() == 1


def test_another_answer_from_a_second_tab_is_refused(browser: Client, prompt: Presentation) -> None:
    browser.post(url(prompt.run), sent(prompt, right(prompt)))

    response = browser.post(url(prompt.run), sent(prompt, wrong(prompt)))

    prompt.refresh_from_db()
    assert response.status_code == 422
    assert b"The first one counts." in response.content
    assert prompt.outcome == RIGHT


def test_a_figure_that_is_no_number_loses_no_answer(browser: Client, prompt: Presentation) -> None:
    browser.post(url(prompt.run), sent(prompt, right(prompt), elapsed="nan", gap="0.1", hidden="0"))

    prompt.refresh_from_db()
    assert prompt.state == PresentationState.ANSWERED
    assert prompt.client_elapsed is None
    assert prompt.time_state == "unverified"


def test_a_token_of_another_person_is_not_found(
    client_of: ClientOf, outsider: Person, prompt: Presentation
) -> None:
    response = client_of(outsider).post(url(prompt.run), sent(prompt, right(prompt)))

    prompt.refresh_from_db()
    assert response.status_code == 404
    assert prompt.state == PresentationState.OPEN


def test_an_assessed_run_goes_straight_on(browser: Client, assessed_run: Run, hire: Person) -> None:
    presentation = Player(assessed_run, now=lately()).past_warm_ups()

    response = browser.post(
        url(assessed_run), sent(presentation, wrong(presentation)), headers=FRAGMENT
    )

    assert b"Wrong" not in response.content
    assert b"2 of 5" in response.content


def test_the_last_answer_of_an_assessed_run_leads_to_the_debrief(
    browser: Client, assessed_run: Run
) -> None:
    player = Player(assessed_run, now=lately())
    presentation = player.past_warm_ups()
    for _ in range(4):
        player.answer(presentation, right(presentation))
        presentation = player.serve() or presentation

    response = browser.post(
        url(assessed_run), sent(presentation, right(presentation)), headers=FRAGMENT
    )

    assert response["HX-Redirect"] == reverse("runs:debrief", args=[assessed_run.pk])


def test_is_no_page_to_get(browser: Client, run: Run) -> None:
    assert browser.get(url(run)).status_code == 405


def test_an_answer_resent_after_a_call_leaves_the_run_away(
    browser: Client, assessed_run: Run, hire: Person
) -> None:
    presentation = Player(assessed_run, now=lately()).past_warm_ups()
    body = sent(presentation, right(presentation))
    browser.post(url(assessed_run), body)
    browser.post(reverse("runs:away", args=[assessed_run.pk]))

    browser.post(url(assessed_run), body)

    assessed_run.refresh_from_db()
    hire.refresh_from_db()
    assert assessed_run.state == RunState.AWAY
    assert not hire.has_assessed_prompt
    assert not assessed_run.presentations.filter(state=PresentationState.OPEN).exists()
