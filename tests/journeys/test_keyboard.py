"""A whole drill without a pointer."""

import pytest
from playwright.sync_api import Page, expect

from drills.engine.recipes import LOCATE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.models import Presentation, Run, RunState
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import moved_on, open_prompt, wait_for
from tests.journeys.test_first_drill import rig as rig
from tests.runs.player import right

MOST_PRESSES = 120

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def press_until(page: Page, key: str, condition: str) -> None:
    """Press a key until the focused element meets a condition, as a person would."""
    for _ in range(MOST_PRESSES):
        if page.evaluate(f"(() => {{ const at = document.activeElement; return {condition}; }})()"):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{MOST_PRESSES} times {key} do not lead to {condition}")


def press_button(page: Page, name: str) -> None:
    press_until(
        page, "Tab", f"at.tagName === 'BUTTON' && at.textContent.trim().startsWith('{name}')"
    )
    page.keyboard.press("Enter")


def answer(page: Page, presentation: Presentation) -> None:
    run, keys = presentation.run, right(presentation)
    layout = layout_of(run.drill.revision)
    if presentation.is_warm_up or (presentation.prompt and presentation.prompt.kind == LOCATE):
        press_until(page, "Tab", "at.name === 'face'")
        face = layout.face_of(layout.chain(keys[0])[0].code)
        press_until(page, "ArrowDown", f"at.value === '{face}'")
        press_until(page, "Tab", "at.name === 'place'")
        page.keyboard.press("Space")
        press_until(page, "ArrowDown", f"at.value === '{run.token_for(keys[0])}'")
    else:
        for key in sorted(keys):
            press_until(page, "Tab", f"at.value === '{run.token_for(key)}'")
            page.keyboard.press("Space")
    page.keyboard.press("Enter")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_takes_a_drill_with_keys_alone(
    open_page: OpenPage, hire: Person, rig: Rig, scripts: bool
) -> None:
    page = open_page(scripts=scripts)
    page.goto("/")
    page.get_by_label("Employee number").focus()
    page.keyboard.type(hire.employee_number)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Choose")).to_be_visible()

    page.goto("/rigs/")
    press_button(page, "I ride it")
    expect(page.get_by_text("You ride 11 today.")).to_be_visible()
    page.goto("/boards/drills/")
    press_button(page, "Start Find ten things")
    expect(page.get_by_role("button", name="Begin untimed")).to_be_visible()
    press_button(page, "Begin untimed")
    expect(page.locator("[data-asking]")).to_be_visible()
    run = Run.objects.get()
    for _ in range(5):
        wait_for(page, lambda: moved_on(run))
        expect(page.locator("[data-asking] #ask")).to_be_focused()
        answer(page, open_prompt(run))
        expect(page.locator("#ask")).to_contain_text("Right")
        expect(page.locator("#ask")).to_be_focused()
        press_button(page, "Next")

    page.wait_for_url("**/debrief/")
    run.refresh_from_db()
    assert run.state == RunState.FINISHED
