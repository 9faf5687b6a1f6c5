"""The drawing without a pointer: Tab reaches every compartment, arrows go where the eye goes."""

import re

import pytest
from playwright.sync_api import Page, expect

from drills.demo.factories import rig_on
from drills.engine.layout import Layout
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.journeys.conftest import OpenPage
from tests.journeys.test_first_drill import sign_in
from tests.layouts import demo_layout

ADDRESS = "/rigs/mesa-box/"
BOX = demo_layout("mesa-box-rev2")
ARROWS = ("ArrowRight", "ArrowLeft", "ArrowDown", "ArrowUp")
AT = "document.activeElement.id"

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def box(db: None) -> Rig:
    return rig_on(BOX, unit="11")


@pytest.fixture
def desk(open_page: OpenPage, hire: Person, box: Rig) -> Page:
    page = open_page(size="desk")
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto(ADDRESS)
    return page


def cells(layout: Layout) -> set[str]:
    """The ids of the compartments as drawn, second openings included."""
    openings = [
        (face, top.code)
        for top in layout.children[""]
        for face in (top.face, top.also_face)
        if face
    ]
    return {f"cell-{face}-{code}" for face, code in openings}


def pressed(page: Page, start: str, *keys: str) -> str:
    page.locator(f"[id='{start}']").focus()
    for key in keys:
        page.keyboard.press(key)
    return str(page.evaluate(AT))


# By the rectangles of fixtures/layouts/mesa-box-rev2.
@pytest.mark.parametrize(
    ("start", "key", "end"),
    [
        ("interior-street-W8", "ArrowRight", "interior-street-W6"),
        ("interior-street-W6", "ArrowRight", "interior-street-W1"),
        ("interior-street-W1", "ArrowDown", "interior-street-W2"),
        ("interior-street-W3", "ArrowDown", "interior-street-W4"),
        ("interior-street-W4", "ArrowLeft", "interior-street-W10"),
        ("interior-street-W4", "ArrowUp", "interior-street-W3"),
        ("interior-street-W9", "ArrowUp", "interior-street-W8"),
        ("interior-street-W5", "ArrowDown", "interior-street-MON"),
        # From narrow ones in a row to the wide one they stand under, and back.
        ("floor-F3", "ArrowUp", "floor-F1"),
        ("floor-F2", "ArrowUp", "floor-F1"),
        ("floor-F1", "ArrowDown", "floor-F2"),
        ("floor-F2", "ArrowLeft", "floor-F3"),
        ("interior-curb-B4", "ArrowLeft", "interior-curb-B3"),
        ("interior-curb-B5", "ArrowUp", "interior-curb-B2"),
        # Where a face ends, the next one follows.
        ("curb-C1", "ArrowRight", "interior-curb-C1"),
    ],
)
def test_arrows_go_to_the_nearest_on_that_side(desk: Page, start: str, key: str, end: str) -> None:
    assert pressed(desk, f"cell-{start}", key) == f"cell-{end}"


def test_arrows_reach_every_compartment(desk: Page) -> None:
    """Breadth first from the first one, all four keys at each."""
    first = "cell-street-S1"
    reached, ahead = {first}, [first]
    while ahead:
        start = ahead.pop()
        for key in ARROWS:
            end = pressed(desk, start, key)
            if end not in reached:
                reached.add(end)
                ahead.append(end)

    assert reached == cells(BOX)


def test_enter_opens_and_says_so(desk: Page) -> None:
    cell = "cell-interior-street-W4"
    assert pressed(desk, "cell-interior-street-W3", "ArrowDown", "Enter") == cell

    heading = desk.get_by_role("heading", name="W4 Action drawer stack")
    expect(heading).to_be_visible()
    expect(desk.locator("#status")).to_contain_text("W4 Action drawer stack is open:")
    assert desk.evaluate(AT) == cell
    expect(desk.locator(f"#{cell}")).to_have_attribute("aria-current", "true")


def test_names_say_what_eyes_see(desk: Page) -> None:
    for name in (
        "D1 Medicine cabinet, door, locked, holds 3 places",
        "W7 CPR seat box, lid",
        "MON Monitor on its bracket, holds 1 place",
    ):
        heard = re.compile(name.replace(",", " ?,", 1) + "$")
        expect(desk.get_by_role("link", name=heard)).to_have_count(1)


def test_arrows_are_left_alone_in_the_search(desk: Page) -> None:
    field = desk.get_by_label("Find a thing")
    field.fill("gauze")
    desk.keyboard.press("ArrowLeft")
    desk.keyboard.type("x")

    expect(field).to_have_value("gauzxe")


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_tab_reaches_every_compartment_without_scripts(
    open_page: OpenPage, hire: Person, box: Rig, size: str
) -> None:
    page = open_page(size=size, scripts=False)
    sign_in(page, hire)
    page.goto(ADDRESS)
    faces = page.locator(".keyplan input").evaluate_all("all => all.map(each => each.value)")
    reached: set[str] = set()

    for face in faces if size == "phone" else faces[:1]:
        if size == "phone":  # one face at a time: the arrows of its own radios choose it
            page.locator(".keyplan input:checked").focus()
            while page.locator(".keyplan input:checked").get_attribute("value") != face:
                page.keyboard.press("ArrowDown")
        else:
            page.locator("#find").focus()
        while page.evaluate("document.activeElement.className") != "switch":
            page.keyboard.press("Tab")
            at = str(page.evaluate(AT))
            reached |= {at} if at.startswith("cell-") else set()
            if page.evaluate("!!document.activeElement.closest('.rest')"):
                break

    assert reached == cells(BOX)
