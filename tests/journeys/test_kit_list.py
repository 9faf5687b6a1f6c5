"""The whole rig as a list to bring a kit from: folded by door, what is searched for in sight."""

import pytest
from playwright.sync_api import Page, expect

from drills.people.models import Person
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_call import ready, until
from tests.journeys.test_first_drill import sign_in

__all__ = ["ready"]

# Eight screens of a phone; with every door open the same list takes more than twenty.
TALLEST_PX = 8 * 844

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def ask_for_a_kit(page: Page, person: Person) -> None:
    sign_in(page, person)
    page.goto("/boards/drills/")
    page.locator("summary", has_text="Calls and their kits").click()
    page.locator("button[value='kit-at-the-rig']").click()
    page.get_by_role("button", name="Begin", exact=True).click()
    until(page, "stage")


@pytest.mark.parametrize("scripts", [True, False])
def test_doors_are_folded_and_what_was_chosen_behind_them_counts(
    open_page: OpenPage, ready: Person, scripts: bool
) -> None:
    page = open_page(scripts=scripts)
    ask_for_a_kit(page, ready)
    assert page.evaluate("document.documentElement.scrollHeight") < TALLEST_PX
    expect(page.locator(".pick:visible")).to_have_count(0)

    door = page.locator(".kit-door", has_text="S3 ").first
    door.locator(".kit-head").click()
    door.locator(".pick .seg").first.get_by_text("1", exact=True).click()
    door.locator(".kit-head").click()
    expect(door.locator(".pick:visible")).to_have_count(0)
    expect(door.locator(".kit-head")).to_contain_text("S3 ")
    if scripts:
        expect(page.locator("#foot > p")).to_have_attribute("data-said", "1 chosen")
    else:
        # A counter of the style sheet counts what has a box, seen or not.
        chosen = door.locator(".pick input[value='1']:checked")
        assert chosen.evaluate("(e) => e.getClientRects().length") == 1

    page.get_by_label("Only chosen").check()
    expect(page.locator(".pick:visible")).to_have_count(1)
    sent = "(f) => [...new FormData(f)].filter(([n, v]) => n.startsWith('n-') && v).length"
    assert page.locator("form[data-run]").evaluate(sent) == 1


@pytest.mark.parametrize("mood", ["day", "night"])
def test_what_a_search_finds_stands_beneath_it_wherever_the_list_was(
    open_page: OpenPage, ready: Person, mood: str
) -> None:
    page = open_page(mood=mood)
    ask_for_a_kit(page, ready)
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    page.get_by_label("Search the rig").press_sequentially("mask")
    field = page.get_by_label("Search the rig").bounding_box()
    first = page.locator(".pick:visible").first.bounding_box()
    foot = page.locator("#foot").bounding_box()
    assert field is not None
    assert first is not None
    assert foot is not None
    assert 0 <= field["y"] < first["y"]
    assert first["y"] + first["height"] < foot["y"]
    found = page.locator(".pick:visible").count()
    expect(page.locator("[data-kit-found]")).to_have_text(f"{found} found")
    page.get_by_label("Search the rig").fill("no such thing")
    expect(page.get_by_text("Nothing aboard is called that.").last).to_be_visible()
    page.get_by_label("Search the rig").fill("")
    expect(page.locator(".pick:visible")).to_have_count(0)


def test_a_door_chosen_on_the_drawing_opens_without_a_script(
    open_page: OpenPage, ready: Person
) -> None:
    page = open_page(scripts=False)
    ask_for_a_kit(page, ready)
    page.get_by_text("The rig, drawn: choose a door").click()
    page.locator(".kit-plan a", has_text="C1").first.click()
    expect(page.locator("#kit-C1")).to_be_in_viewport()
    expect(page.locator("#kit-C1 .pick").first).to_be_visible()
