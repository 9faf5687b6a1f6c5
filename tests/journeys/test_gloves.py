"""At the rig with gloves on: whatever is pressed there is as large as the setting promises."""

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import PairingFactory
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from tests.cast import make_hire
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_giving import wait_for_switch
from tests.journeys.test_hands_on import close, mark, officer_at_the_rig, open_sheet
from tests.rigs.conftest import NOW

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

LEAST_PX, LEAST_BARE_PX = 80, 48
# What can be pressed on the sheet and is lower than it should be. A link of a row counts as tall as
# what it covers; one within a sentence is read and not meant for a glove.
TOO_LOW = """least => Array.from(
  document.querySelectorAll("main :is(button, summary, .choice, .gl label, select, .li a, .acts a)")
).filter(each => each.offsetParent && getComputedStyle(each).visibility === "visible").map(each => {
  const whole = each.closest(".li.whole") || each;
  return [each.textContent.trim().slice(0, 30), Math.round(whole.getBoundingClientRect().height)];
}).filter(([, high]) => high < least)"""


@pytest.fixture
def officer(db: None) -> Person:
    """An FTO of one person, on the practice rig with a kit to ask for."""
    officer, rig = officer_at_the_rig()
    PairingFactory.create(fto=officer, crew=make_hire())
    pick_rig(officer, rig, now=NOW)
    return officer


def look(page: Page, least: int) -> None:
    assert page.evaluate(TOO_LOW, least) == []


@pytest.mark.parametrize(("gloves", "least"), [(True, LEAST_PX), (False, LEAST_BARE_PX)])
def test_each_step_of_a_sheet_and_its_sign_off_is_pressed_with_them(
    officer: Person, open_page: OpenPage, gloves: bool, least: int
) -> None:
    page = open_page()
    sign_in(page, officer)
    page.goto("/runs/hands-on/")
    if gloves:
        wait_for_switch(page, "Gloves")
    look(page, least)
    page.get_by_label("In service").check()
    page.get_by_label("Dispatch").check()
    open_sheet(page, "Noor Hire")
    look(page, least)
    page.get_by_role("button", name="Start the watch").click()
    mark(page, "Tourniquet", "Brought")
    mark(page, "Splint", "Brought")
    look(page, least)
    page.get_by_role("button", name="Stop the watch").click()
    look(page, least)
    close(page)
    expect(page.get_by_role("link", name="Sign it off")).to_be_visible()
    look(page, least)
    page.get_by_role("link", name="Sign it off").click()
    look(page, least)
    page.get_by_role("button", name="Sign it off").click()
    expect(page.get_by_text("Withdraw it").first).to_be_visible()
    look(page, least)
    page.goto("/runs/sign-offs/of/HIRE/")
    look(page, least)
    page.goto("/runs/hands-on/")
    expect(page.get_by_role("heading", name="Closed")).to_be_visible()
    look(page, least)

    page.locator("section:has(h2:text-is('Closed')) .li").click(position={"x": 340, "y": 30})
    expect(page.get_by_role("link", name="The next person at this rig")).to_be_visible()
