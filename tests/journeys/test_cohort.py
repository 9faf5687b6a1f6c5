"""An educator finds what the cohort misses, on a phone and on a desk, with scripts and without."""

import csv
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import CohortFactory, RecipeFactory, rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.boards.conftest import move_the_bag
from tests.boards.test_educator import Crowd, by_habit, take
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.layouts import practice_rig
from tests.runs.player import right

PEOPLE, KNOW = 11, 3
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def moved(educator: Person) -> Rig:
    """A bag that moved, and eight of eleven people who look for it where it was."""
    rig = rig_on(practice_rig(), unit="11")
    move_the_bag(rig)
    crowd = Crowd(rig)
    recipe = RecipeFactory.create(slug="find-five", kinds="locate:5;contents:1")
    for number in range(PEOPLE):
        take(crowd[number], rig, recipe, right if number < KNOW else by_habit)
    known = CohortFactory.create(name="Those who know", slug="know")
    known.members.add(*(crowd[number] for number in range(KNOW)))
    return rig


def sign_in(page: Page) -> None:
    page.goto("/")
    page.get_by_label("Employee number").fill("EDUCATOR")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_load_state()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "plain"])
@pytest.mark.parametrize(("size", "mood"), [("phone", "night"), ("desk", "day")])
def test_the_weak_spot_is_found_and_taken_along(
    open_page: OpenPage, moved: Rig, tmp_path: Path, size: str, mood: str, scripts: bool
) -> None:
    page = open_page(size=size, mood=mood, scripts=scripts)

    sign_in(page)
    expect(page.locator(".weakest")).to_contain_text("73 % look in the old place")
    page.get_by_role("link", name="Where", exact=True).click()
    expect(page.locator("#where")).to_contain_text("S1 Street cabinet › Lower shelf")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]  # type: ignore[index]  # it has one

    if size == "phone":
        page.get_by_text("Another cohort, layout or period").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="Export CSV").click()
    download.value.save_as(tmp_path / "missed.csv")
    with (tmp_path / "missed.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    assert [row[1] for row in rows[2:3]] == ["Response bag"]

    page.get_by_label("Cohort").select_option("know")
    if not scripts:
        page.get_by_role("button", name="Show").click()
    expect(page.locator(".block")).to_contain_text("Those who know")
    expect(page.locator(".weakest")).to_have_count(0)


def test_a_typed_day_is_sent_by_show_alone(open_page: OpenPage, moved: Rig) -> None:
    """While it is typed it passes through years that nobody meant."""
    page = open_page(size="desk")
    sign_in(page)
    before = page.url
    first = page.get_by_label("From", exact=True)

    first.click()
    page.keyboard.type("11012026", delay=30)
    page.get_by_label("To", exact=True).click()

    expect(first).to_have_value("2026-11-01")
    assert page.url == before
    page.get_by_role("button", name="Show").click()
    expect(page.locator(".block")).to_contain_text("2026-11-01 to ")
    expect(page.get_by_label("Period")).to_have_value("dates")


def test_a_style_that_the_browser_left_behind_is_not_carried_along(
    open_page: OpenPage, moved: Rig
) -> None:
    """A keeper of passwords styles a field and takes it back: the next swap says no error."""
    page = open_page(size="desk")
    sign_in(page)
    field = page.get_by_label("Cohort")
    field.evaluate("field => { field.style.color = 'red'; field.style.color = ''; }")
    assert field.get_attribute("style") == ""

    field.select_option("know")

    expect(page.locator(".block")).to_contain_text("Those who know")
