"""Two windows at one prompt, a double press, and a session that is gone when Send is pressed."""

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import begin, start_run
from drills.runs.models import Presentation, PresentationState, Run
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import choose, open_prompt, sign_in, wait_for
from tests.layouts import practice_rig
from tests.runs.player import right, wrong

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "without scripts"]),
]


@pytest.fixture
def rig(db: None) -> Rig:
    return rig_on(practice_rig(), unit="11")


@pytest.fixture
def prompt(hire: Person, rig: Rig) -> Presentation:
    """The first prompt of untimed practice."""
    recipe, now = RecipeFactory.create(slug="find-four", kinds="locate:4"), timezone.now()
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now)
    begin(run, device_class="phone", is_timed=False, now=now)
    return open_prompt(run)


def at(page: Page, run: Run) -> None:
    page.goto(reverse("runs:take", args=[run.pk]))
    expect(page.locator("[data-asking]")).to_be_visible()


def send(page: Page) -> None:
    page.locator("#foot").get_by_role("button", name="Send").click()


def answers(prompt: Presentation) -> list[list[str]]:
    rows = prompt.run.presentations.filter(state=PresentationState.ANSWERED)
    return list(rows.values_list("answer", flat=True))


def test_a_double_press_and_a_second_window_are_one_answer(
    open_page: OpenPage, hire: Person, prompt: Presentation, scripts: bool
) -> None:
    one = open_page(scripts=scripts)
    sign_in(one, hire)
    other = one.context.new_page()
    at(one, prompt.run)
    at(other, prompt.run)
    choose(one, prompt, right(prompt))
    choose(other, prompt, wrong(prompt))

    one.locator("#foot").get_by_role("button", name="Send").dblclick()
    wait_for(one, lambda: answers(prompt))
    send(other)

    expect(other.get_by_role("alert").filter(has_text="The first one counts.")).to_contain_text(
        "Recorded:"
    )
    assert answers(prompt) == [right(prompt)]


def test_an_answer_sent_signed_out_is_kept_and_sent_after_signing_in(
    open_page: OpenPage, hire: Person, prompt: Presentation, scripts: bool
) -> None:
    page = open_page(scripts=scripts)
    sign_in(page, hire)
    at(page, prompt.run)
    choose(page, prompt, right(prompt))
    Session.objects.all().delete()

    send(page)
    expect(page.get_by_text("Your answer is kept on this device")).to_be_visible()
    assert answers(prompt) == []
    page.get_by_label("Employee number").fill(hire.employee_number)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Send the kept answer").click()

    wait_for(page, lambda: answers(prompt))
    assert answers(prompt) == [right(prompt)]
