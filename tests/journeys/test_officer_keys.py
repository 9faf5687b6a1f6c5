"""Pages of an officer by keyboard: what is folded, what is undone, and what is in sight."""

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import PairingFactory, PersonFactory, RecipeFactory
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from tests.cast import make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_hands_on import officer_at_the_rig
from tests.journeys.test_keyboard import press_until
from tests.rigs.conftest import NOW

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

OPENING = "/runs/hands-on/"
# How far the bottom of what has the focus lies beneath the top of the foot; 0 where it is clear.
COVERED_PX = """() => {
  const at = document.activeElement, whole = at.closest("label") || at;
  const foot = Array.from(document.querySelectorAll(".foot")).find(each => each.offsetParent);
  if (foot.contains(at) || !foot.closest("form").contains(at)) { return 0; }
  const over = whole.getBoundingClientRect().bottom - foot.getBoundingClientRect().top;
  return Math.max(0, Math.round(over));
}"""


@pytest.fixture
def officer(db: None) -> Person:
    """An FTO of one person, beside three whom nobody paired with them."""
    officer, rig = officer_at_the_rig()
    hire = make_hire()
    PairingFactory.create(fto=officer, crew=hire)
    pick_rig(hire, rig, now=NOW)
    for name in ("Abe Alone", "Bea Beside", "Cas Carried"):
        PersonFactory.create(name=name)
    return officer


def to_summary(page: Page, words: str) -> None:
    at = f"at.tagName === 'SUMMARY' && at.textContent.trim().startsWith('{words}')"
    press_until(page, "Tab", at)
    if not page.evaluate("document.activeElement.parentElement.open"):
        page.keyboard.press("Enter")


def test_who_is_found_in_a_folded_list_is_chosen(officer: Person, open_page: OpenPage) -> None:
    page = open_page(size="desk")
    sign_in(page, officer)
    page.goto(OPENING)
    to_summary(page, "Somebody else on shift")

    page.keyboard.press("Tab")
    expect(page.get_by_label("Shorten the list")).to_be_focused()
    page.keyboard.type("bea")
    page.keyboard.press("Enter")

    found = page.get_by_role("radio", name="Bea Beside")
    expect(found).to_be_focused()
    page.keyboard.press("Space")
    expect(found).to_be_checked()
    expect(page.get_by_role("alert").locator("p")).to_have_count(0)


def test_a_drill_of_a_folded_kind_is_chosen(officer: Person, open_page: OpenPage) -> None:
    RecipeFactory.create(slug="find-five", name="Find five", kinds="locate:5")
    page = open_page(size="desk")
    sign_in(page, officer)
    page.goto("/runs/assign/")
    to_summary(page, "Where things are")
    page.keyboard.press("Tab")
    expect(page.get_by_role("radio", name="Find five")).to_be_focused()

    to_summary(page, "Whole calls and kits")
    page.keyboard.press("Tab")

    within = page.locator("details", has_text="Whole calls and kits").get_by_role("radio").first
    expect(within).to_be_focused()


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_what_has_the_focus_is_never_behind_the_foot(
    officer: Person, open_page: OpenPage, size: str
) -> None:
    page = open_page(size=size)
    sign_in(page, officer)
    page.goto(OPENING)
    page.get_by_label("In service").focus()

    for _ in range(12):
        assert page.evaluate(COVERED_PX) == 0, page.evaluate("document.activeElement.outerHTML")
        page.keyboard.press("Tab")


def test_after_undo_the_focus_is_on_what_was_undone(officer: Person, open_page: OpenPage) -> None:
    page = open_page()
    sign_in(page, officer)
    page.goto(OPENING)
    page.get_by_label("In service").check()
    page.get_by_label("Dispatch").check()
    page.get_by_label("Noor Hire").check()
    page.get_by_role("button", name="Open the sheet").click()
    page.get_by_role("button", name="Start the watch").click()
    brought = page.locator("[name^=seen-]:visible").first
    brought.focus()
    page.keyboard.press("Space")

    page.locator("[data-undo]:visible").focus()
    page.keyboard.press("Enter")

    expect(brought).to_be_focused()
    expect(brought).not_to_be_checked()
