"""The seconds of the motions, fitted to runs at the rig and taken over by an educator."""

import pytest
from playwright.sync_api import expect

from drills.demo.factories import PersonFactory, RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.actions import motion_table
from drills.scenarios.models import Mode
from tests.calls import bleeding_call
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import practice_rig
from tests.runs.test_motions import brought

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

RUNS, PEOPLE = 30, 6


@pytest.mark.parametrize("mood", ["day", "night"])
def test_what_is_missing_is_said_and_what_was_fitted_is_taken_over_and_back(
    open_page: OpenPage, educator: Person, fto: Person, mood: str
) -> None:
    rig = rig_on(practice_rig(), unit="11")
    bleeding_call(rig.revision)
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    page = open_page(mood=mood)
    sign_in(page, educator)
    page.goto("/runs/motions/")
    expect(page.get_by_text(f"{RUNS} more runs")).to_be_visible()
    expect(page.get_by_role("button", name="Take it over")).to_have_count(0)

    people = PersonFactory.create_batch(PEOPLE)
    for number in range(RUNS):
        brought(people[number % PEOPLE], fto, rig, times=1.3 + 0.01 * (number % 5 - 2))
    page.reload()
    expect(page.get_by_role("heading", name="What it does to targets")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_text("Taken over.")).to_be_visible()
    table = motion_table()
    assert table is not None
    assert (table.runs, table.people) == (RUNS, PEOPLE)
    assert max(table.walking, table.opening, table.taking) > 100

    page.get_by_role("button", name="Back to our own table").click()
    expect(page.get_by_text("Our own table is in force.")).to_be_visible()
    expect(page.get_by_role("button", name="Take it over")).to_be_visible()
    newest = motion_table()
    assert newest is not None
    assert newest.is_ours
