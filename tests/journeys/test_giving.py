"""Giving drills to people: the form and its results as a hand meets them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from drills.demo.factories import PersonFactory, RecipeFactory
from drills.people.models import Person
from drills.runs.models import Assignment
from drills.scenarios.models import Recipe
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.runs.assignments import given

LEAST_IN_GLOVES = 56
ASSIGN = reverse("runs:assign")

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def recipe(transactional_db: None) -> Recipe:
    return RecipeFactory.create(slug="five", name="Find five", kinds="locate:5", minutes=7)


@pytest.fixture
def assignment(recipe: Recipe, hire: Person, fto: Person) -> Assignment:
    due = timezone.localdate() + timedelta(days=2)
    return given(recipe, [hire], by=fto, due_on=due, now=timezone.now())


def height(found: Locator) -> float:
    box = found.bounding_box()
    assert box is not None
    return box["height"]


def wait_for_switch(page: Page, name: str) -> None:
    """Press a switch of the sheet, until the page shows it pressed."""
    button = page.get_by_role("button", name=name)
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")


def test_switches_leave_a_half_filled_form_as_it_is(
    open_page: OpenPage, fto: Person, recipe: Recipe
) -> None:
    page = open_page()
    sign_in(page, fto)
    page.goto(ASSIGN)
    page.get_by_label("A word with it").fill("Half filled")
    page.get_by_text("Find five").click()

    wait_for_switch(page, "Night")
    wait_for_switch(page, "Gloves")

    expect(page.get_by_label("A word with it")).to_have_value("Half filled")
    expect(page.get_by_role("radio").first).to_be_checked()
    expect(page.locator("html")).to_have_attribute("data-mood", "night")
    assert height(page.locator(".choice").first) >= LEAST_IN_GLOVES
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-mood", "night")
    page.get_by_role("button", name="Gloves").click()
    expect(page.locator("body.glove")).to_have_count(0)
    wait_for_switch(page, "System")
    assert page.locator("html").get_attribute("data-mood") is None


def test_switches_work_without_scripts(open_page: OpenPage, fto: Person, recipe: Recipe) -> None:
    page = open_page(scripts=False)
    sign_in(page, fto)
    page.goto(ASSIGN)

    page.get_by_role("button", name="Night").click()

    expect(page.locator("html")).to_have_attribute("data-mood", "night")
    expect(page.get_by_role("heading", name="Assign a drill")).to_be_visible()


def test_single_people_stand_in_one_column_of_a_phone(
    open_page: OpenPage, educator: Person, recipe: Recipe
) -> None:
    for number in range(4):
        PersonFactory.create(name=f"Bartholomew Featherstonehaugh {number}")
    page = open_page()
    sign_in(page, educator)
    page.goto(ASSIGN)

    page.get_by_text("Or single people").click()

    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("innerWidth")
    lefts = page.locator(".two .choice").evaluate_all("all => all.map(one => one.offsetLeft)")
    assert len(set(lefts)) == 1


def test_everything_to_be_tapped_is_big_enough_for_gloves(
    open_page: OpenPage, fto: Person, assignment: Assignment
) -> None:
    page = open_page()
    sign_in(page, fto)
    page.goto(reverse("runs:assignments"))
    wait_for_switch(page, "Gloves")

    assert height(page.get_by_role("link", name="Find five")) >= LEAST_IN_GLOVES
    page.goto(reverse("runs:assignment", args=[assignment.pk]))
    assert height(page.locator(".tick").first) >= LEAST_IN_GLOVES
    assert height(page.get_by_role("link", name="All assignments")) >= LEAST_IN_GLOVES
    assert height(page.get_by_text("Excuse those ticked")) >= LEAST_IN_GLOVES
    assert height(page.get_by_role("checkbox").first) >= 40


def test_what_is_wrong_is_said_together_whatever_the_browser_would_hold_back(
    open_page: OpenPage, fto: Person, recipe: Recipe
) -> None:
    page = open_page()
    sign_in(page, fto)
    page.goto(ASSIGN)
    page.get_by_text("Another standard").click()
    page.get_by_label("Marks, of 100").fill("101")

    page.get_by_role("button", name="Assign", exact=True).click()

    said = page.get_by_role("alert").filter(has_text="To whom")
    expect(said).to_contain_text("Which drill: nothing came in")
    expect(said).to_contain_text("“101” came in")
    expect(page.get_by_label("Marks, of 100")).to_have_value("101")
