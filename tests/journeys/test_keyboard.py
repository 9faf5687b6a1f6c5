"""A whole drill without a pointer."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.recipes import CONTENTS, LOCATE
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.runs.actions import start_run
from drills.runs.models import Presentation, PresentationState, Run, RunState
from drills.scenarios.models import Recipe
from tests.cast import PASSWORD
from tests.journeys.conftest import OpenPage, settled
from tests.journeys.test_first_drill import (
    LOOK_MS,
    moved_on,
    open_prompt,
    say_unknown,
    sign_in,
    wait_for,
)
from tests.journeys.test_first_drill import rig as rig
from tests.layouts import demo_layout
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
        settled(page)
        answer(page, open_prompt(run))
        expect(page.locator("#ask")).to_contain_text("Right")
        expect(page.locator("#ask")).to_be_focused()
        settled(page)
        if scripts:
            page.keyboard.press("Enter")
        else:
            press_button(page, "Next")

    page.wait_for_url("**/debrief/")
    expect(page.get_by_role("heading", name="Find ten things")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator(".foot").get_by_role("link", name="Today")).to_be_focused()
    run.refresh_from_db()
    assert run.state == RunState.FINISHED


TYPED = {
    "s1": "S1",
    "s1 low": "S1A",
    "s1 response": "BAG",
    "s1 lid": "BAG-L",
    "s1 bag main": "BAG-M",
    "i1 upper": "I1A",
    "p1": "P1",
}


def at_the_first_to_ask(kind: str, page: Page, hire: Person, rig: Rig) -> Run:
    """Signed in, and before a prompt of a kind."""
    run = start_run(
        hire,
        recipe=Recipe.objects.get(slug="find-ten"),
        revision=rig.revision,
        rig=rig,
        now=timezone.now(),
    )
    run.drill.prompts.exclude(kind=kind).update(is_spare=True)
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto(f"/runs/{run.pk}/")
    press_button(page, "Begin untimed")
    expect(page.locator("[data-asking]")).to_be_visible()
    expect(page.locator("#ask")).to_be_focused()
    settled(page)
    return run


def at_the_first_place_to_find(page: Page, hire: Person, rig: Rig) -> Run:
    return at_the_first_to_ask(LOCATE, page, hire, rig)


def chosen(page: Page) -> str | None:
    value: str | None = page.evaluate(
        "(document.querySelector('input[name=place]:checked') || {value: null}).value"
    )
    return value


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_a_code_typed_chooses_the_place(
    open_page: OpenPage, hire: Person, rig: Rig, size: str
) -> None:
    page = open_page(size=size)
    run = at_the_first_place_to_find(page, hire, rig)

    for typed, code in TYPED.items():
        page.locator("#ask").focus()
        page.keyboard.type(typed)
        assert chosen(page) == run.token_for(code), typed
        expect(page.locator("label.cell:has(:checked)").first).to_be_in_viewport()
        page.locator("#code").fill("")
        assert chosen(page) is None


def test_a_place_is_typed_and_sent_in_a_few_keys(
    open_page: OpenPage, hire: Person, rig: Rig
) -> None:
    page = open_page(size="desk")
    run = at_the_first_place_to_find(page, hire, rig)
    presentation = open_prompt(run)

    page.wait_for_timeout(LOOK_MS)
    page.keyboard.type("s1 lid")
    page.keyboard.press("Enter")
    wait_for(page, lambda: not run.presentations.filter(state=PresentationState.OPEN).exists())

    presentation.refresh_from_db()
    assert presentation.answer == ["BAG-L"]
    assert presentation.time_state == "verified"


LEADS_NOWHERE = {
    "zz": "No code begins with “zz”. Codes here begin with I, P or S.",
    "s9": "No code begins with “s9”. Here is S1.",
    "s1 lidx": (
        "Behind S1 nothing is called “lidx”. Type a word such as lower, response, lid or main."
    ),
    "p1 x": "Behind P1 nothing is called “x”. Type P1 alone.",
}


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_what_leads_nowhere_is_told_and_never_sent(
    open_page: OpenPage, hire: Person, rig: Rig, size: str
) -> None:
    """Nor does Enter send the place that was typed before."""
    page = open_page(size=size)
    run = at_the_first_place_to_find(page, hire, rig)

    for typed, told in LEADS_NOWHERE.items():
        page.locator("#ask").focus()
        page.keyboard.type("s1")
        assert chosen(page) == run.token_for("S1")
        page.locator("#code").fill("")
        page.keyboard.type(typed)
        assert chosen(page) is None
        expect(page.locator("#foot").get_by_role("status")).to_have_text(told)
        page.keyboard.press("Enter")
        page.locator("#foot > .send").click()
        expect(page.locator("#code")).to_have_value(typed)
        expect(page.locator("#code")).to_be_focused()
        page.locator("#code").fill("")
        expect(page.locator("#foot").get_by_role("status")).to_have_text("Nothing chosen yet")
    assert run.presentations.get().state == PresentationState.OPEN


def test_what_leads_nowhere_keeps_nobody_from_giving_up(
    open_page: OpenPage, hire: Person, rig: Rig
) -> None:
    page = open_page(size="desk")
    run = at_the_first_place_to_find(page, hire, rig)

    page.keyboard.type("zz")
    page.wait_for_timeout(LOOK_MS)
    say_unknown(page)

    expect(page.locator("#ask")).to_contain_text("Wrong")
    assert run.presentations.get().answer == []


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_what_is_in_a_place_is_taken_by_its_words(
    open_page: OpenPage, hire: Person, rig: Rig, size: str
) -> None:
    """From the question itself: each word taken by Enter, and all of them sent by one more."""
    page = open_page(size=size)
    run = at_the_first_to_ask(CONTENTS, page, hire, rig)
    presentation, taken = open_prompt(run), page.locator("[data-taken]")
    names = page.locator("[data-choice]").all_text_contents()
    assert len(names) > 1
    first, last = names[0].strip(), names[-1].strip()

    page.wait_for_timeout(LOOK_MS)
    for name in (first, last, last):
        page.locator("#ask").focus()
        page.keyboard.type(name.lower()[:4])
        expect(page.locator("#sift")).to_be_focused()
        expect(page.locator("[data-marked]")).to_have_text(name)
        expect(taken).to_contain_text(name)
        page.keyboard.press("Enter")
        expect(page.locator("#sift")).to_have_value("")
        expect(page.locator("[data-choice]:visible")).to_have_count(len(names))
    expect(taken).to_have_text(f"{last} taken back. Enter sends.")

    page.keyboard.type("zz")
    expect(taken).to_have_text("Nothing in this list is called “zz”.")
    page.keyboard.press("Enter")
    expect(page.locator("#sift")).to_have_value("zz")
    page.keyboard.press("Control+A")
    page.keyboard.press("Backspace")
    page.keyboard.press("Enter")
    expect(page.locator("#ask")).to_contain_text("s, not judged by time")
    presentation.refresh_from_db()
    layout = layout_of(run.drill.revision)
    assert [layout.things[key].name for key in presentation.answer] == [first]
    assert presentation.time_state == "verified"


def test_keys_of_a_text_field_stay_in_it(open_page: OpenPage, hire: Person, rig: Rig) -> None:
    page = open_page(size="desk")
    run = at_the_first_to_ask(CONTENTS, page, hire, rig)
    page.evaluate(
        "document.querySelector('.told-at-once, #ask').after(document.createElement('textarea'))"
    )

    page.locator("textarea").type("ga 2")

    expect(page.locator("textarea")).to_have_value("ga 2")
    expect(page.locator("#sift")).to_have_value("")
    assert not page.locator("[data-choice] input:checked").count()
    assert run.presentations.get().state == PresentationState.OPEN


def test_arrows_go_on_from_what_was_typed(open_page: OpenPage, hire: Person, rig: Rig) -> None:
    page = open_page(size="desk")
    run = at_the_first_place_to_find(page, hire, rig)

    page.keyboard.type("i1")
    page.keyboard.press("ArrowDown")
    expect(page.locator("input[name=place]:focus")).to_have_value(run.token_for("I1"))
    page.keyboard.press("ArrowDown")

    assert chosen(page) == run.token_for("I1A")
    expect(page.locator("#code")).to_have_value("")


def test_what_a_warm_up_asks_stays_in_sight_beside_its_place(
    open_page: OpenPage, hire: Person
) -> None:
    """In a low window: whichever place it names, both are seen."""
    rig = rig_on(demo_layout("mesa-box"), unit="12")
    run = start_run(
        hire,
        recipe=RecipeFactory.create(slug="find-four", kinds="locate:4"),
        revision=rig.revision,
        rig=rig,
        now=timezone.now(),
        seed=3,
    )
    page = open_page(size="desk")
    page.set_viewport_size({"width": 1280, "height": 600})
    sign_in(page, hire)
    expect(page.get_by_role("link", name="Choose")).to_be_visible()
    page.goto(f"/runs/{run.pk}/")
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.locator("[data-warm-up]")).to_be_visible()
    asked = set()
    while (presentation := open_prompt(run)).is_warm_up:
        settled(page)
        door = page.locator(f".cell:has(input[value='{run.token_for(presentation.subject)}'])")
        expect(page.locator("#ask")).to_be_in_viewport()
        expect(door.first).to_be_in_viewport()
        asked.add(presentation.token)
        page.wait_for_timeout(LOOK_MS)
        page.keyboard.type(presentation.subject)
        page.keyboard.press("Enter")
        wait_for(page, lambda: presentation.token != open_prompt(run).token)
        expect(page.locator('input[name="token"]')).to_have_value(open_prompt(run).token)
    assert len(asked) == 3
