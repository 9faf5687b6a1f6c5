"""A keeper changes a draft in a real browser: by pointer, by keys, by thumb, without scripts."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from drills.demo.factories import rig_on
from drills.engine.layout import Rect
from drills.people.models import Person
from drills.rigs.actions import open_draft
from drills.rigs.models import Compartment, Revision
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in, wait_for
from tests.journeys.test_keyboard import press_button, press_until
from tests.layouts import practice_rig

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DRAFT = reverse("rigs:draft", args=["practice-rig"])


@pytest.fixture
def draft(keeper: Person) -> Revision:
    rig = rig_on(practice_rig(), unit="11")
    return open_draft(rig.layout, by=keeper, now=timezone.now())


def rect_of(draft: Revision, code: str) -> Rect | None:
    row = Compartment.objects.get(revision=draft, code=code)
    return Rect(*row.rect) if row.rect else None


def opened(open_page: OpenPage, keeper: Person, **how: object) -> Page:
    page = open_page(**how)
    sign_in(page, keeper)
    page.goto(DRAFT)
    return page


def drag(page: Page, handle: Locator, across: int, down: int, face: Locator) -> None:
    box, at = face.bounding_box(), handle.bounding_box()
    assert box is not None
    assert at is not None
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 3, y + 3)
    page.mouse.move(x + across * box["width"] / 24, y + down * box["height"] / 12, steps=4)
    page.mouse.up()


def test_a_door_is_dragged_and_stretched(
    open_page: OpenPage, keeper: Person, draft: Revision
) -> None:
    page = opened(open_page, keeper, size="desk")
    page.locator("#cell-interior-curb-I1").click()
    door, face = page.locator("[data-drag=I1]"), page.locator(".e-interior-curb .face")
    expect(door).to_be_visible()

    drag(page, door, 3, 2, face)
    wait_for(page, lambda: rect_of(draft, "I1") == Rect(13, 6, 4, 4))
    expect(page.locator("#row-x")).to_have_value("13")

    drag(page, page.locator("[data-drag=I1] [data-size]"), -1, 1, face)
    wait_for(page, lambda: rect_of(draft, "I1") == Rect(13, 6, 3, 5))


def test_shift_and_an_arrow_moves_and_with_control_stretches(
    open_page: OpenPage, keeper: Person, draft: Revision
) -> None:
    page = opened(open_page, keeper, size="desk")
    press_until(page, "Tab", "at.id === 'cell-interior-curb-I1'")
    page.keyboard.press("Enter")
    expect(page.locator("#nudge")).to_be_visible()

    for keys, rect in (
        ("Shift+ArrowRight", Rect(11, 4, 4, 4)),
        ("Shift+ArrowUp", Rect(11, 3, 4, 4)),
        ("Control+Shift+ArrowDown", Rect(11, 3, 4, 5)),
    ):
        page.keyboard.press(keys)
        for side in ("x", "y", "w", "h"):
            expect(page.locator(f"#row-{side}")).to_have_value(str(getattr(rect, side)))
        assert rect_of(draft, "I1") == rect


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_all_of_it_is_done_with_keys_alone(
    open_page: OpenPage, keeper: Person, draft: Revision, scripts: bool
) -> None:
    page = opened(open_page, keeper, size="desk", scripts=scripts)

    press_until(page, "Tab", "at.textContent === 'Add a compartment'")
    page.keyboard.press("Enter")
    expect(page.locator("#row-name")).to_be_visible()
    press_until(page, "Tab", "at.id === 'row-name'")
    page.keyboard.type("Locker")
    press_until(page, "Tab", "at.id === 'row-code'")
    page.keyboard.type("S2")
    press_until(page, "Tab", "at.id === 'row-face'")
    page.keyboard.type("Street side")
    press_button(page, "Add")
    expect(page.locator("#nudge-right")).to_be_visible()

    press_until(page, "Tab", "at.id === 'nudge-right'")
    page.keyboard.press("Enter")
    expect(page.locator("#row-x")).to_have_value("7")

    press_until(page, "Tab", "at.id === 'put-item'")
    page.keyboard.type("Foil blanket")
    page.keyboard.press("Enter")
    expect(page.locator("#panel .rowline", has_text="Foil blanket")).to_be_visible()

    press_until(page, "Tab", "at.id === 'undo'")
    page.keyboard.press("Enter")
    expect(page.locator("#panel .rowline", has_text="Foil blanket")).to_have_count(0)
    assert rect_of(draft, "S2") == Rect(7, 0, 4, 3)


def test_on_a_phone_the_form_comes_into_sight_and_nothing_is_wider_than_it(
    open_page: OpenPage, keeper: Person, draft: Revision
) -> None:
    page = opened(open_page, keeper, size="phone")
    page.locator("#cell-street-S1").tap()
    expect(page.locator("#save")).to_be_attached()

    wait_for(
        page,
        lambda: page.evaluate("document.getElementById('panel').getBoundingClientRect().top") < 844,
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    sizes = page.evaluate(
        "Array.from(document.querySelectorAll('#panel button, #panel .field :is(input, select)'))"
        ".filter((each) => each.offsetParent).map((each) => each.getBoundingClientRect().height)"
    )
    assert min(sizes) >= 47.5
