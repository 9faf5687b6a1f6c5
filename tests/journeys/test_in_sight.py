"""A prompt on the drawn rig: whatever is chosen or opened, no compartment is covered or cut."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.people.models import Person
from drills.runs.actions import begin, start_run
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.journeys.test_giving import wait_for_switch
from tests.layouts import demo_layout

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Codes of doors of which a corner above the foot is beneath something else.
COVERED = """() => {
  const edge = document.querySelector("#foot").getBoundingClientRect().top;
  return Array.from(document.querySelectorAll(".bay > .cell")).filter((cell) => {
    const box = cell.getBoundingClientRect(), [x, y] = [box.right - 4, box.top + 4];
    const at = y < edge && document.elementFromPoint(x, y);
    return at && at.closest(".cell") !== cell;
  }).map((cell) => cell.querySelector(".code").textContent);
}"""
# How far the code of a door stands above the upper edge of it.
ABOVE = """(cell) => cell.getBoundingClientRect().top
  - cell.querySelector(".code").getBoundingClientRect().top"""


def at_a_prompt(page: Page, hire: Person) -> None:
    rig = rig_on(demo_layout("mesa-box"), unit="12")
    recipe = RecipeFactory.create(slug="find-four", kinds="locate:4")
    now = timezone.now()
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=3)
    begin(run, device_class="desk", is_timed=False, now=now)
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto(f"/runs/{run.pk}/")
    expect(page.locator("[data-asking]")).to_be_visible()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_nothing_lies_over_a_door_on_a_desk(
    open_page: OpenPage, hire: Person, scripts: bool
) -> None:
    """Wherever the page is scrolled to; what cannot be answered is said in the foot."""
    page = open_page(size="desk", scripts=scripts)
    at_a_prompt(page, hire)

    for down in range(0, 500, 40):
        page.mouse.wheel(0, 40 if down else 0)
        assert page.evaluate(COVERED) == [], down
    page.locator("#foot summary", has_text="Cannot answer").click()
    expect(page.get_by_role("button", name="I do not know")).to_be_visible()
    expect(page.get_by_role("button", name="Not where the layout says")).to_be_visible()


@pytest.mark.parametrize("gloves", [False, True], ids=["bare", "gloves"])
def test_what_cannot_be_answered_opens_above_the_foot_of_a_phone(
    open_page: OpenPage, hire: Person, gloves: bool
) -> None:
    """At the end of the page as well, where what opens would lie behind the foot."""
    page = open_page(size="phone")
    at_a_prompt(page, hire)
    if gloves:
        asked = page.url
        page.goto("/")
        wait_for_switch(page, "Gloves")
        page.goto(asked)
        expect(page.locator("[data-asking]")).to_be_visible()
    page.evaluate("() => window.scrollTo(0, document.body.scrollHeight)")
    page.locator(".asides summary").click()

    button = page.locator(".asides").get_by_role("button", name="Not where the layout says")
    expect(button).to_be_visible()
    foot = page.locator("#foot").bounding_box()
    found = button.bounding_box()
    assert found is not None
    assert foot is not None
    assert found["y"] + found["height"] <= foot["y"] + 1


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_the_code_of_what_is_chosen_stays_whole(
    open_page: OpenPage, hire: Person, size: str
) -> None:
    page = open_page(size=size)
    at_a_prompt(page, hire)

    faces, seen = page.locator(".keyplan label"), set()
    # A desk shows every face at once.
    for number in range(faces.count() if size == "phone" else 1):
        # An open cabinet of a phone stands in the place of the faces.
        faces.nth(number).evaluate("(face) => face.click()")
        for door in page.locator(".bay > .cell:visible").all():
            door.click()
            seen.add(door.locator(".code").text_content())
            assert door.evaluate(ABOVE) < 0, door.text_content()
    assert len(seen) > 30
