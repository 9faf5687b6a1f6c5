"""A dose and a supply on a phone, with one hand, with keys alone, with gloves."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from drills.engine.prompts import Prompt
from drills.people.models import Person
from drills.people.switches import GLOVES_COOKIE
from drills.rigs.models import Rig
from drills.runs.models import Presentation
from tests.journeys.conftest import OpenPage, settled
from tests.journeys.test_first_drill import LOOK_MS, sign_in
from tests.journeys.test_first_drill import rig as rig
from tests.journeys.test_keyboard import press_button, press_until
from tests.runs.test_dose import asked, dose_prompt
from tests.runs.test_supply import score_prompt, supply_prompt

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FINGER, GLOVE = 48, 80
# Every target of an answer: the field, each unit, Send.
TARGETS = "[data-amount], .units label, #foot .send"
# The least side of each in px, whether all are in sight at once, and whether one stands on another.
MEASURE = """(targets) => {
  const boxes = [...document.querySelectorAll(targets)].map((each) => each.getBoundingClientRect());
  const foot = document.querySelector("#foot").getBoundingClientRect();
  const entry = document.querySelector(".entry").getBoundingClientRect();
  const controls = "summary, button, input, .units label";
  const half = [...document.querySelectorAll(controls)].filter((each) => {
    const box = each.getBoundingClientRect();
    const isOutside = box.width > 1 && !each.closest("#foot");
    return isOutside && box.top < foot.top && box.bottom > foot.top;
  });
  return {
    least: Math.min(...boxes.map((box) => Math.min(box.width, box.height))),
    inSight: boxes.every((box) => box.top >= 0 && box.bottom <= innerHeight),
    covered: entry.bottom > foot.top,
    drawn: Math.max(0, ...[...document.querySelectorAll(".syringes > div")].map((each) =>
      each.getBoundingClientRect().bottom - foot.top
    )),
    half: half.map((each) => each.textContent.trim() || each.name),
    width: document.documentElement.scrollWidth,
    broken: [...document.querySelectorAll(".units span")].filter((each) =>
      each.getClientRects().length > 1 || each.offsetWidth > each.parentElement.clientWidth
    ).length,
  };
}"""


def opened(open_page: OpenPage, hire: Person, rig: Rig, prompt: Prompt, **how: Any) -> Page:
    page = open_page(**how)
    sign_in(page, hire)
    page.wait_for_url("**/boards/**")
    presentation = asked(hire, rig, prompt)
    page.goto(f"/runs/{presentation.run_id}/")
    return page


def written(page: Page, amount: str) -> None:
    """Write a number over the one that is there, with keys alone."""
    expect(page.get_by_label("Amount")).to_be_visible()
    press_until(page, "Tab", "at.id === 'amount'")
    page.keyboard.press("Control+A")
    page.keyboard.type(amount)


@pytest.mark.parametrize("mood", ["day", "night"])
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_a_supply_is_worked_out_with_keys_alone(
    open_page: OpenPage, hire: Person, rig: Rig, mood: str, scripts: bool
) -> None:
    """Unreadable, unsafe by a named slip, asked again, right, and worked in the debrief."""
    page = opened(open_page, hire, rig, supply_prompt(), mood=mood, scripts=scripts)
    expect(page.get_by_text("check every dose with your partner")).to_be_visible()
    written(page, "16")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert").get_by_text("came in without a unit")).to_be_visible()
    expect(page.get_by_label("Amount")).to_have_value("16")
    expect(page.get_by_label("Amount")).to_be_focused()
    settled(page)

    press_until(page, "Tab", "at.name === 'unit'")
    page.keyboard.press("Space")
    page.wait_for_timeout(LOOK_MS)
    page.keyboard.press("Enter")
    expect(page.locator("#ask")).to_contain_text("Unsafe")
    expect(page.locator("#ask")).to_be_focused()
    expect(page.get_by_text("Named slip: the residual pressure was forgotten")).to_be_visible()
    expect(page.get_by_text("1,500 psi - 200 psi = 1,300 psi").first).to_be_visible()
    settled(page)
    press_button(page, "Next")

    expect(page.locator("[data-asking] #ask")).to_be_focused()
    settled(page)
    written(page, "13")
    press_until(page, "Tab", "at.name === 'unit'")
    page.keyboard.press("Space")
    page.wait_for_timeout(LOOK_MS)
    page.keyboard.press("Enter")
    expect(page.locator("#ask")).to_contain_text("Right")
    expect(page.locator("#ask")).to_be_focused()
    settled(page)
    press_button(page, "Next")

    expect(page.get_by_text("1 wrong: unsafe")).to_be_visible()
    expect(page.get_by_text("Asked again: 13 min (right).")).to_be_visible()
    page.get_by_text("What was asked and told").click()
    expect(page.locator(".facts").get_by_text("1,500 psi")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    first = Presentation.objects.order_by("order").first()
    assert first is not None
    assert (first.outcome, first.answer) == ("unsafe", ["16 min"])


@pytest.mark.parametrize(
    ("made", "before", "after"),
    [
        (score_prompt, '"Number, then Send"', "1.25"),
        (supply_prompt, '"Number and unit, then Send"', "1.25: choose a unit"),
    ],
    ids=["index", "minutes"],
)
def test_the_foot_asks_for_a_unit_only_where_one_is_needed(
    open_page: OpenPage,
    hire: Person,
    rig: Rig,
    made: Callable[[], Prompt],
    before: str,
    after: str,
) -> None:
    """Before a number is written and after."""
    page = opened(open_page, hire, rig, made())
    told = page.locator("#foot > p")
    expect(page.get_by_label("Amount")).to_be_visible()
    assert told.evaluate("(at) => getComputedStyle(at, '::after').content") == before
    written(page, "1.25")
    expect(told).to_have_attribute("data-said", after)


@pytest.mark.parametrize("gloves", [False, True], ids=["hand", "gloves"])
@pytest.mark.parametrize("kind", ["dose", "supply"])
def test_number_units_and_send_are_under_one_thumb(
    open_page: OpenPage, hire: Person, rig: Rig, gloves: bool, kind: str
) -> None:
    """All of them in sight at once, nothing covered, each as large as a finger or a glove needs;
    without gloves every syringe as well."""
    prompt = supply_prompt() if kind == "supply" else dose_prompt()
    page = opened(open_page, hire, rig, prompt)
    expect(page.locator(".facts")).to_be_visible()
    if gloves:
        address = page.url
        page.context.add_cookies([{"name": GLOVES_COOKIE, "value": "on", "url": address}])
        page.reload()
        expect(page.locator("body.glove")).to_be_visible()

    found = page.evaluate(MEASURE, TARGETS)

    assert found["least"] >= (GLOVE if gloves else FINGER)
    assert found["inSight"]
    assert not found["covered"]
    assert gloves or found["drawn"] == 0
    assert found["half"] == []
    assert found["width"] == 390
    assert found["broken"] == 0
    page.get_by_label("Amount").fill("7")
    page.get_by_role("button", name="Send").last.click()
    expect(page.get_by_role("alert").get_by_text("came in without a unit")).to_be_visible()
    expect(page.get_by_label("Amount")).to_be_focused()
    settled(page)
    again = page.evaluate(MEASURE, TARGETS)
    assert again["inSight"]
    assert not again["covered"]
    story = page.get_by_text("The call: 6-year-old boy")
    expect(story).to_have_count(1 if kind == "dose" else 0)
    if kind == "dose":
        story.click()
        expect(page.get_by_text("One hurt at Tea Chest.")).to_be_visible()
    drawn = page.locator(".syringes svg")
    expect(drawn).to_have_count(3 if kind == "dose" else 0)
