"""Going on, being called away, and reporting what is not in its place, by page."""

import pytest
from django.test import Client
from django.urls import reverse

from drills.people.models import Person
from drills.rigs.models import Absence
from drills.runs.models import PresentationState, Run, RunState
from tests.runs.conftest import FRAGMENT, ClientOf
from tests.runs.player import Player

MOVES = ("proceed", "away", "not_there")
pytestmark = pytest.mark.django_db


def url(move: str, run: Run) -> str:
    return reverse(f"runs:{move}", args=[run.pk])


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def test_begins(browser: Client, run: Run) -> None:
    browser.post(url("proceed", run), {"device": "phone"})

    presentation = run.presentations.get()
    assert presentation.device_class == "phone"
    assert presentation.is_warm_up


def test_begins_untimed(browser: Client, run: Run) -> None:
    browser.post(url("proceed", run), {"untimed": "1"})

    run.refresh_from_db()
    assert not run.is_timed
    assert not run.presentations.get().is_warm_up


def test_an_assessed_run_cannot_be_untimed(browser: Client, assessed_run: Run) -> None:
    browser.post(url("proceed", assessed_run), {"untimed": "1"})

    assessed_run.refresh_from_db()
    assert assessed_run.is_timed


def test_believes_no_device_it_does_not_know(browser: Client, run: Run) -> None:
    browser.post(url("proceed", run), {"device": "x" * 200})

    assert run.presentations.get().device_class == ""


def test_going_on_twice_serves_one_prompt(browser: Client, run: Run) -> None:
    for _ in range(2):
        browser.post(url("proceed", run))

    assert run.presentations.count() == 1


def test_called_away_by_page_and_by_htmx(browser: Client, run: Run) -> None:
    Player(run).past_warm_ups()

    plain = browser.post(url("away", run))
    part = browser.post(url("away", run), headers=FRAGMENT)

    run.refresh_from_db()
    assert plain["Location"] == reverse("runs:take", args=[run.pk])
    assert b"Go. This drill waits." in part.content
    assert run.state == RunState.AWAY


def test_reports_and_goes_on(browser: Client, run: Run, hire: Person) -> None:
    presentation = Player(run).past_warm_ups()

    browser.post(url("not_there", run), {"token": presentation.token})

    presentation.refresh_from_db()
    assert presentation.state == PresentationState.VOID
    assert Absence.objects.filter(reported_by=hire).exists()
    assert run.presentations.filter(state=PresentationState.OPEN).exists()


def test_reports_nothing_for_a_token_it_does_not_know(browser: Client, run: Run) -> None:
    Player(run).past_warm_ups()

    response = browser.post(url("not_there", run), {"token": "no-such"})

    assert response.status_code == 422
    assert not Absence.objects.exists()


@pytest.mark.parametrize("move", MOVES)
def test_is_for_the_persons_own_run(
    client_of: ClientOf, outsider: Person, run: Run, move: str
) -> None:
    assert client_of(outsider).post(url(move, run)).status_code == 404


@pytest.mark.parametrize("move", MOVES)
def test_is_no_page_to_get(browser: Client, run: Run, move: str) -> None:
    assert browser.get(url(move, run)).status_code == 405
