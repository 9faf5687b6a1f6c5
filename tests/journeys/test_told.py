"""Nothing is lost in silence: a session that ended, a form too old, a fault, no connection."""

from collections.abc import Iterator

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Browser, Page, Route, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.runs.actions import start_run
from drills.runs.models import Presentation, PresentationState, Run
from tests.cast import PASSWORD
from tests.journeys.conftest import PATIENCE_MS
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def run(hire: Person) -> Run:
    rig = rig_on(practice_rig(), unit="11")
    recipe = RecipeFactory.create(slug="find-four", kinds="locate:4;contents:1")
    pick_rig(hire, rig, now=NOW)
    found = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
    Player(found).past_warm_ups()
    return found


@pytest.fixture
def page(browser: Browser, server: str) -> Iterator[Page]:
    """A phone whose errors are what the tests of this file are about.

    Without a worker, past whom no request could be stopped.
    """
    context = browser.new_context(
        base_url=server,
        viewport={"width": 390, "height": 844},
        reduced_motion="reduce",
        service_workers="block",
    )
    found = context.new_page()
    found.set_default_timeout(PATIENCE_MS)
    yield found
    context.close()


def sign_in(page: Page) -> None:
    page.get_by_label("Employee number").fill("HIRE")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def ask(page: Page, run: Run) -> None:
    """A prompt is in sight, the one before it being long void."""
    page.goto(f"/runs/{run.pk}/")
    sign_in(page)
    page.get_by_role("button", name="Resume").click()
    expect(page.locator("[data-asking]")).to_be_visible()
    page.wait_for_load_state()


def send(page: Page) -> None:
    unknown = page.get_by_role("button", name="I do not know")
    if not unknown.is_visible():
        page.locator("summary:visible", has_text="Cannot answer").click()
    unknown.click()


def answered() -> int:
    real = Presentation.objects.filter(prompt__isnull=False)
    return real.filter(state=PresentationState.ANSWERED).count()


def test_a_session_that_ended_leads_to_sign_in_and_back_to_the_prompt(page: Page, run: Run) -> None:
    ask(page, run)
    Session.objects.all().delete()

    send(page)

    expect(page.get_by_role("status").filter(has_text="signed out")).to_contain_text("is kept")
    assert page.locator("h1.ask").count() == 0
    sign_in(page)
    expect(page.locator("[data-asking]")).to_be_visible()
    assert f"/runs/{run.pk}/" in page.url
    assert answered() == 0


def test_after_signing_in_elsewhere_the_old_page_says_to_reload(page: Page, run: Run) -> None:
    ask(page, run)
    other = page.context.new_page()
    other.goto("/")
    other.get_by_role("button", name="Sign out").click()
    sign_in(other)
    expect(other.get_by_role("button", name="Sign out")).to_be_visible()

    send(page)

    expect(page.locator("#alert")).to_contain_text("older than your sign-in")
    expect(page.locator("#alert")).to_contain_text("reload")
    assert answered() == 0
    page.reload()
    send(page)
    expect(page.get_by_role("button", name="I do not know")).to_be_hidden()
    expect(page.locator("#alert")).to_be_empty()
    assert answered() == 1


@pytest.mark.parametrize(
    ("status", "said"),
    [
        (404, "There is no such page any more; nothing was changed. Go back to the start."),
        (405, "This page is out of step with the server; nothing was changed. Reload it."),
        (500, "Something broke on our side. Reload the page to see whether it was taken."),
        (502, "The server does not answer just now. Wait a moment, then send again."),
    ],
)
def test_a_fault_is_told_with_what_to_do(page: Page, run: Run, status: int, said: str) -> None:
    ask(page, run)
    page.route("**/answer/", lambda route: route.fulfill(status=status, body="<p>no</p>"))

    send(page)

    expect(page.locator("#alert p")).to_have_text(said)
    expect(page.locator("[data-asking]")).to_be_visible()


def test_without_a_connection_the_choice_stays_and_the_words_go_when_it_is_back(
    page: Page, run: Run
) -> None:
    ask(page, run)
    page.route("**/answer/", lambda route: route.abort())
    send(page)
    expect(page.locator("#alert")).to_contain_text("No connection.")

    page.unroute("**/answer/")
    send(page)

    expect(page.get_by_role("button", name="I do not know")).to_be_hidden()
    expect(page.locator("#alert")).to_be_empty()
    assert answered() == 1


def test_a_server_that_is_silent_too_long_is_told(page: Page, run: Run) -> None:
    ask(page, run)
    held: list[Route] = []
    page.route("**/answer/", lambda route: held.append(route))
    assert page.evaluate("htmx.config.timeout") == 30_000
    page.evaluate("htmx.config.timeout = 100")

    send(page)

    expect(page.locator("#alert p")).to_have_text(
        "No answer came in time. Your choice is still here; send again."
    )
