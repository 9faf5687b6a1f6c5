"""A sitting of practice without a pointer: wherever the focus goes, it is seen and leads on."""

import re
from itertools import product
from typing import Any

import pytest
from django.core.management import call_command
from django.urls import reverse
from playwright.sync_api import Page, expect

from drills.demo.factories import rig_on
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.journeys.conftest import OpenPage, settled
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_keyboard import press_until
from tests.layouts import FIXTURES, demo_layout

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Whether the focused control, or the label that is drawn for it, has its ring, and all of it shows.
IS_SEEN = """() => {
  const at = document.activeElement, drawn = at.closest(".units label, .seg label") || at;
  const box = drawn.getBoundingClientRect(), foot = document.querySelector(".foot");
  const end = foot && !at.closest(".foot") ? foot.getBoundingClientRect().top : innerHeight;
  return getComputedStyle(drawn).outlineStyle !== "none" && box.top >= 0 && box.bottom <= end;
}"""


# How far the last syringe stands below the upper edge of the foot; null where none is drawn.
BELOW_THE_FOOT = """() => {
  const drawn = document.querySelector(".syringes"), foot = document.querySelector(".foot");
  const [last, edge] = [drawn?.getBoundingClientRect().bottom, foot.getBoundingClientRect().top];
  return drawn ? last - edge : null;
}"""


def pressed(page: Page, name: str) -> None:
    """Go by Tab to a button or link of that name, see it, and press it."""
    is_there = "['A', 'BUTTON'].includes(at.tagName)"
    press_until(page, "Tab", f"{is_there} && at.textContent.trim() === '{name}'")
    assert page.evaluate(IS_SEEN), name
    page.keyboard.press("Enter")


def right(page: Page) -> tuple[str, str]:
    """The number and the unit that the page would show for the exercise it asks."""
    shown = page.request.get(f"{page.url}&unknown=1").text()
    found = re.search(r'<b class="answer">([\d.,]+)\s?([A-Za-z]*)', shown)
    assert found is not None
    return found[1], found[2]


@pytest.fixture
def rig(db: None, settings: Any) -> Rig:
    """A rig with a formulary in force: of an energy the unit is always chosen."""
    settings.READINESS_DEMO = True
    files = sorted(each for each in FIXTURES.glob("*.json") if each.stem != "people")
    call_command("loaddata", *files, verbosity=0)
    return rig_on(demo_layout("mesa-box"), unit="11")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_practice_is_worked_with_keys_alone(
    open_page: OpenPage, hire: Person, rig: Rig, scripts: bool
) -> None:
    """Chosen, unreadable, right in its unit, the next one, shown, and something else."""
    page = open_page(scripts=scripts)
    sign_in(page, hire)
    page.wait_for_url("**/boards/**")
    page.goto(reverse("boards:practice"))
    press_until(page, "Tab", "at.id === 'id_what'")
    page.keyboard.type("The energy")
    press_until(page, "Tab", "at.name === 'grade'")
    page.keyboard.press("ArrowDown")
    assert page.evaluate(IS_SEEN)
    pressed(page, "Start")

    expect(page.locator("#ask")).to_be_focused()
    expect(page.get_by_text("The energy of a shock, several steps")).to_be_visible()
    amount, unit = right(page)
    page.keyboard.press("Tab")
    expect(page.get_by_label("Amount")).to_be_focused()
    assert page.evaluate(IS_SEEN)
    page.keyboard.type("1..5")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert").get_by_text("'1..5' is no number")).to_be_visible()
    expect(page.get_by_label("Amount")).to_be_focused()
    settled(page)
    assert page.evaluate(IS_SEEN)

    page.keyboard.press("Control+A")
    page.keyboard.type(amount)
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    press_until(page, "ArrowRight", f"at.checked && at.value === '{unit}'")
    assert page.evaluate(IS_SEEN)
    page.keyboard.press("Enter")
    expect(page.locator("#ask")).to_have_text(re.compile("Right"))
    expect(page.locator("#ask")).to_be_focused()
    settled(page)
    pressed(page, "Next")

    expect(page.get_by_text("1 right, 0 out of tolerance, 0 unsafe")).to_be_visible()
    expect(page.get_by_label("Amount")).to_be_visible()
    expect(page.locator("#ask")).to_be_focused()
    settled(page)
    pressed(page, "Show me")
    expect(page.locator("#ask")).to_have_text("Worked")
    expect(page.locator("#ask")).to_be_focused()
    settled(page)
    pressed(page, "Something else")
    expect(page.get_by_role("button", name="Start")).to_be_visible()


def test_every_syringe_of_a_dilution_stands_above_the_foot_of_a_phone(
    open_page: OpenPage, hire: Person, rig: Rig
) -> None:
    """A long rule is folded there; it is read by one tap."""
    page = open_page()
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, hire)
    page.wait_for_url("**/boards/**")
    wish = f"layout={rig.layout.slug}&what=dilution&rule=shown&count=4"
    drawn, folded = 0, 0
    for grade, seed in product(("2", "3"), range(3, 9)):
        page.goto(f"{reverse('boards:practice')}?{wish}&grade={grade}&seed={seed}")
        below = page.evaluate(BELOW_THE_FOOT)
        assert below is None or below <= 0, (grade, seed)
        drawn += below is not None
        folded += page.locator(".facts summary").count()
    assert drawn > 5
    assert folded
