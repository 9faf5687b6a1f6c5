"""A week is given to a cohort on a phone, begun from Today, and withdrawn as one."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from drills.demo.factories import PersonFactory, RecipeFactory, rig_on
from drills.people.models import Person
from drills.runs.models import Assigned, Assignment, Run, Series
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DAYS, OTHERS = 7, 9
# What an officer does by hand to give it, from their first page: the page, the cohort, the drill,
# and Assign.
PRESSES = 4


@pytest.fixture
def week(transactional_db: None) -> None:
    rig_on(practice_rig(), unit="11")
    for step in range(1, DAYS + 1):
        RecipeFactory.create(
            slug=f"week-{step}",
            name=f"New rig in a week, day {step}",
            kinds="locate:4",
            order="by compartment" if step < 5 else "mixed",
            series="new-rig-week",
            step=step,
        )
    for number in range(OTHERS):
        RecipeFactory.create(slug=f"other-{number}", name=f"Other drill {number}")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_given_begun_and_withdrawn_as_one(
    open_page: OpenPage, hire: Person, fto: Person, week: None, scripts: bool
) -> None:
    PersonFactory.create_batch(5, cohorts=hire.cohorts.all())
    page = open_page(scripts=scripts)
    sign_in(page, fto)
    presses = [
        page.get_by_role("link", name="Assign a drill"),
        page.get_by_text("First intake"),
        page.get_by_text("7 days, as one"),
        page.get_by_role("button", name="Assign", exact=True),
    ]
    assert len(presses) == PRESSES
    for each in presses:
        each.click()
    expect(page.get_by_text("Assigned: New rig in a week, 7 days to 6 people")).to_be_visible()
    assert Assigned.objects.count() == 6 * DAYS
    page.context.close()

    page = open_page(scripts=scripts)
    sign_in(page, hire)
    page.get_by_role("link", name="Choose").click()
    page.get_by_role("button", name="I ride it").first.click()
    expect(page.get_by_role("link", name="Study walk").first).to_be_visible()
    page.goto("/")
    expect(page.get_by_text("0 of 7 days met")).to_be_visible()
    expect(page.get_by_role("link", name="Walk it first, nothing asked")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Start.*day 1")).click()
    expect(page.get_by_role("button", name="Begin", exact=True)).to_be_visible()
    run = Run.objects.select_related("assigned__assignment").get()
    assert run.assigned is not None
    assert run.assigned.assignment.recipe.step == 1
    page.context.close()

    page = open_page(scripts=scripts)
    sign_in(page, fto)
    page.goto(reverse("runs:series", args=[Series.objects.get().pk]))
    page.locator("summary", has_text="Withdraw it from everybody").click()
    page.get_by_role("button", name="Withdraw every day").click()
    expect(page.get_by_text("Withdrawn, every day of it.")).to_be_visible()
    assert not Assignment.objects.filter(withdrawn_at=None).exists()


def test_folded_kinds_of_drills_open_without_scripts(
    open_page: OpenPage, fto: Person, week: None
) -> None:
    page = open_page(scripts=False)
    sign_in(page, fto)
    page.goto(reverse("runs:assign"))
    drill = page.get_by_text("Other drill 3")
    expect(drill).to_be_hidden()

    page.locator("summary", has_text="Where things are").click()

    expect(drill).to_be_visible()
