"""Faults that no other file holds, and whether there is every test that the table names.

Of all of them the same is asked: what was acknowledged is stored once, what was refused is not
stored, and what a person is thought to know follows from what is stored.
"""

import ast
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from drills.engine.scoring import RIGHT
from drills.people.models import Person
from drills.runs.models import Presentation, PresentationState, Run
from tests.cast import PASSWORD
from tests.house.measure import ROOT
from tests.runs.conftest import ClientOf
from tests.runs.faults import FAULTS
from tests.runs.player import Player, lately, right

FORGED = ("0", "-1", "1e9", "86400", "nan", "inf", "", "soon")
pytestmark = pytest.mark.django_db


@pytest.fixture
def prompt(run: Run) -> Presentation:
    return Player(run, now=lately()).past_warm_ups()


def address(prompt: Presentation) -> str:
    return reverse("runs:answer", args=[prompt.run.pk])


def body(prompt: Presentation) -> dict[str, str]:
    return {"token": prompt.token, "place": prompt.run.token_for(right(prompt)[0])}


def _names(path: str) -> Iterator[str]:
    tree = ast.parse((ROOT / "tests" / "runs" / path).read_text(encoding="utf-8"))
    for each in tree.body:
        if isinstance(each, ast.FunctionDef | ast.ClassDef):
            yield each.name


@pytest.mark.parametrize("number", FAULTS)
def test_every_fault_is_held_by_tests_that_there_are(number: int) -> None:
    _, tests = FAULTS[number]

    assert tests
    assert [
        each for each in tests if each.partition("::")[2] not in _names(each.split("::")[0])
    ] == []


def test_the_key_of_somebody_else_stores_nothing_and_stands_in_the_log(
    client_of: ClientOf,
    outsider: Person,
    prompt: Presentation,
    caplog: pytest.LogCaptureFixture,
) -> None:
    refused = client_of(outsider).post(address(prompt), body(prompt))

    prompt.refresh_from_db()
    assert (refused.status_code, prompt.state) == (404, PresentationState.OPEN)
    assert f"Not Found: {address(prompt)}" in caplog.messages
    assert not any(prompt.token in line for line in caplog.messages)


@pytest.mark.parametrize("elapsed", FORGED)
def test_a_forged_time_is_stored_as_unverified_and_marks_nothing(
    client_of: ClientOf, hire: Person, prompt: Presentation, elapsed: str
) -> None:
    """A browser whose clock is a day off claims the same: its times are differences."""
    claim = {"elapsed": elapsed, "gap": "0.1", "hidden": "0"}

    client_of(hire).post(address(prompt), body(prompt) | claim)

    prompt.refresh_from_db()
    assert (prompt.state, prompt.time_state) == (PresentationState.ANSWERED, "unverified")
    assert (prompt.outcome, prompt.marks) == (RIGHT, 100)
    assert prompt.seconds == prompt.server_seconds


def test_an_account_that_ends_amid_a_drill_loses_nothing_of_before(
    client_of: ClientOf, hire: Person, prompt: Presentation
) -> None:
    browser = client_of(hire)
    browser.post(address(prompt), body(prompt))
    browser.post(reverse("runs:proceed", args=[prompt.run.pk]))
    following = prompt.run.presentations.get(state=PresentationState.OPEN)
    Person.objects.filter(pk=hire.pk).update(is_active=False)

    refused = browser.post(address(following), body(following))

    following.refresh_from_db()
    assert reverse("people:sign_in") in refused["Location"]
    assert following.state == PresentationState.OPEN
    assert _sign_in(browser, hire) == 422
    prompt.refresh_from_db()
    assert (prompt.state, prompt.answer) == (PresentationState.ANSWERED, right(prompt))

    Person.objects.filter(pk=hire.pk).update(is_active=True)
    assert _sign_in(browser, hire) == 302
    shown = browser.get(reverse("runs:take", args=[prompt.run.pk])).content.decode()
    assert f'name="token" value="{following.token}"' in shown


def _sign_in(browser: Client, person: Person) -> int:
    who = {"employee_number": person.employee_number, "password": PASSWORD}
    return browser.post(reverse("people:sign_in"), who).status_code
